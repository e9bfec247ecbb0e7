/* What the plots share: a script and its data in files of their own, for gnuplot to run and for a
 * person to restyle. A failed write shows when the files are closed. */
#ifndef SHEAVE_REPORT_PLOT_H
#define SHEAVE_REPORT_PLOT_H

#include <stdio.h>

#include "report/table/results.h"

#define PLOT_SITES 6 /* at most in one plot */
#define PLOT_KITS 4  /* of the best that are drawn together */
#define PLOT_KIT_STYLE                                                                             \
    2                  /* kits take the line styles behind these: the first are those of sites     \
                        */
#define PLOT_ROWS 20   /* of the best that get a drawing of their own */
#define PLOT_QUOTE 256 /* room for a quoted text */

struct plot {
    const struct report_results *results;
    const char *name;
    double height; /* of the drawing, in points */
    FILE *script, *data;
    size_t blocks;  /* of data, written so far */
    size_t lines;   /* of the block being written */
    bool continues; /* in the middle of a plot command */
};

/* A kind of plot. `draw` writes script and data; false when there is nothing to draw. */
struct plot_kind {
    const char *name;    /* of the files */
    const char *title;   /* for a page */
    const char *meaning; /* a sentence or two: how to read it, for those who can't see it as well */
    int width, height;   /* of the drawing, in points */
    bool (*draw)(struct plot *plot);
};

/* All plots but those of the single kits, ended by a NULL name. */
extern const struct plot_kind plot_kinds[];
extern const struct plot_kind plot_rows; /* row-1.svg and so on, one for each kit in curves.csv */

void plot_say(struct plot *plot, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* A text of a user for a script: in single quotes, in which gnuplot takes nothing but a quote for
 * special; control characters become blanks, what is too long is cut. Returns `room`. */
char *plot_quote(char room[PLOT_QUOTE], const char *text);

/* A site for a legend: as much of its name as there is room for beside the others and the axis's
 * name;
 * "..." stands for the rest. */
const char *plot_site(char room[PLOT_QUOTE], const char *site, size_t sites);

/* Data: numbers in lines, blocks of lines apart. What is not known is a '?'. */
void plot_number(struct plot *plot, double value);
void plot_line_end(struct plot *plot);
/* A line for "with boxxyerror": a box from one x to another, `half` of its height to either side of
 * y; nothing of it is known where an end is NAN. */
void plot_box(struct plot *plot, double from, double to, double y, double half);
/* One from 0, to the left where the value is below. */
void plot_bar(struct plot *plot, double value, double y, double half);
size_t plot_block_end(struct plot *plot); /* the index of the block that ends here */
/* A block of some columns of the rows with this rank and site; rank 0 for tables without ranks. */
size_t plot_curve(struct plot *plot, const struct report_records *records, size_t rank,
                  const char *site, const size_t *columns, size_t count);
/* Whether any of these rows has a number in the column. */
bool plot_has(const struct report_records *records, size_t rank, size_t column);

/* A panel: its place in the figure as shares of width and height, and what its axes are. */
struct plot_panel {
    double left, right, bottom, top;
    const char *y, *y_unit; /* named above the axis */
    const char *x, *x_unit; /* NULL: this panel's x axis is that of the one below */
    int key_rows;           /* of the key, which stands above at the right; 0: 2 */
    double key_lift;        /* how much higher it stands, as a share of the height */
};
void plot_panel(struct plot *plot, const struct plot_panel *panel);
/* Names a bar that lies at a place on the y axis. */
void plot_name_bar(struct plot *plot, size_t place, const char *name);
/* One series of a plot command, and its end. `style` is a line style of the header: 1 to 8. */
void plot_series(struct plot *plot, const char *what, const char *with, const char *title);
/* The series of a block, "data index N" and `using`. */
void plot_block(struct plot *plot, size_t block, const char *using, const char *with,
                const char *title);
void plot_series_end(struct plot *plot);
/* A series of its own: a dotted line right across at a limit; nothing when it is NAN. */
void plot_limit(struct plot *plot, const char *what, double bound, const char *unit);

/* A name of a limit, an outcome or a key in words: "peak_power" as "peak power". */
char *plot_words(char room[PLOT_QUOTE], const char *name);

/* Kits that are drawn together: the one to sell, the strongest on paper, then the first of each set
 * of parts; their ranks. */
size_t plot_pick_kits(const struct report_results *results, size_t rank[PLOT_KITS]);
/* "kit to sell", "strongest on paper" or "row 3", into `role` or not. */
const char *plot_kit_role(const struct report_results *results, size_t rank, char role[24]);

/* The plots. */
bool plot_power(struct plot *plot);
bool plot_sites(struct plot *plot);
bool plot_air(struct plot *plot);
bool plot_phasing(struct plot *plot);
bool plot_single(struct plot *plot);
bool plot_islands(struct plot *plot);
bool plot_map(struct plot *plot);
bool plot_room(struct plot *plot);
bool plot_rejected(struct plot *plot);
bool plot_fronts(struct plot *plot);
bool plot_sure(struct plot *plot);
bool plot_worth_knowing(struct plot *plot);
bool plot_matters(struct plot *plot);
bool plot_plan(struct plot *plot);

#endif
