/* Parts and candidates of a range (sheave/range_kits.h). */
#include "sheave/range_kits.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NAME_ROOM 256
#define DATA 6
#define SAME 1e-9 /* relative, of data that may have come through another unit */

/* What tells a part from another of the same name. */
struct part_data {
    double number[DATA];
    double order; /* within its kind */
};

struct found_part {
    enum shv_part_kind kind;
    char name[NAME_ROOM];
    struct part_data data;
};

/* ---- begin and end ---- */

enum shv_status shv_range_kits_init(struct shv_range_kits *kits, const struct shv_range_file *file,
                                    struct shv_message *message)
{
    *kits = (struct shv_range_kits){.file = file};
    struct shv_range_problem *p = &kits->problem;
    p->value = file->value;
    p->choose = file->choose;
    p->family_count = file->family_count;
    p->family = file->family;
    p->most_parts = file->most_parts;
    p->scenario_count = file->scenario_count;
    p->scenario = file->scenario;
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        p->most[k] = file->kind[k].most;
    }
    kits->pair = calloc(file->vehicle_count * file->market_count + 1, sizeof *kits->pair);
    return kits->pair ? SHV_OK : shv_fail(message, SHV_NO_MEMORY, "out of memory for the range");
}

void shv_range_kits_free(struct shv_range_kits *kits)
{
    const struct shv_range_file *file = kits->file;
    for (size_t i = 0; kits->pair && i < file->vehicle_count * file->market_count; i++) {
        free(kits->pair[i].candidate);
    }
    for (size_t i = 0; i < kits->problem.part_count; i++) {
        free(kits->problem.part[i].name);
    }
    for (size_t i = 0; i < kits->problem.group_count; i++) {
        free(kits->problem.group[i].name);
    }
    free(kits->problem.part);
    free(kits->problem.group);
    free(kits->place);
    free(kits->sales_in);
    free(kits->pair);
    free(kits->data);
    *kits = (struct shv_range_kits){.file = NULL};
}

uint64_t shv_range_kits_rows(const struct shv_space *space)
{
    return space->air_size * (space->supply_size / space->count[SHV_DIM_WRAP]);
}

/* ---- parts ---- */

/* Name and data of the part of a kind; false when the kit has none. */
static bool find_blower(const struct shv_study *s, const struct shv_kit *kit, struct found_part *f)
{
    const struct shv_blower *b = &s->blowers[kit->blower];
    (void)snprintf(f->name, sizeof f->name, "%s", b->name);
    f->data = (struct part_data){.number = {b->displacement, b->max_speed, b->worth.price,
                                            b->worth.mass, (double)b->kind, b->step_up}};
    return true;
}

static bool find_pulley(double diameter, struct found_part *f)
{
    (void)snprintf(f->name, sizeof f->name, "%.6g mm", 1e3 * diameter);
    f->data.order = diameter;
    return true;
}

static bool find_crank_pulley(const struct shv_study *s, const struct shv_kit *kit,
                              struct found_part *f)
{
    (void)s;
    return find_pulley(kit->crank_diameter, f);
}

static bool find_blower_pulley(const struct shv_study *s, const struct shv_kit *kit,
                               struct found_part *f)
{
    (void)s;
    return find_pulley(kit->blower_diameter, f);
}

static bool find_cooler(const struct shv_study *s, const struct shv_kit *kit, struct found_part *f)
{
    const struct shv_cooler *c = &s->coolers[kit->cooler];
    (void)snprintf(f->name, sizeof f->name, "%s %.4g", c->name, kit->effectiveness);
    f->data = (struct part_data){.number = {c->rated_flow, c->pressure_drop, c->worth.price,
                                            c->worth.mass, c->per_ntu.price, c->per_ntu.mass}};
    return !c->is_none;
}

static bool find_injector(const struct shv_study *s, const struct shv_kit *kit,
                          struct found_part *f)
{
    const struct shv_injector_part *i = &s->injectors[kit->injector];
    (void)snprintf(f->name, sizeof f->name, "%s %.5g cm3/min", i->name, 60e6 * kit->injector_flow);
    f->data = (struct part_data){.number = {i->rated_pressure, i->test_density, i->dead_time,
                                            i->max_duty, i->worth.price, i->worth.mass}};
    return !i->is_unlimited;
}

