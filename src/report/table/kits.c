/* limits.csv and parts.csv: what bounds each of the best kits, and what it is made of. */
#include <math.h>
#include <string.h>

#include "report/table/files.h"
#include "report/write/words.h"

/* ---- limits.csv ---- */

struct limit_row {
    uint64_t rank;
    struct report_limit_cells of;
};

#define AT(member) offsetof(struct limit_row, member)

static const struct report_column limit_columns[] = {
    {"rank", REPORT_COUNT, 0, AT(rank), REPORT_ALWAYS, "Place in ranked.csv."},
    {"limit", REPORT_TEXT, 0, AT(of.limit), REPORT_ALWAYS,
     "Name of a limit that is set, as in rejected.csv."},
    {"title", REPORT_TEXT, 0, AT(of.title), REPORT_ALWAYS, "The same for people."},
    {"sense", REPORT_TEXT, 0, AT(of.sense), REPORT_ALWAYS,
     "`at_most`, or `at_least` where the bound is a lower one."},
    {"unit", REPORT_TEXT, 0, AT(of.unit), REPORT_ALWAYS,
     "Unit of value and bound; empty for plain numbers and money."},
    {"value", REPORT_NUMBER, 7, AT(of.value), REPORT_ALWAYS,
     "The kit's value where it is tightest; empty when not known."},
    {"bound", REPORT_NUMBER, 7, AT(of.bound), REPORT_ALWAYS,
     "The bound that counts for this kit: the stricter of the study's and that of its parts."},
    {"share", REPORT_PERCENT, 6, AT(of.share), REPORT_ALWAYS,
     "Margin in per cent of the limit's span."},
    {"tightest_speed", REPORT_ROTATION, 6, AT(of.speed), REPORT_ALWAYS,
     "Engine speed where it is tightest; this and the site are empty for a property of the whole "
     "kit."},
    {"tightest_site", REPORT_TEXT, 0, AT(of.site), REPORT_ALWAYS, "Site where it is tightest."},
};

struct report_limit_cells report_limit_cells(const struct shv_study *study,
                                             const struct shv_verdict *verdict,
                                             enum shv_limit limit)
{
    const struct shv_limit_info *info = shv_limit_info(limit);
    const struct shv_limit_result *r = &verdict->limit[limit];
    enum report_measure measure = report_value_measure(limit);
    enum shv_unit_system units = study->results.units;
    bool of_point = !info->of_kit && !isnan(r->value);
    return (struct report_limit_cells){.limit = info->name,
                                       .title = info->title,
                                       .sense = info->at_least ? "at_least" : "at_most",
                                       .unit = report_unit(measure, units)->label,
                                       .site = of_point ? study->sites[r->site].name : NULL,
                                       .value = report_shown(measure, units, r->value),
                                       .bound = report_shown(measure, units, r->bound),
                                       .share = r->share,
                                       .speed = of_point ? study->engine.speeds[r->speed] : NAN};
}

static void write_limits(struct report_csv *csv, void *data)
{
    struct report_rows *rows = data;
    for (size_t i = 0; csv->error == 0 && i < report_drawn_count(rows->run); i++) {
        const struct shv_verdict *verdict = &rows->of.curves.verdict;
        struct shv_summary summary;
        report_rows_take(rows, report_drawn_place(rows->run, i), &summary);
        for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
            if (!isinf(verdict->limit[k].bound)) {
                const struct limit_row row = {
                    summary.rank, report_limit_cells(rows->run->study, verdict, (enum shv_limit)k)};
                report_csv_row(csv, &row);
            }
        }
    }
}

const struct report_table report_limits = {
    .file = "limits.csv",
    .about = "limits.csv: every limit of the best kits, one row per kit and limit",
    REPORT_COLUMNS(limit_columns),
    .write = write_limits,
    .of_kits = true};

/* ---- parts.csv ---- */

struct part_row {
    uint64_t rank;
    const char *part, *name, *size;
    double count, price, mass;
};

#undef AT
#define AT(member) offsetof(struct part_row, member)

static const struct report_column part_columns[] = {
    {"rank", REPORT_COUNT, 0, AT(rank), REPORT_ALWAYS, "Place in ranked.csv."},
    {"part", REPORT_TEXT, 0, AT(part), REPORT_ALWAYS,
     "What it is; `fuel` stands among the parts, since a kit is made for it."},
    {"name", REPORT_TEXT, 0, AT(name), REPORT_ALWAYS,
     "Its name in the study; empty for what has none."},
    {"size", REPORT_TEXT, 0, AT(size), REPORT_ALWAYS, "Its size in words, in the study's units."},
    {"count", REPORT_NUMBER, 6, AT(count), REPORT_ALWAYS, "How many of it."},
    {"price", REPORT_MONEY, 9, AT(price), REPORT_ALWAYS,
     "Price of all of them, in the study's money; empty when none is given."},
    {"mass", REPORT_MASS, 6, AT(mass), REPORT_ALWAYS,
     "Mass of all of them; empty when none is given."},
};

static const char *const part_words[SHV_PART_COUNT] = {
    [SHV_PART_BLOWER] = "blower",
    [SHV_PART_CRANK_PULLEY] = "crank pulley",
    [SHV_PART_BLOWER_PULLEY] = "blower pulley",
    [SHV_PART_BELT] = "belt",
    [SHV_PART_DRIVE] = "drive",
    [SHV_PART_MANIFOLD] = "manifold",
    [SHV_PART_COOLER] = "charge cooler",
    [SHV_PART_BYPASS] = "bypass valve",
    [SHV_PART_INJECTORS] = "injectors",
    [SHV_PART_PUMP] = "fuel pump",
    [SHV_PART_BASE] = "other parts",
};

