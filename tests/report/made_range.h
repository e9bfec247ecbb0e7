/* A plan of a range by hand: two groups, six parts, a curve of three points. */
#ifndef SHEAVE_TESTS_REPORT_MADE_RANGE_H
#define SHEAVE_TESTS_REPORT_MADE_RANGE_H

#include "report/fixture.h"

enum { MADE_SMALL, MADE_LARGE, MADE_CRANK, MADE_80, MADE_70, MADE_CORE, MADE_PARTS };

struct made_range {
    struct shv_range_file file;
    struct shv_range_kits kits;
    struct shv_range_result result;
    struct shv_range_run run;
    struct shv_range_part part[MADE_PARTS];
    struct shv_range_group group[2];
    struct shv_range_candidate kit[2][2];
    struct shv_range_point point[3];
    bool stocked[3][MADE_PARTS];
    size_t chosen[3][2], serving[2], kept[2], unserved[2];
    struct shv_range_row row[2];
    struct shv_range_scenario scenario[2];
    struct shv_range_known known[2];
    struct shv_range_relief relief[4];
    struct shv_range_nearest nearest[2];
    char *family[1];
};

static inline void made_range_row(struct shv_range_row *r, bool first)
{
    *r = (struct shv_range_row){.vehicle = first ? "car" : "boat",
                                .market = "coast",
                                .tier = first ? "plain" : "full",
                                .sales = first ? 30.0 : 12.5,
                                .kit = {.crank_diameter = 0.145,
                                        .blower_diameter = first ? 0.080 : 0.070,
                                        .ratio = first ? 1.8 : 2.05,
                                        .effectiveness = first ? 0.0 : 0.65,
                                        .lambda = 0.88,
                                        .ignition_margin = 2.0,
                                        .injector_flow = 1e-5,
                                        .ribs = first ? 6.0 : 0.0,
                                        .wrap = first ? 0.0 : 150.0},
                                .combination = first ? 17 : 4711,
                                .blower = first ? "small" : "large",
                                .cooler = first ? "none" : "core",
                                .fuel = "pump",
                                .injector = first ? "port" : NULL,
                                .air_fuel_ratio = 12.8,
                                .power = first ? 90e3 : 120e3,
                                .best_power = first ? 100e3 : 125e3,
                                .price = first ? 2500.0 : 3200.5,
                                .mass = 30.25,
                                .value = 1.0,
                                .binding_limit = "boost",
                                .binding_title = "boost",
                                .binding_site = "pier",
                                .binding_share = first ? 0.034 : 0.12,
                                .binding_speed = 100.0};
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        r->pieces[k] = k == SHV_STOCK_INJECTOR ? 4 : 1;
    }
}

static inline void made_range_kit(struct shv_range_candidate *c, size_t blower, size_t pulley,
                                  size_t core)
{
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        c->part[k] = SHV_NONE;
    }
    c->part[SHV_STOCK_BLOWER] = blower;
    c->part[SHV_STOCK_CRANK_PULLEY] = MADE_CRANK;
    c->part[SHV_STOCK_BLOWER_PULLEY] = pulley;
    c->part[SHV_STOCK_COOLER] = core;
}

static inline void made_range_points(struct made_range *m)
{
    static const double value[] = {1000e3, 1150e3, 1250e3};
    for (size_t i = 0; i < 3; i++) {
        m->point[i] = (struct shv_range_point){.allowed = 3 + i,
                                               .parts = 3 + i,
                                               .value = value[i],
                                               .worst = 0.5 * value[i],
                                               .worst_in = i % 2,
                                               .bound = i == 0 ? 1050e3 : value[i],
                                               .proven = i != 0,
                                               .settled = i == 2,
                                               .stocked = m->stocked[i],
                                               .kit = m->chosen[i]};
        for (size_t p = 0; p < MADE_PARTS; p++) {
            m->stocked[i][p] = p == MADE_SMALL || p == MADE_CRANK || p == MADE_80 ||
                               (p == MADE_LARGE && i > 0) || (p == MADE_70 && i > 0) ||
                               (p == MADE_CORE && i > 1);
        }
    }
    m->chosen[1][1] = m->chosen[2][1] = 1; /* the boat gets the large one */
}

/* The second point is the plan, the knee nowhere. */
static inline void made_range_begin(struct made_range *m)
{
    static char *const names[MADE_PARTS] = {"small", "large", "145 mm",
                                            "80 mm", "70 mm", "core 0.65"};
    static const enum shv_part_kind kinds[MADE_PARTS] = {
        SHV_STOCK_BLOWER,        SHV_STOCK_BLOWER,        SHV_STOCK_CRANK_PULLEY,
        SHV_STOCK_BLOWER_PULLEY, SHV_STOCK_BLOWER_PULLEY, SHV_STOCK_COOLER};
    memset(m, 0, sizeof *m);
    for (size_t p = 0; p < MADE_PARTS; p++) {
        m->part[p] = (struct shv_range_part){kinds[p], names[p], 50.0 * (double)p};
    }
    for (size_t g = 0; g < 2; g++) {
        made_range_row(&m->row[g], g == 0);
        made_range_kit(&m->kit[g][0], MADE_SMALL, MADE_80, SHV_NONE);
        made_range_kit(&m->kit[g][1], MADE_LARGE, MADE_70, MADE_CORE);
        m->group[g] =
            (struct shv_range_group){.name = g == 0 ? "car, coast, plain" : "boat, coast, full",
                                     .sales = m->row[g].sales,
                                     .family = SHV_NONE,
                                     .count = 2,
                                     .candidate = m->kit[g]};
        m->serving[g] = 40 + g;
        m->kept[g] = 7 + g;
    }
    made_range_points(m);
    m->family[0] = "heavy";
    m->file = (struct shv_range_file){.currency = "EUR", .units = SHV_METRIC};
    m->kits.file = &m->file;
    m->kits.problem = (struct shv_range_problem){.part_count = MADE_PARTS,
                                                 .group_count = 2,
                                                 .part = m->part,
                                                 .group = m->group,
                                                 .family = m->family,
                                                 .family_count = 1};
    m->result = (struct shv_range_result){.step = 1.0,
                                          .serving = m->serving,
                                          .kept = m->kept,
                                          .point_count = 3,
                                          .point = m->point,
                                          .is_whole = true,
                                          .knee = SHV_NONE,
                                          .chosen = 1};
    m->run = (struct shv_range_run){
        .file = &m->file, .kits = &m->kits, .result = &m->result, .row = m->row};
}

/* Sales of two scenarios, of which the second would have had a better plan. */
static inline void made_range_scenarios(struct made_range *m)
{
    m->scenario[0].name = "calm";
    m->scenario[0].weight = 0.75;
    m->scenario[1].name = "storm";
    m->scenario[1].weight = 0.25;
    m->kits.problem.scenario = m->file.scenario = m->scenario;
    m->kits.problem.scenario_count = m->file.scenario_count = 2;
    m->known[0] = (struct shv_range_known){42.5, 1100e3, 1100e3, 1100e3, 4, true};
    m->known[1] = (struct shv_range_known){20.0, 500e3, 592e3, 638e3, 3, false};
    m->result.known = m->known;
}

#endif