static bool find_pump(const struct shv_study *s, const struct shv_kit *kit, struct found_part *f)
{
    const struct shv_pump_part *p = &s->pumps[kit->pump];
    (void)snprintf(f->name, sizeof f->name, "%s", p->name);
    f->data = (struct part_data){.number = {p->pump.line_loss, p->worth.price, p->worth.mass}};
    return !p->is_unlimited;
}

static const struct {
    enum shv_dim dim;
    bool (*find)(const struct shv_study *s, const struct shv_kit *kit, struct found_part *f);
} kinds[SHV_STOCK_KINDS] = {
#define FOUND_BY(dim, name, one, meaning) {SHV_DIM_##dim, find_##name},
    SHV_STOCK_ROWS(FOUND_BY)
#undef FOUND_BY
};

static bool is_same(const struct part_data *a, const struct part_data *b)
{
    for (size_t i = 0; i < DATA; i++) {
        double x = a->number[i], y = b->number[i];
        if (!(x == y) && !(fabs(x - y) <= SAME * fmax(fabs(x), fabs(y)))) {
            return false;
        }
    }
    return true;
}

static bool grow(struct shv_range_kits *kits)
{
    size_t room = kits->problem.part_count + 1;
    struct shv_range_part *parts = realloc(kits->problem.part, room * sizeof *parts);
    if (!parts) {
        return false;
    }
    kits->problem.part = parts;
    struct part_data *data = realloc(kits->data, room * sizeof *data);
    kits->data = data ? data : kits->data;
    return data;
}

static enum shv_status add_part(struct shv_range_kits *kits, const struct found_part *f,
                                size_t *part, struct shv_message *message)
{
    char *name = strdup(f->name);
    if (!name || !grow(kits)) {
        free(name);
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the parts");
    }
    struct shv_range_problem *p = &kits->problem;
    *part = p->part_count++;
    p->part[*part] = (struct shv_range_part){f->kind, name, kits->file->kind[f->kind].cost};
    kits->data[*part] = f->data;
    if (f->data.order == 0.0) {
        kits->data[*part].order = (double)*part;
    }
    return SHV_OK;
}

static enum shv_status find_part(struct shv_range_kits *kits, const struct found_part *f,
                                 const struct shv_study *study, size_t *part,
                                 struct shv_message *message)
{
    const struct shv_range_problem *p = &kits->problem;
    for (size_t i = 0; i < p->part_count; i++) {
        if (p->part[i].kind == f->kind && strcmp(p->part[i].name, f->name) == 0) {
            *part = i;
            return is_same(&kits->data[i], &f->data)
                       ? SHV_OK
                       : shv_fail(message, SHV_BAD_INPUT,
                                  "%s: %s \"%s\" is not what another study of the range calls so; "
                                  "accepted: the same data, or another name",
                                  study->path, shv_part_kind_words(f->kind, 1), f->name);
        }
    }
    return add_part(kits, f, part, message);
}

/* Parts by choice of a dimension of the space, so that names are made once and not for each
 * combination. SHV_NONE - 1: not looked for yet. */
#define NOT_YET (SHV_NONE - 1)

struct kit_finder {
    struct shv_range_kits *kits;
    const struct shv_study *study;
    size_t *part[SHV_STOCK_KINDS]; /* by choice, owned */
};

static void finder_free(struct kit_finder *f)
{
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        free(f->part[k]);
    }
}

static bool finder_init(struct kit_finder *f, const struct shv_space *space)
{
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        size_t count = (size_t)space->count[kinds[k].dim];
        f->part[k] = malloc(count * sizeof *f->part[k]);
        for (size_t i = 0; f->part[k] && i < count; i++) {
            f->part[k][i] = NOT_YET;
        }
        if (!f->part[k]) {
            return false;
        }
    }
    return true;
}

/* Whether the part takes stock that is counted: the name of the entry, without what tells sizes
 * apart, says so. */
static bool is_stock(const struct kit_finder *f, const struct shv_kit *kit, enum shv_part_kind kind)
{
    const struct shv_range_kind *k = &f->kits->file->kind[kind];
    const char *name = shv_dim_entry(kinds[kind].dim, f->study, kit);
    return k->counts && !(k->not_stocked && name && strcmp(k->not_stocked, name) == 0);
}

