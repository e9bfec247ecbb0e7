/* src/plan/range_solver.c: what comes back from the child, however it ends. */
#include "plan/range_fixture.h"
#include "plan/range_solver.h"

#include <signal.h>
#include <stdio.h>
#include <sys/wait.h>
#include <unistd.h>

/* Two groups, two blowers, two pulleys: both groups do best with the first blower. */
static void small(struct fixture *f, struct thin *thin, struct programme *o)
{
    fixture_begin(f);
    for (int i = 0; i < 4; i++) {
        (void)fixture_part(f, i < 2 ? SHV_STOCK_BLOWER : SHV_STOCK_BLOWER_PULLEY, 0.0);
    }
    for (int g = 0; g < 2; g++) {
        struct shv_range_group *group = fixture_group(f, 1.0);
        (void)fixture_kit(group, 60e3, 0, 2);
        (void)fixture_kit(group, 50e3 + 1e3 * g, 1, 3);
    }
    assert_int_equal(thin_make(thin, &f->problem, SHV_NONE, NULL), SHV_OK);
    *o = (struct programme){.thin = thin, .most_parts = SHV_NONE, .by_value = true};
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        o->most[k] = SHV_NONE;
    }
}

static void no_child_is_left(void)
{
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1);
}

static void the_plan_comes_back(void **state)
{
    (void)state;
    struct fixture f;
    struct thin thin;
    struct programme o;
    struct programme_answer plan;
    struct shv_message message = {""};
    const struct solver_watch watch = {NULL, NULL};
    small(&f, &thin, &o);
    assert_int_equal(solver_run(&o, &watch, &plan, &message), SHV_OK);
    assert_true(plan.end == PROGRAMME_PROVEN && !plan.settled);
    assert_true(fabs(plan.objective * thin.step - 120e3) < 1e3 && plan.bound == plan.objective);
    assert_true(plan.stocked[0] && plan.stocked[2] && !plan.skipped[0] && !plan.skipped[1]);
    for (size_t i = 0; i < PROGRAMME_EXCESSES; i++) {
        assert_int_equal(plan.excess[i], 0);
    }
    no_child_is_left();
    solver_plan_free(&plan);
    assert_true(!programme_has_plan(&plan) && !plan.stocked && !plan.skipped);
    /* Excess and groups left out come over as well. */
    const int64_t skip_weight[] = {-5, -1};
    o.skips = true;
    o.by_value = false;
    o.skip_weight = skip_weight;
    o.excess[SHV_STOCK_KINDS] = true;
    o.excess_weight = -1;
    o.most_parts = 0;
    assert_int_equal(solver_run(&o, &watch, &plan, &message), SHV_OK);
    assert_true(plan.objective == -2.0 && plan.excess[SHV_STOCK_KINDS] == 2);
    solver_plan_free(&plan);
    o.excess_weight = -3; /* two parts cost as much as leaving both out; a third is not needed */
    o.excess[SHV_STOCK_KINDS] = false;
    assert_int_equal(solver_run(&o, &watch, &plan, &message), SHV_OK);
    assert_true(plan.objective == -6.0 && plan.skipped[0] && plan.skipped[1]);
    assert_true(!plan.stocked[0] && !plan.stocked[1]);
    solver_plan_free(&plan);
    thin_free(&thin);
}

static void nothing_fits(void **state)
{
    (void)state;
    struct fixture f;
    struct thin thin;
    struct programme o;
    struct programme_answer plan;
    struct shv_message message = {""};
    const struct solver_watch watch = {NULL, NULL};
    small(&f, &thin, &o);
    o.most_parts = 1;
    assert_int_equal(solver_run(&o, &watch, &plan, &message), SHV_NOTHING);
    assert_true(!programme_has_plan(&plan) && !plan.stocked);
    solver_plan_free(&plan);
    no_child_is_left();
    thin_free(&thin);
}

/* The best is proven, and of equal ones that with the first part: with pulleys of the same worth
 * either blower would do. */