static const char *name_of(const struct shv_summary *s, enum shv_part part)
{
    switch (part) {
    case SHV_PART_BLOWER:
        return s->blower;
    case SHV_PART_COOLER:
        return s->cooler;
    case SHV_PART_INJECTORS:
        return s->injector;
    case SHV_PART_PUMP:
        return s->pump;
    default:
        return NULL;
    }
}

static void belt_size(char size[REPORT_WORDS_MAX], const struct shv_summary *s,
                      enum shv_unit_system units)
{
    char length[REPORT_WORDS_MAX], tension[REPORT_WORDS_MAX];
    (void)report_words_quantity(length, REPORT_LENGTH, units, s->belt_length);
    (void)report_words_quantity(tension, REPORT_FORCE, units, s->static_tension);
    (void)snprintf(size, REPORT_WORDS_MAX, "%.0f ribs%s%.40s%s%.40s", s->ribs,
                   isnan(s->belt_length) ? "" : ", ", isnan(s->belt_length) ? "" : length,
                   isnan(s->static_tension) ? "" : ", static tension ",
                   isnan(s->static_tension) ? "" : tension);
}

static void size_of(const struct shv_study *study, const struct shv_summary *s, enum shv_part part,
                    char size[REPORT_WORDS_MAX])
{
    enum shv_unit_system units = study->results.units;
    size[0] = '\0';
    switch (part) {
    case SHV_PART_BLOWER:
        (void)report_words_quantity(size, REPORT_VOLUME, units,
                                    study->blowers[s->kit.blower].displacement);
        return;
    case SHV_PART_CRANK_PULLEY:
        (void)report_words_diameter(size, units, s->crank_pulley);
        return;
    case SHV_PART_BLOWER_PULLEY:
        (void)report_words_diameter(size, units, s->blower_pulley);
        return;
    case SHV_PART_BELT:
        belt_size(size, s, units);
        return;
    case SHV_PART_COOLER:
        (void)snprintf(size, REPORT_WORDS_MAX, "effectiveness %.3g", s->effectiveness);
        return;
    case SHV_PART_BYPASS:
        if (study->bypass_part.area > 0.0) {
            (void)snprintf(size, REPORT_WORDS_MAX, "%.4g mm2", 1e6 * study->bypass_part.area);
        }
        return;
    case SHV_PART_INJECTORS:
        (void)report_words_quantity(size, REPORT_INJECTOR_FLOW, units, s->injector_flow);
        return;
    default:
        return;
    }
}

/* What a study does not describe is no part: neither named nor with a price or a mass. */
static bool is_there(const struct shv_study *study, const struct shv_summary *s, enum shv_part part,
                     const struct shv_part_line *line)
{
    switch (part) {
    case SHV_PART_BLOWER:
    case SHV_PART_CRANK_PULLEY:
    case SHV_PART_BLOWER_PULLEY:
        return true;
    case SHV_PART_BELT:
        return study->drive.belt.given;
    case SHV_PART_COOLER:
        return line->count > 0.0;
    case SHV_PART_INJECTORS:
        return s->injector;
    case SHV_PART_PUMP:
        return s->pump;
    case SHV_PART_BYPASS:
        return study->bypass_part.area > 0.0 || line->worth.price > 0.0 || line->worth.mass > 0.0;
    default:
        return line->worth.price > 0.0 || line->worth.mass > 0.0;
    }
}

static void write_part(struct report_csv *csv, const struct shv_study *study,
                       const struct shv_summary *s, enum shv_part part,
                       const struct shv_part_line *line)
{
    char size[REPORT_WORDS_MAX];
    if (!is_there(study, s, part, line)) {
        return;
    }
    size_of(study, s, part, size);
    struct part_row row = {.rank = s->rank,
                           .part = part_words[part],
                           .name = name_of(s, part),
                           .size = size,
                           .count = part == SHV_PART_BELT ? 1.0 : line->count,
                           .price = line->worth.price > 0.0 ? line->worth.price : NAN,
                           .mass = line->worth.mass > 0.0 ? line->worth.mass : NAN};
    report_csv_row(csv, &row);
}

static void write_fuel(struct report_csv *csv, const struct shv_study *study,
                       const struct shv_summary *s)
{
    char size[REPORT_WORDS_MAX];
    size_t used = strlen(report_words_octane(size, study, s->kit.fuel));
    (void)snprintf(size + used, sizeof size - used, "lambda %.3g, air-fuel ratio %.3g", s->lambda,
                   s->air_fuel_ratio);
    struct part_row row = {.rank = s->rank,
                           .part = "fuel",
                           .name = s->fuel,
                           .size = size,
                           .count = NAN,
                           .price = NAN,
                           .mass = NAN};
    report_csv_row(csv, &row);
}

static void write_parts(struct report_csv *csv, void *data)
{
    struct report_rows *rows = data;
    const struct shv_run *run = rows->run;
    for (size_t i = 0; csv->error == 0 && i < report_drawn_count(run); i++) {
        struct shv_summary s;
        struct shv_part_line parts[SHV_PART_COUNT];
        report_rows_take(rows, report_drawn_place(run, i), &s);
        shv_model_parts(run->model, &s.kit, parts);
        for (int k = 0; k < SHV_PART_COUNT; k++) {
            write_part(csv, run->study, &s, (enum shv_part)k, &parts[k]);
        }
        write_fuel(csv, run->study, &s);
    }
}

const struct report_table report_parts = {
    .file = "parts.csv",
    .about = "parts.csv: what the best kits are made of, one row per kit and part",
    REPORT_COLUMNS(part_columns),
    .write = write_parts,
    .of_kits = true};