static enum shv_status find_choice(struct kit_finder *f, const struct shv_kit *kit,
                                   enum shv_part_kind kind, size_t *part,
                                   struct shv_message *message)
{
    struct found_part found = {.kind = kind};
    if (*part != NOT_YET) {
        return SHV_OK;
    }
    if (!kinds[kind].find(f->study, kit, &found) || !is_stock(f, kit, kind)) {
        *part = SHV_NONE;
        return SHV_OK;
    }
    return find_part(f->kits, &found, f->study, part, message);
}

/* ---- candidates ---- */

bool shv_range_wants(const struct shv_range_kits *kits, const struct shv_study *study)
{
    return kits->to_sell && study->tolerances.given && !isnan(study->tolerances.hold);
}

static enum shv_status make_candidate(struct kit_finder *f, const struct shv_model *model,
                                      const struct shv_space *space,
                                      const struct shv_candidate *row,
                                      struct shv_range_candidate *c, struct shv_message *message)
{
    struct shv_kit kit;
    uint64_t choice[SHV_DIM_COUNT];
    enum shv_status status = SHV_OK;
    shv_space_kit(space, f->study, row->index, &kit);
    shv_space_split(space, row->index, choice);
    struct shv_worth worth = shv_model_worth(model, &kit);
    *c = (struct shv_range_candidate){.power = row->objective,
                                      .price = worth.price,
                                      .mass = worth.mass,
                                      .has_cooler = !f->study->coolers[kit.cooler].is_none,
                                      .holds = shv_range_wants(f->kits, f->study) ? SHV_RANGE_UNSURE
                                                                                  : SHV_RANGE_HOLDS,
                                      .index = row->index};
    for (size_t k = 0; k < SHV_STOCK_KINDS && status == SHV_OK; k++) {
        size_t *part = &f->part[k][choice[kinds[k].dim]];
        status = find_choice(f, &kit, (enum shv_part_kind)k, part, message);
        c->part[k] = *part;
    }
    return status;
}

static int by_index(const void *a, const void *b)
{
    const struct shv_candidate *x = a, *y = b;
    return (x->index > y->index) - (x->index < y->index);
}

/* In the order of their numbers, so that parts are met in the order of the study. */
static enum shv_status make_candidates(struct kit_finder *f, const struct shv_model *model,
                                       const struct shv_space *space, struct shv_candidate *rows,
                                       size_t count, struct shv_range_pair *pair,
                                       struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    if (count > 0) {
        qsort(rows, count, sizeof *rows, by_index);
    }
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        if (rows[i].objective > 0.0) { /* a kit that makes no power is none */
            status =
                make_candidate(f, model, space, &rows[i], &pair->candidate[pair->count], message);
            pair->count++;
        }
    }
    return status;
}

enum shv_status shv_range_kits_add(struct shv_range_kits *kits, size_t vehicle, size_t market,
                                   const struct shv_model *model, const struct shv_space *space,
                                   const struct shv_ranking *ranking,
                                   const struct shv_sweep_counts *counts,
                                   struct shv_message *message)
{
    struct shv_range_pair *pair = &kits->pair[vehicle * kits->file->market_count + market];
    struct kit_finder f = {.kits = kits, .study = shv_model_study(model)};
    struct shv_candidate *rows = malloc((ranking->count + 1) * sizeof *rows);
    pair->candidate = malloc((ranking->count + 1) * sizeof *pair->candidate);
    pair->is_there = true;
    pair->counts = *counts;
    enum shv_status status = SHV_OK;
    if (!rows || !pair->candidate || !finder_init(&f, space)) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for the candidates");
    } else {
        memcpy(rows, ranking->item, ranking->count * sizeof *rows);
        status = make_candidates(&f, model, space, rows, ranking->count, pair, message);
    }
    finder_free(&f);
    free(rows);
    return status;
}

/* ---- order of parts ---- */

struct place_of_part {
    struct shv_range_part part;
    double order;
    size_t from;
};

static int by_kind(const void *a, const void *b)
{
    const struct place_of_part *x = a, *y = b;
    if (x->part.kind != y->part.kind) {
        return x->part.kind < y->part.kind ? -1 : 1;
    }
    if (x->order != y->order) {
        return x->order < y->order ? -1 : 1;
    }
    return (x->from > y->from) - (x->from < y->from);
}