static void the_best_is_settled(void **state)
{
    (void)state;
    struct fixture f;
    struct thin thin;
    struct programme o;
    struct programme_answer plan;
    struct shv_message message = {""};
    const struct solver_watch watch = {NULL, NULL};
    small(&f, &thin, &o);
    thin_free(&thin);
    for (int g = 0; g < 2; g++) {
        f.kit[g][1].power = 60e3;
    }
    assert_int_equal(thin_make(&thin, &f.problem, SHV_NONE, NULL), SHV_OK);
    const struct best_job job = {.programme = o, .from = BEST_FROM_SCRATCH};
    assert_int_equal(solver_best(&job, &watch, &plan, &message), SHV_OK);
    assert_true(plan.end == PROGRAMME_PROVEN && plan.settled);
    assert_true(plan.stocked[0] && !plan.stocked[1] && plan.stocked[2] && !plan.stocked[3]);
    solver_plan_free(&plan);
    no_child_is_left();
    thin_free(&thin);
}

/* ---- a search that takes its time ---- */

static uint64_t next(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return *state >> 33;
}

/* Many parts that are all alike, of which half may be in stock. */
static void slow(struct fixture *f, struct thin *thin, struct programme *o)
{
    uint64_t state = 3;
    fixture_begin(f);
    for (size_t i = 0; i < FIXTURE_PARTS; i++) {
        (void)fixture_part(f, i < 8 ? SHV_STOCK_BLOWER : SHV_STOCK_BLOWER_PULLEY, 0.0);
    }
    for (size_t g = 0; g < 9; g++) {
        struct shv_range_group *group = fixture_group(f, 1.0);
        for (size_t i = 0; i < FIXTURE_KITS; i++) {
            double power = 50e3 + (double)(next(&state) % 20000);
            size_t blower = next(&state) % 8, pulley = 8 + next(&state) % 8;
            (void)fixture_kit(group, power, blower, pulley);
        }
    }
    assert_int_equal(thin_make(thin, &f->problem, SHV_NONE, NULL), SHV_OK);
    *o = (struct programme){.thin = thin, .most_parts = 5, .by_value = true};
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        o->most[k] = SHV_NONE;
    }
}

static bool stop(void *data)
{
    ++*(int *)data;
    return false;
}

/* The children of this process. */
static bool kill_child(void *data)
{
    char path[64], line[64] = "";
    ++*(int *)data;
    (void)snprintf(path, sizeof path, "/proc/self/task/%d/children", (int)getpid());
    FILE *file = fopen(path, "r");
    if (file) {
        if (fgets(line, sizeof line, file) && atoi(line) > 0) {
            (void)kill(atoi(line), SIGKILL);
        }
        (void)fclose(file);
    }
    return true;
}

static void stopped_or_killed(void **state)
{
    (void)state;
    struct fixture f;
    struct thin thin;
    struct programme o;
    struct programme_answer plan;
    struct shv_message message = {""};
    int asked = 0;
    slow(&f, &thin, &o);
    const struct solver_watch stopping = {stop, &asked}, killing = {kill_child, &asked};
    assert_int_equal(solver_run(&o, &stopping, &plan, &message), SHV_STOPPED);
    assert_string_equal(message.text, "the search for a plan was stopped");
    assert_int_equal(asked, 1); /* not asked again */
    assert_true(plan.bound > 0.0 && (!programme_has_plan(&plan) || plan.objective <= plan.bound));
    solver_plan_free(&plan);
    asked = 0;
    assert_int_equal(solver_run(&o, &killing, &plan, &message), SHV_IO);
    assert_string_equal(message.text, "the solver was ended by signal 9");
    assert_true(asked > 0 && !programme_has_plan(&plan) && !plan.stocked);
    solver_plan_free(&plan);
    no_child_is_left();
    thin_free(&thin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_plan_comes_back),
        cmocka_unit_test(nothing_fits),
        cmocka_unit_test(the_best_is_settled),
        cmocka_unit_test(stopped_or_killed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
