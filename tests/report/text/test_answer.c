/* The answer of a run on a screen: what is said of two kits, families of rows, ties, fuels. */
#include "report/pages.h"

#include "report/text/answer.h"

static char *written(struct fixture *f, bool joined)
{
    char *text;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(shv_report_answer(&f->run, out, &f->message), SHV_OK);
    assert_int_equal(fclose(out), 0);
    assert_page(text);
    return joined ? join_lines(text) : text;
}

/* In the words joined to one line, where blanks at the head of a line are doubled. */
static void assert_says(struct fixture *f, const char *what, bool is_there)
{
    char *text = written(f, true);
    assert_told(text, what, is_there);
    free(text);
}

static size_t lines_of(const char *text)
{
    size_t lines = 0;
    for (; *text; text++) {
        lines += *text == '\n';
    }
    return lines;
}

/* Each word of the first kit against the model's own numbers. */
static void the_strongest_on_paper(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves v;
    char words[300];
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    assert_int_equal(shv_curves_init(&v, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &v);
    assert_says(f, "Strongest on paper.   Blower ", true);
    assert_says(f, "Ranking value of 144 combinations: peak power, mean over the sites.", true);
    (void)snprintf(words, sizeof words, "Blower %s, pulleys %.0f mm on %.0f mm (ratio %.3f), ",
                   f->blowers[kit.blower].name, 1e3 * kit.crank_diameter, 1e3 * kit.blower_diameter,
                   kit.ratio);
    assert_says(f, words, true);
    (void)snprintf(words, sizeof words, "Ranking value %.1f kW. Peak power %.1f kW at ",
                   v.verdict.objective * 1e-3,
                   v.point[shv_curves_peak_power(&v, 0)].brake_power * 1e-3);
    assert_says(f, words, true);
    (void)snprintf(words, sizeof words, " over stock; boost %.1f kPa.",
                   v.point[shv_curves_peak_power(&v, 0)].boost * 1e-3);
    assert_says(f, words, true);
    shv_curves_free(&v);
}

/* Three limits by their room, the least first, with the speeds where they are; the site once where
 * all are nearest at the same. */
static void the_nearest_limits(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves v;
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    assert_int_equal(shv_curves_init(&v, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &v);
    int named[3];
    bool one_site = true;
    for (int i = 0; i < 3; i++) {
        named[i] = -1;
        for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
            double share = v.verdict.limit[k].share;
            bool is_named = (i > 0 && k == named[0]) || (i > 1 && k == named[1]);
            if (!is_named && isfinite(share) &&
                (named[i] < 0 || share < v.verdict.limit[named[i]].share)) {
                named[i] = k;
            }
        }
        assert_true(named[i] >= 0);
        one_site = one_site && v.verdict.limit[named[i]].site == v.verdict.limit[named[0]].site;
    }
    assert_true(one_site);
    char words[400];
    int used =
        snprintf(words, sizeof words,
                 "Nearest limits, by room, at %s: ", f->sites[v.verdict.limit[named[0]].site].name);
    for (int i = 0; i < 3; i++) {
        const struct shv_limit_result *r = &v.verdict.limit[named[i]];
        used += snprintf(words + used, sizeof words - (size_t)used, "%s%s %.1f %% at %.0f rpm",
                         i > 0 ? "; " : "", shv_limit_info((enum shv_limit)named[i])->title,
                         100.0 * r->share, 60.0 * f->speeds[r->speed]);
    }
    assert_true(v.verdict.limit[named[0]].share < 0.02);
    assert_says(f, words, true);
    assert_says(f, ". It stands right at its limits. With tolerances in the study", true);
    shv_curves_free(&v);
}

/* A kit with plenty of room does not stand right at its limits; without limits none is near. */
static void room_enough(void **state)
{
    struct fixture *f = *state;
    f->study.limit[SHV_LIMIT_FUEL_FLOW] = INFINITY;
    f->ranking.item[0].index = 0; /* of the larger blower pulley */
    f->ranking.count = 1;
    f->study.site_count = 1;
    shv_model_free(f->model);
    assert_int_equal(shv_model_create(&f->study, &f->model, &f->message), SHV_OK);
    f->run.model = f->model;
    assert_says(
        f, "With tolerances in the study (docs/config.md) a run also finds the kit to sell.", true);
    assert_says(f, "shore", false); /* the only site needs no name */
}

/* ---- the kit to sell ---- */

static struct shv_sure row[2];
static struct shv_sure_list list;

static void give_sure(struct fixture *f)
{
    memset(row, 0, sizeof row);
    for (size_t r = 0; r < 2; r++) {
        row[r].kind = r == 0 ? SHV_SURE_RANKED : SHV_SURE_SOUGHT;
        row[r].index = f->ranking.item[3 * r].index;
        shv_space_kit(&f->space, &f->study, row[r].index, &row[r].kit);
        row[r].percentile[SHV_SURE_P5].value = 91e3 + 1e3 * (double)r;
        row[r].percentile[SHV_SURE_P95].value = 109e3;
        row[r].all = (struct shv_sampled){r == 0 ? 0.416 : 0.952, 0.003};
    }
    list = (struct shv_sure_list){.row = row, .count = 2, .asked = true, .best = 1};
    f->study.tolerances.given = true;
    f->study.tolerances.hold = 0.95;
    f->run.sure = &list;
    f->run.certainty = SHV_STAGE_DONE;
}

static void the_kit_to_sell_comes_first(void **state)
{
    struct fixture *f = *state;
    give_sure(f);
    char *text = written(f, true);
    const char *sell =
        strstr(text, "Kit to sell: holds every limit with 95.2 % (+- 0.3) when parts, "
                     "engine and weather are off.");
    const char *strongest =
        strstr(text, "Strongest on paper: holds every limit with 41.6 % (+- 0.3).");
    assert_true(sell == text && strongest > sell);
    /* Of the second kit less is said: no range of its value, no gain over stock, no places. */
    const char *cases = strstr(sell, "(92.0 kW to 109.0 kW in nine cases of ten)");
    assert_true(cases != NULL && cases < strongest);
    assert_null(strstr(strongest, "in nine cases of ten"));
    const char *over = strstr(sell, " over stock; boost ");
    assert_true(over != NULL && over < strongest && strstr(strongest, " over stock") == NULL);
    assert_null(strstr(strongest, " % at "));
    assert_non_null(strstr(strongest, "Nearest limits, by room: "));
    free(text);
    row[1].all.value = 0.9997;
    assert_says(f, "holds every limit with more than 99.9 % when", true);
    list.best = 2; /* then all is said of the other */
    assert_says(f, "No kit to sell was found: none holds every limit with 95 %.", true);
    assert_says(f, "(91.0 kW to 109.0 kW in nine cases of ten)", true);
    assert_says(f, "Kit to sell: ", false);
    f->run.certainty = SHV_STAGE_LEFT_OUT;
    f->run.sure = NULL;
    assert_says(f, "was not looked at (--no-certainty).", true);
}

/* ---- rows ---- */

/* Rows with the same blower, pulleys, cooler and fuel are one line, with how many cores. */
static void families(void **state)
{
    struct fixture *f = *state;
    char *text = written(f, false);
    const char *head = strstr(text, "\n  # blower");
    assert_non_null(head);
    struct shv_kit seen[12];
    size_t count = 0;
    for (size_t i = 0; i < f->ranking.count; i++) {
        struct shv_kit kit;
        char start[64];
        size_t k = 0;
        shv_space_kit(&f->space, &f->study, f->ranking.item[i].index, &kit);
        while (k < count &&
               !(seen[k].blower == kit.blower && seen[k].cooler == kit.cooler &&
                 seen[k].fuel == kit.fuel && seen[k].crank_diameter == kit.crank_diameter &&
                 seen[k].blower_diameter == kit.blower_diameter)) {
            k++;
        }
        (void)snprintf(start, sizeof start, "\n%3zu %-15s ", i + 1, f->blowers[kit.blower].name);
        /* The first of each family is there by its place in the ranking. */
        assert_int_equal(strstr(head, start) != NULL, k == count);
        if (k == count) {
            seen[count++] = kit;
        }
    }
    assert_true(count > 2 && count < f->ranking.count);
    assert_non_null(strstr(head, " 2 cores "));
    free(text);
}

static void one_family_has_no_table(void **state)
{
    struct fixture *f = *state;
    f->ranking.count = 1;
    char *text = written(f, false);
    assert_null(strstr(text, "\n  # blower"));
    free(text);
}

/* Rows go until the screen of 40 lines is full, with 4 for the command; three at least. */
static void it_fits_a_screen(void **state)
{
    struct fixture *f = *state;
    char *text = written(f, false);
    assert_true(lines_of(text) <= 36);
    free(text);
    use_long_names(f);
    text = written(f, false); /* looks at the width */
    free(text);
}

/* ---- ties and fuels ---- */

/* The first row of the other blower within 1.5 %. */
static void near_ties(void **state)
{
    struct fixture *f = *state;
    struct shv_kit first, kit;
    size_t other = 1;
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &first);
    for (uint64_t i = 0; i < f->space.size;
         i++) { /* a kit with the other blower, in second place */
        shv_space_kit(&f->space, &f->study, i, &kit);
        if (kit.blower != first.blower) {
            f->ranking.item[other].index = i;
            break;
        }
    }
    f->ranking.item[other].objective = f->ranking.item[0].objective * (1.0 - 0.0149);
    assert_says(f, "Near tie: ", true);
    assert_says(f, "Near tie: blower ", true);
    assert_says(f, " less ranking value", true);
    assert_says(f, " (row 2) with ", true);
    f->ranking.item[other].objective = f->ranking.item[0].objective * (1.0 - 0.0151);
    assert_says(f, "Near tie: ", false);
    f->ranking.item[other].index = f->ranking.item[0].index; /* the same blower is no tie */
    f->ranking.item[other].objective = f->ranking.item[0].objective;
    f->ranking.count = 2;
    assert_says(f, "Near tie: ", false);
}