static void renumber(struct shv_range_kits *kits, const size_t *to)
{
    size_t pairs = kits->file->vehicle_count * kits->file->market_count;
    for (size_t i = 0; i < pairs; i++) {
        for (size_t c = 0; c < kits->pair[i].count; c++) {
            size_t *part = kits->pair[i].candidate[c].part;
            for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
                part[k] = part[k] == SHV_NONE ? SHV_NONE : to[part[k]];
            }
        }
    }
}

static bool order_parts(struct shv_range_kits *kits)
{
    size_t count = kits->problem.part_count;
    struct place_of_part *list = malloc((count + 1) * sizeof *list);
    size_t *to = malloc((count + 1) * sizeof *to);
    bool good = list && to;
    for (size_t i = 0; good && i < count; i++) {
        list[i] = (struct place_of_part){kits->problem.part[i], kits->data[i].order, i};
    }
    if (good && count > 0) {
        qsort(list, count, sizeof *list, by_kind);
        for (size_t i = 0; i < count; i++) {
            kits->problem.part[i] = list[i].part;
            to[list[i].from] = i;
        }
        renumber(kits, to);
    }
    free(list);
    free(to);
    return good;
}

/* ---- groups ---- */

static char *group_name(const struct shv_range_file *file, const struct shv_range_place *at)
{
    const char *parts[] = {file->vehicle[at->vehicle].name, file->market[at->market].name,
                           file->tier[at->tier].name};
    size_t room = strlen(parts[0]) + strlen(parts[1]) + strlen(parts[2]) + 8;
    char *name = malloc(room);
    if (name) {
        (void)snprintf(name, room, "%s, %s, %s", parts[0], parts[1], parts[2]);
    }
    return name;
}

/* By scenario; lends the group its place in the list of all. */
static const double *fill_sales(struct shv_range_kits *kits, const struct shv_range_place *at)
{
    const struct shv_range_file *file = kits->file;
    double *sales = kits->sales_in + kits->problem.group_count * file->scenario_count;
    for (size_t i = 0; i < file->scenario_count; i++) {
        sales[i] = file->market[at->market].sales_in[at->vehicle * file->scenario_count + i] *
                   file->tier[at->tier].share;
    }
    return sales;
}

static bool add_group(struct shv_range_kits *kits, struct shv_range_place at, double sales)
{
    const struct shv_range_file *file = kits->file;
    const struct shv_range_tier *tier = &file->tier[at.tier];
    const struct shv_range_pair *pair = &kits->pair[at.vehicle * file->market_count + at.market];
    struct shv_range_problem *p = &kits->problem;
    kits->place[p->group_count] = at;
    p->group[p->group_count] = (struct shv_range_group){.name = group_name(file, &at),
                                                        .sales = sales,
                                                        .sales_in = fill_sales(kits, &at),
                                                        .family = file->vehicle[at.vehicle].family,
                                                        .sale_price = tier->sale_price,
                                                        .sale_per_watt = tier->sale_per_watt,
                                                        .cooler = tier->cooler,
                                                        .most_price = tier->most_price,
                                                        .most_mass = tier->most_mass,
                                                        .least_power = tier->least_power,
                                                        .least_share = tier->least_share,
                                                        .count = pair->count,
                                                        .candidate = pair->candidate};
    return p->group[p->group_count++].name;
}

enum shv_status shv_range_kits_finish(struct shv_range_kits *kits, struct shv_message *message)
{
    const struct shv_range_file *file = kits->file;
    size_t most = file->vehicle_count * file->market_count * file->tier_count;
    kits->problem.group = calloc(most + 1, sizeof *kits->problem.group);
    kits->place = calloc(most + 1, sizeof *kits->place);
    kits->sales_in = calloc(most * file->scenario_count + 1, sizeof *kits->sales_in);
    bool good = kits->problem.group && kits->place && kits->sales_in && order_parts(kits);
    for (size_t i = 0; good && i < most; i++) {
        struct shv_range_place at = {.tier = i % file->tier_count,
                                     .market = i / file->tier_count % file->market_count,
                                     .vehicle = i / file->tier_count / file->market_count};
        double sales = file->market[at.market].sales[at.vehicle] * file->tier[at.tier].share;
        good = !(sales > 0.0) || add_group(kits, at, sales);
    }
    if (!good) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the groups of customers");
    }
    return kits->problem.group_count > 0
               ? SHV_OK
               : shv_fail(message, SHV_NOTHING, "no market has any sales");
}

