/* The keys of a range file: where each value goes, its default, and the ends of its range. */
#include "study/edits.h"

#include <unistd.h>

#include "sheave/range_file.h"
#include "study/keys.h"

static const char base[] =
    "title = \"t\";\n"
    "fuels = ( " TRIAL_FUEL(
        "f") " );\n"
             "vehicles = ( { name = \"v\"; study = \"sheave_range_study.cfg\"; } );\n"
             "markets = ( { name = \"m\"; fuel = \"f\"; sales = 5; sites = ( { "
             "name = \"s\"; altitude = \"0 m\"; } ); } );\n"
             "tiers = ( { name = \"all\"; share = 1; } );\n"
             "stock = { blowers = { }; };\n";

struct plan {
    struct shv_range_file file;
    struct shv_diagnostics found;
    enum shv_status status;
};

static void load(struct plan *p, const char *was, const char *is)
{
    char *text = edited(base, was, is);
    memset(p, 0, sizeof *p);
    write_text("sheave_range_keys.cfg", text);
    free(text);
    p->status = shv_range_file_load("sheave_range_keys.cfg", &p->file, &p->found);
    (void)unlink("sheave_range_keys.cfg");
}

static void end(struct plan *p)
{
    shv_range_file_free(&p->file);
    shv_diagnostics_free(&p->found);
}

/* A vehicle's study has to be there, but is not read yet. */
static int put_study(void **state)
{
    (void)state;
    write_text("sheave_range_study.cfg", "title = \"s\";\n");
    return 0;
}

static int drop_study(void **state)
{
    (void)state;
    return unlink("sheave_range_study.cfg");
}

static void defaults(void **state)
{
    (void)state;
    struct plan p;
    load(&p, "title", "title");
    assert_int_equal(p.status, SHV_OK);
    assert_int_equal(p.found.count, 0);
    const struct shv_range_file *f = &p.file;
    assert_string_equal(f->title, "t");
    assert_null(f->currency);
    assert_true(f->value == SHV_RANGE_POWER && f->choose == SHV_RANGE_BEST &&
                f->units == SHV_METRIC);
    assert_true(f->most_parts == SHV_NONE && f->family_count == 0);
    assert_string_equal(f->folder, "results/sheave_range_keys");
    const struct shv_range_tier *t = f->tier;
    assert_true(t->cooler == SHV_RANGE_COOLER_ANY && t->share == 1.0);
    assert_true(isinf(t->most_price) && isinf(t->most_mass));
    assert_true(t->least_power == 0.0 && t->least_share == 0.0);
    assert_true(t->sale_price == 0.0 && t->sale_per_watt == 0.0);
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        assert_true(f->kind[k].counts && f->kind[k].most == SHV_NONE && f->kind[k].cost == 0.0);
        assert_null(f->kind[k].not_stocked);
    }
    assert_true(f->vehicle[0].shelf.numbers[SHV_DIM_CRANK_PULLEY].count == 0 &&
                f->vehicle[0].shelf.cores == 0);
    assert_int_equal(f->vehicle[0].power, SHV_RANGE_POWER_STUDY);
    assert_true(f->market[0].sales[0] == 5.0);
    end(&p);
}

/* Each kind of part has its own place. */
static void kinds_of_stock(void **state)
{
    (void)state;
    struct plan p;
    load(&p, "stock = { blowers = { };",
         "value = \"profit\"; stock = { blowers = { most = 1; cost = 10; }; crank_pulleys = { most "
         "= 2; cost = 20; };"
         "blower_pulleys = { most = 3; cost = 30; }; coolers = { most = 4; cost = 40; };"
         "injectors = { most = 5; cost = 50; }; pumps = { most = 6; cost = 60; };");
    if (p.status != SHV_OK) {
        fail_msg("%s", p.found.items[0].text);
    }
    static const enum shv_part_kind kinds[] = {SHV_STOCK_BLOWER,        SHV_STOCK_CRANK_PULLEY,
                                               SHV_STOCK_BLOWER_PULLEY, SHV_STOCK_COOLER,
                                               SHV_STOCK_INJECTOR,      SHV_STOCK_PUMP};
    for (size_t k = 0; k < 6; k++) {
        const struct shv_range_kind *kind = &p.file.kind[kinds[k]];
        assert_int_equal(kind->most, k + 1);
        assert_near(kind->cost, 10.0 * (double)(k + 1), 1e-12);
    }
    end(&p);
    load(&p, "blowers = { };", "pumps = { counts = false; };");
    for (size_t k = 0; k < 6; k++) {
        assert_int_equal(p.file.kind[kinds[k]].counts, k != 5);
    }
    end(&p);
}

static void assert_finding(const char *was, const char *is, const char *says)
{
    struct plan p;
    load(&p, was, is);
    if (says == NULL) {
        if (p.status != SHV_OK) {
            fail_msg("%s: %s", is, p.found.items[0].text);
        }
    } else if (p.found.count != 1 || strstr(p.found.items[0].text, says) == NULL) {
        fail_msg("%s: %zu findings, not \"%s\" but \"%s\"", is, p.found.count, says,
                 p.found.count > 0 ? p.found.items[0].text : "");
    }
    end(&p);
}