static void fuels_and_coolers(void **state)
{
    struct fixture *f = *state;
    assert_says(
        f,
        "Ranking value of the best ideal with each fuel (without a cooler): pump-95 150.0 kW "
        "(120.0 kW), blend-85 none (none).",
        true);
    f->optima[1] = f->optima[0]; /* the best of both counts */
    f->optima[1].objective = 151e3;
    f->optima[1].uncooled_objective = 119e3;
    assert_says(f, ": pump-95 151.0 kW (120.0 kW), ", true);
    f->optima[0].found = false;
    f->optima[1].uncooled_found = false;
    assert_says(f, ": pump-95 151.0 kW (120.0 kW), ", true);
    f->run.optimum_count = 0;
    assert_says(f, "of the best ideal", false);
}

static void nothing_feasible(void **state)
{
    struct fixture *f = *state;
    f->ranking.count = 0;
    char *text = written(f, false);
    assert_null(strstr(text, "Strongest on paper"));
    assert_true(strlen(text) > 20);
    free(text);
    FILE *full = fopen("/dev/full", "w");
    assert_non_null(full);
    f->ranking.count = 3;
    assert_int_equal(shv_report_answer(&f->run, full, &f->message), SHV_IO);
    assert_non_null(strstr(f->message.text, "cannot write the answer"));
    (void)fclose(full);
}

static void money_and_belts(void **state)
{
    struct fixture *f = *state;
    assert_says(f, " crowns. ", true);
    assert_says(f, ", 4 ribs. ", true);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(the_strongest_on_paper),
        TEST(the_nearest_limits),
        TEST(room_enough),
        TEST(the_kit_to_sell_comes_first),
        TEST(families),
        TEST(one_family_has_no_table),
        TEST(it_fits_a_screen),
        TEST(near_ties),
        TEST(fuels_and_coolers),
        TEST(nothing_feasible),
        cmocka_unit_test_setup_teardown(money_and_belts, fixture_belt_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