/* ---- back to kits ---- */

static void name_row(const struct shv_range_kits *kits, const struct shv_study *study, size_t group,
                     struct shv_range_row *row)
{
    const struct shv_range_file *file = kits->file;
    const struct shv_range_place *at = &kits->place[group];
    row->vehicle = file->vehicle[at->vehicle].name;
    row->market = file->market[at->market].name;
    row->tier = file->tier[at->tier].name;
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        row->pieces[k] = 1;
    }
    row->pieces[SHV_STOCK_INJECTOR] =
        (size_t)study->engine.cylinders * (size_t)study->rail.injectors_per_cylinder;
}

/* The kit once more by itself: same numbers as in the sweep, or something is wrong. */
static enum shv_status evaluate(const struct shv_range_candidate *c, const struct shv_model *model,
                                const struct shv_kit *kit, struct shv_range_row *row,
                                struct shv_message *message)
{
    struct shv_curves curves;
    enum shv_status status = shv_curves_init(&curves, model, message);
    if (status != SHV_OK) {
        return status;
    }
    shv_model_evaluate(model, kit, &curves);
    shv_summarise(shv_model_study(model), kit, &curves, NULL, &row->s);
    bool same = curves.verdict.feasible && curves.verdict.objective == c->power;
    shv_curves_free(&curves);
    return same ? SHV_OK
                : shv_fail(message, SHV_IO,
                           "combination %llu of %s in %s is not what the sweep found: its journal "
                           "or its cycle tables are of another version",
                           (unsigned long long)c->index, row->vehicle, row->market);
}

enum shv_status shv_range_kits_row(const struct shv_range_kits *kits,
                                   const struct shv_range_result *result, size_t point,
                                   size_t group, const struct shv_model *model,
                                   const struct shv_space *space, struct shv_range_row *row,
                                   struct shv_message *message)
{
    const struct shv_range_group *g = &kits->problem.group[group];
    const struct shv_range_candidate *c = &g->candidate[result->point[point].kit[group]];
    *row = (struct shv_range_row){.sales = g->sales,
                                  .combination = c->index,
                                  .holds = {NAN, NAN},
                                  .power = c->power,
                                  .best_power = g->candidate[result->best[group]].power,
                                  .price = c->price,
                                  .mass = c->mass};
    row->value = g->sales * shv_range_worth(&kits->problem, g, c, row->best_power);
    struct shv_kit kit;
    shv_space_kit(space, shv_model_study(model), c->index, &kit);
    name_row(kits, shv_model_study(model), group, row);
    return evaluate(c, model, &kit, row, message);
}

bool shv_range_kits_has(const struct shv_range_kits *kits, const struct shv_range_result *result,
                        size_t group, size_t part)
{
    const struct shv_range_problem *p = &kits->problem;
    const struct shv_range_point *point = &result->point[result->chosen];
    return p->group[group].candidate[point->kit[group]].part[p->part[part].kind] == part;
}

struct shv_range_use shv_range_kits_use(const struct shv_range_kits *kits,
                                        const struct shv_range_result *result,
                                        const struct shv_range_row *row, size_t part)
{
    struct shv_range_use use = {.groups = 0};
    for (size_t g = 0; g < kits->problem.group_count; g++) {
        if (shv_range_kits_has(kits, result, g, part)) {
            use.kits += row[g].sales;
            use.pieces += row[g].sales * (double)row[g].pieces[kits->problem.part[part].kind];
            use.groups++;
        }
    }
    return use;
}

void shv_range_kits_count(const struct shv_range_kits *kits, const struct shv_range_point *point,
                          size_t count[SHV_STOCK_KINDS])
{
    memset(count, 0, SHV_STOCK_KINDS * sizeof *count);
    for (size_t i = 0; i < kits->problem.part_count; i++) {
        count[kits->problem.part[i].kind] += point->stocked[i] ? 1 : 0;
    }
}
