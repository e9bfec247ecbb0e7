/* The one table of every key of a study file: parsing, defaults, range checks, suggestions and
 * docs/config.md all come from it. */
#ifndef SHEAVE_STUDY_KEYS_H
#define SHEAVE_STUDY_KEYS_H

#include "model/cylinder/blend.h"
#include "sheave/range_file.h"
#include "sheave/study.h"

struct reader;
struct config_setting_t;
typedef void key_check(struct reader *reader, const struct config_setting_t *setting, void *base);

struct stepped_range {
    double from, to, step;
};

#define DUTY_MAX 100
#define CORRELATIONS_MAX 100

struct duty_draft {
    double speed; /* rev/s; a point of the rev range once it was checked */
    double time, load;
};

struct serve_draft {
    char *fuel; /* owned */
    double weight;
};

/* Where the fuel is sprayed: it sets how much of it evaporates at the charge's expense. */
enum injection { INJECTION_PORT, INJECTION_DIRECT };

/* What is read before it becomes a struct shv_study: the study itself and what only serves to find
 * it. Values with an error are NAN, NULL, 0 or -1, so that checks across keys pass over them. */
struct draft {
    struct shv_study study;
    bool is_fitted; /* read from what a fit wrote: of the study nothing else is known */
    struct stepped_range engine_speed;
    char *stock_fuel;
    double stock_altitude, stock_afr;
    struct shv_numbers afrs;
    enum injection injection;
    struct shv_bypass_spring spring;
    double cruise_speed;
    struct duty_draft *duty;    /* up to DUTY_MAX */
    struct serve_draft *serves; /* up to SHV_SERVES_MAX */
    struct log_draft *logs;     /* up to FIT_LOGS_MAX */
    size_t duty_count, serve_count, log_count;
};

#define FIT_LOGS_MAX 20
#define FIT_COLUMNS_MAX 32
#define FIT_FREE_MAX SHV_CORRECT_IN_STUDY

/* A log of measurements; texts are names that are looked up once all lists are read. NAN and NULL
 * where nothing is said. */
struct log_draft {
    struct shv_measured_log log;
    char *site, *blower, *cooler, *fuel;
    double altitude, pressure, temperature, humidity;
    double crank, pulley, ratio, effectiveness, lambda, afr, ignition_margin;
};

/* What a fit found of one blower: factors, 0 where none is given. */
struct blower_corrections {
    double leakage, filling_loss, blower_friction;
};

/* As they are named in a blower's entry. */
struct blower_tolerances {
    struct shv_tolerance leakage, filling_loss, blower_friction;
};

struct blower_draft {
    struct shv_blower blower;
    char *map_file; /* as written */
    struct blower_corrections corrections;
    struct blower_tolerances tolerances;
};

struct cooler_draft {
    struct shv_cooler cooler;
    double coolant_flow, coolant_density, coolant_heat_capacity, coolant_volume;
};

#define BLEND_MAX 20

struct blend_part {
    char *component; /* owned */
    double share;
};

struct fuel_draft {
    struct shv_fuel fuel;
    double aki, sensitivity;
    struct blend_part *blend; /* up to BLEND_MAX */
    size_t blend_count;
    enum shv_share_basis basis;
    bool is_blended; /* the blend was good and its properties are in `fuel` */
};

/* ---- range files ---- */

/* Kits sold in a year: one number, three of a spread, or one for each scenario. */
enum sales_form { SALES_CERTAIN, SALES_BY_SPREAD, SALES_BY_SCENARIO };
#define SCENARIOS_MAX 16
struct sales_draft {
    enum sales_form form;
    size_t count; /* of a spread or list */
    double of[SCENARIOS_MAX];
};

struct sale_draft {
    char *vehicle; /* as written */
    struct sales_draft sales;
};

struct market_draft {
    struct shv_range_market market;
    char *fuel;               /* as written */
    struct sale_draft *sales; /* of vehicles that have their own */
    size_t sale_count;
    struct sales_draft sales_each;
};

/* What is read before it becomes a struct shv_range_file, as struct draft is for a study. */
struct plan_draft {
    struct shv_range_file file;
    struct market_draft *markets;
    size_t market_count;
    struct shv_range_shelf shelf;
};

enum key_type {
    KEY_QUANTITY, /* double; what a row is that says no type, of SHV_Q_NUMBER where it says no other
                   */
    KEY_ERROR,    /* double; of the kind of a channel, read by the check of the column */
    KEY_INTEGER,  /* by `width` */
    KEY_BOOL,     /* bool */
    KEY_TEXT,     /* char *, owned */
    KEY_WORD,     /* an enum, the index into `words` */
    KEY_PAIRS,    /* struct shv_curve_table; `along` is the quantity of x, `quantity` of y */
    KEY_DIMENSION, /* struct shv_numbers */
    KEY_SALES,     /* struct sales_draft */
    KEY_GROUP,     /* whatever its keys say; their places count from that of the group */
    KEY_LIST,   /* a pointer to groups of the size of their group, owned, and in `count` how many;
                 * up to `max` */
    KEY_ENTRIES /* a list of groups (or names of the catalogue); read by catalog.c */
};

