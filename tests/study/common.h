/* What the tests of the study stage share: cmocka and a few words. */
#ifndef SHEAVE_TESTS_STUDY_COMMON_H
#define SHEAVE_TESTS_STUDY_COMMON_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "sheave/study.h"

/* Equal within a relative error, NAN never. */
#define assert_near(value, expected, relative)                                                     \
    do {                                                                                           \
        double value_ = (value), expected_ = (expected);                                           \
        if (!(fabs(value_ - expected_) <= (relative)*fabs(expected_))) {                           \
            fail_msg("%s is %.17g, expected %.17g", #value, value_, expected_);                    \
        }                                                                                          \
    } while (0)

/* A study that is complete but for what is given: its own text, then defaults for the rest. */
struct trial {
    char path[64];
    struct shv_study study;
    struct shv_diagnostics findings;
    enum shv_status status;
};

static inline void write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

/* The first of what is wrong with a file as a message; hands the status on. */
static inline enum shv_status
first_finding(enum shv_status status, struct shv_diagnostics *findings, struct shv_message *message)
{
    if (findings->count > 0) {
        shv_fail(message, status, "%s", findings->items[0].text);
    }
    assert_int_equal(status != SHV_OK, findings->errors > 0);
    shv_diagnostics_free(findings);
    return status;
}

/* Loads a text as a study file in the current folder, which is removed again. */
static inline void try_text(struct trial *trial, const char *text)
{
    memset(trial, 0, sizeof *trial);
    strcpy(trial->path, "sheave_trial_XXXXXX");
    int descriptor = mkstemp(trial->path);
    assert_true(descriptor >= 0);
    FILE *file = fdopen(descriptor, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
    trial->status = shv_study_load(trial->path, &trial->study, &trial->findings);
    remove(trial->path);
}

static inline void end_trial(struct trial *trial)
{
    shv_study_free(&trial->study);
    shv_diagnostics_free(&trial->findings);
}

/* The finding without its "FILE:LINE: ". */
static inline const char *finding(const struct trial *trial, size_t index)
{
    assert_true(index < trial->findings.count);
    const char *colon = strchr(trial->findings.items[index].text, ':');
    assert_non_null(colon);
    const char *space = strchr(colon, ' ');
    assert_non_null(space);
    return space + 1;
}

#define TRIAL_TITLE "title = \"trial\";\n"
#define TRIAL_ENGINE                                                                               \
    "engine = { name = \"e\"; cylinders = 4; bore = \"0.086 m\"; stroke = \"0.086 m\";\n"          \
    " compression_ratio = 9; speed = { from = \"1000 rpm\"; to = \"3000 rpm\"; step = \"1000 "     \
    "rpm\"; };\n"                                                                                  \
    " efficiency = { model = \"stock_torque\"; };"                                                 \
    " volumetric_efficiency = ((\"2000 rpm\", 0.85)); stock_torque = ((\"2000 rpm\", \"150 N "     \
    "m\")); };\n"
#define TRIAL_SITES "sites = ( { name = \"coast\"; altitude = \"0 m\"; } );\n"
#define TRIAL_DRIVE "drive = { crank_pulleys = \"0.18 m\"; blower_pulleys = \"0.07 m\"; };\n"
#define TRIAL_BLOWER(name)                                                                         \
    "{ name = \"" name                                                                             \
    "\"; kind = \"geometry\"; displacement = \"0.0013 m3\"; leakage_area = \"25e-6 m2\"; }"
#define TRIAL_BLOWERS "blowers = ( " TRIAL_BLOWER("b") " );\n"
#define TRIAL_FUEL(name)                                                                           \
    "{ name = \"" name                                                                             \
    "\"; stoichiometric = 14.6; heating_value = \"42.9e6 J/kg\"; density = \"745 kg/m3\"; }"
#define TRIAL_FUELS "fuels = ( " TRIAL_FUEL("f") " );\n"
#define TRIAL_COOLER(name)                                                                         \
    "{ name = \"" name "\"; effectiveness = 0.6; rated_flow = \"0.2 kg/s\"; }"
#define TRIAL_LIMITS "limits = { boost = \"7e4 Pa\"; };\n"

#endif