static void ends_of_ranges(void **state)
{
    (void)state;
    static const char *const cases[][3] = {
        {"name = \"v\";", "name = \"v\"; lambda = 0.7;", NULL},
        {"name = \"v\";", "name = \"v\"; lambda = 0.69;",
         "lambda: found 0.69; accepted: 0.7 to 1.2"},
        {"name = \"v\";", "name = \"v\"; lambda = 1.2;", NULL},
        {"name = \"v\";", "name = \"v\"; lambda = 1.21;", "lambda: found 1.21"},
        {"name = \"v\";", "name = \"v\"; crank_pulleys = \"10 mm\";", NULL},
        {"name = \"v\";", "name = \"v\"; crank_pulleys = \"9 mm\";",
         "crank_pulleys: found \"9 mm\"; accepted: 0.01 to 1 m"},
        {"name = \"v\";", "name = \"v\"; blower_pulleys = \"1001 mm\";", "blower_pulleys: found"},
        {"name = \"v\";", "name = \"v\"; cores = 0;", "cores: found 0; accepted: 1 to 1000"},
        {"name = \"v\";", "name = \"v\"; cores = 1000;", NULL},
        {"name = \"v\";", "name = \"v\"; power = \"most\";", "power: found \"most\"; accepted"},
        {"sales = 5;", "sales = 1e9;", NULL},
        {"sales = 5;", "sales = -1;", "sales: found -1; accepted: 0 to 1000000000"},
        {"share = 1;", "share = 0;", "tiers[1].share: found 0; accepted: more than 0, up to 1"},
        {"share = 1;", "share = 1; cooler = \"no\";", "cooler: found \"no\"; accepted"},
        {"share = 1;", "share = 1; most_price = 0;", "most_price: found 0; accepted: more than 0"},
        {"share = 1;", "share = 1; most_mass = \"0 kg\";",
         "most_mass: found \"0 kg\"; accepted: more than 0"},
        {"share = 1;", "share = 1; most_mass = 5;", "most_mass: found 5, which has no unit"},
        {"share = 1;", "share = 1; least_share = 1;", NULL},
        {"share = 1;", "share = 1; least_share = 1.01;",
         "least_share: found 1.01; accepted: 0 to 1"},
        {"share = 1;", "share = 1; least_power = \"0 W\";", NULL},
        {"share = 1; } );", "share = 1; sale_price = -1; } ); value = \"profit\";",
         "sale_price: found -1; accepted: 0 to"},
        {"blowers = { };", "most_parts = 0;", "most_parts: found 0; accepted: 1 to 10000"},
        {"blowers = { };", "most_parts = 10000;", NULL},
        {"blowers = { };", "choose = \"worst\";", "choose: found \"worst\"; accepted"},
        {"blowers = { };", "blowers = { most = 10001; };",
         "most: found 10001; accepted: 1 to 10000"},
        {"stock = { blowers = { };", "value = \"profit\"; stock = { blowers = { cost = -1; };",
         "cost: found -1; accepted: 0 to"},
        {"title = \"t\";\n", "", "title: found nothing; accepted"},
        {"name = \"v\";", "", "vehicles[1].name: found nothing"},
        {"study = \"sheave_range_study.cfg\";", "", "vehicles[1].study: found nothing"},
        {"name = \"all\";", "", "tiers[1].name: found nothing"},
        {"title", "units = \"metric\"; title", "found an unknown key"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_finding(cases[i][0], cases[i][1], cases[i][2]);
    }
}

/* Words stand in the order of their enums. */
static void words(void **state)
{
    (void)state;
    static const char *const values[] = {"power", "share", "profit"};
    static const char *const coolers[] = {"any", "without", "with"};
    static const char *const chosen[] = {"best", "knee"};
    struct plan p;
    for (int i = 0; i < 3; i++) {
        char is[80];
        (void)snprintf(is, sizeof is, "value = \"%s\"; title", values[i]);
        load(&p, "title", is);
        assert_int_equal((int)p.file.value, i);
        end(&p);
        (void)snprintf(is, sizeof is, "share = 1; cooler = \"%s\";", coolers[i]);
        load(&p, "share = 1;", is);
        assert_int_equal((int)p.file.tier[0].cooler, i);
        end(&p);
        (void)snprintf(is, sizeof is, "choose = \"%s\";", chosen[i % 2]);
        load(&p, "blowers = { };", is);
        assert_int_equal((int)p.file.choose, i % 2);
        end(&p);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(defaults),
        cmocka_unit_test(kinds_of_stock),
        cmocka_unit_test(ends_of_ranges),
        cmocka_unit_test(words),
    };
    return cmocka_run_group_tests(tests, put_study, drop_study);
}