enum integer_width { WIDTH_INT, WIDTH_SIZE, WIDTH_LONG };

/* Which list a KEY_ENTRIES is. */
enum entries {
    ENTRIES_SITES,
    ENTRIES_BLOWERS,
    ENTRIES_COOLERS,
    ENTRIES_FUELS,
    ENTRIES_INJECTORS,
    ENTRIES_PUMPS,
    ENTRIES_COUNT
};

struct key {
    const char *name;
    enum key_type type;
    enum shv_quantity quantity;
    enum shv_quantity along; /* of KEY_PAIRS */
    enum shv_quantity
        other;       /* of KEY_DIMENSION: what its values may be as well; none when number */
    size_t place;    /* offsetof */
    size_t count;    /* of KEY_LIST: the place of how many there are */
    size_t or_curve; /* of a KEY_QUANTITY that may be a KEY_PAIRS as well: the place of that curve,
                      * whose most the quantity is then; 0: may not */
    double min, max; /* in SI; INFINITY where open */
    bool above_min;  /* the least value itself is not accepted */
    bool required;
    /* Another key of the group, a word, without which this one means nothing: NULL for none, or its
     * name, the index of the word, and whether this one is required with it. */
    const char *with;
    int with_word;
    bool with_needed;
    bool once;            /* its text differs in all entries of a KEY_LIST */
    const char *fallback; /* default, as it would be written in the file */
    const char *absent;   /* what it means to leave the key out, when there is no such text */
    double absent_value;  /* of a quantity with `absent` */
    enum integer_width width;
    const char *const *words;          /* in the order of the enum, ended by NULL */
    const char *(*word)(size_t index); /* the same where another table has them */
    const struct key_group *group;     /* of KEY_GROUP, KEY_LIST and KEY_ENTRIES */
    enum entries entries;
    bool by_name;        /* entries may be names of the catalogue */
    const char *meaning; /* one sentence */
    const char *note;    /* further words for the documentation, or NULL */
    const char *only;    /* what else the study must describe, or NULL */
};

/* A key of earlier versions and what it is called now, or what says another thing in its place. */
struct key_renamed {
    const char *was, *is;
    bool means_other;
};

struct key_group {
    const char *title;      /* heading in the documentation */
    const char *intro;      /* what it describes */
    const struct key *keys; /* NULL: the rows are those of `row` */
    struct key (*row)(size_t index);
    size_t count;
    const struct key_renamed *renamed; /* NULL: none; else ended by NULL */
    size_t size;                       /* of the struct an entry of a list is read into, else 0 */
    /* Left out, nothing of it is read: what it fills stays zero, and its required keys are required
     * only where it stands. */
    bool optional;
    /* Checks across keys, after all were read; `setting` is NULL when the group is left out. */
    key_check *check;
};

extern const struct key_group study_keys;
/* Those of its keys that stand in a file that a fit has written. */
extern const struct key_group fitted_keys;
extern const struct key_group range_keys; /* { from, to, step } of a dimension */
extern const struct key_group catalogue_keys;
extern const struct key_group plan_keys;   /* of a range file, read into a struct plan_draft */
extern const struct key_group spread_keys; /* { low, likely, high } of sales */
extern const struct key_group log_keys, mixture_keys, site_keys, blower_keys, cooler_keys,
    fuel_keys, injector_keys, pump_keys;

/* Row of a group; by value, since the rows of the limits are made from their own table. */
struct key key_at(const struct key_group *group, size_t index);
/* A word of a KEY_WORD; NULL beyond its last. */
const char *key_word(const struct key *key, size_t index);
/* What a key is only accepted with, as kind = "map"; returns `text`. */
#define KEY_ONLY_MAX 64
const char *key_only(const struct key_group *group, const struct key *key, char text[KEY_ONLY_MAX]);
/* Index of a name in a group, or its count. */
size_t key_find(const struct key_group *group, const char *name);

/* What a curve is drawn over, and whether a value lies in the range of a key. */
struct key key_along(const struct key *key);
bool key_in_range(const struct key *key, double value);

/* What a key accepts, e.g. "a length with a unit, such as \"86 mm\"". */
void key_accepts(const struct key *key, char *text, size_t size);
/* The range of a quantity or integer, e.g. "0 to 1", "more than 0 m"; "" when there is none. */
void key_range(const struct key *key, char *text, size_t size);

#endif
