/* A fit as an include file of a study, and as a table for people. */
#include <math.h>
#include <string.h>

#include "report/write/file.h"
#include "report/write/text.h"
#include "report/write/words.h"
#include "sheave/report.h"

/* Shares of its range up to which a parameter's standard error counts as well and as fairly known;
 * an even spread over the range has 0.289. */
#define WELL 0.05
#define FAIRLY 0.15
#define HARDLY 0.289

static const char *name_of(const struct shv_fit_report *r, size_t k)
{
    return shv_correction_info(r->study->fit.freed[k].correction)->name;
}

/* ---- the include file ---- */

static bool has_error(const struct shv_fit_report *r, size_t k)
{
    double error = r->result->least.error[k];
    return isfinite(error) && error > 0.0;
}

static bool write_head(const struct shv_fit_report *r, FILE *out)
{
    const struct shv_least_squares_result *least = &r->result->least;
    bool good =
        fprintf(
            out,
            "# Written by sheave fit. Include it at the top level of the study, in place of groups "
            "corrections and\n# tolerances of its own. %zu readings, %zu corrections, "
            "chi squared %.4g for %.0f degrees of freedom;\n# standard deviations are "
            "%.4g times those of the readings' own errors.\n",
            r->result->entries, least->parameters, least->chi_squared, least->freedom,
            r->result->spread) > 0;
    for (size_t i = 0; good && i < shv_fit_cases(r->fit); i++) {
        const struct shv_log *log = shv_fit_log(r->fit, i);
        char path[REPORT_FIT_MAX(80)];
        good = fprintf(out, "# %s: %zu rows of %zu\n", report_fit(path, 80, log->path), log->rows,
                       log->data_lines) > 0;
    }
    return good;
}

static bool is_free(const struct shv_fit_report *r, int correction)
{
    for (size_t k = 0; k < r->study->fit.free; k++) {
        if ((int)r->study->fit.freed[k].correction == correction) {
            return true;
        }
    }
    return false;
}

static bool write_corrections(const struct shv_fit_report *r, FILE *out)
{
    bool good = fputs("corrections = {\n", out) != EOF;
    for (int i = 0; good && i < SHV_CORRECT_IN_STUDY; i++) {
        const struct shv_correction_info *info = shv_correction_info((enum shv_correction)i);
        double value = r->result->corrections.value[i];
        if (is_free(r, i) || value != info->neutral) {
            good = fprintf(out, "  %s = %#.12g;\n", info->name, value) > 0;
        }
    }
    return good && fputs("};\n", out) != EOF;
}

static const char *distribution_word(enum shv_distribution distribution)
{
    return distribution == SHV_UNIFORM      ? "uniform"
           : distribution == SHV_TRIANGULAR ? "triangular"
                                            : "normal";
}

static const char *source_words(const struct shv_fit_report *r, int correction)
{
    static const char *const words[] = {[SHV_FIT_MEASURED] = "",
                                        [SHV_FIT_CUT] = " # cut to the most that is accepted here",
                                        [SHV_FIT_KEPT] = " # not determined: as it was",
                                        [SHV_FIT_BOUNDS] = " # not determined: all of its range",
                                        [SHV_FIT_NONE] = ""};
    for (size_t k = 0; k < r->study->fit.free; k++) {
        if ((int)r->study->fit.freed[k].correction == correction) {
            return words[r->result->source[k]];
        }
    }
    return " # not fitted: as it was";
}

static bool write_tolerance(const struct shv_fit_report *r, int which, FILE *out)
{
    const struct shv_tolerance *t = &r->result->tolerances.of[which];
    const struct shv_correction_info *info = shv_correction_info((enum shv_correction)which);
    const char *unit = shv_quantity_unit(info->quantity);
    const char *quote = unit[0] == '\0' ? "" : "\"";
    bool normal = t->distribution == SHV_NORMAL;
    return !t->given ||
           fprintf(out, "  %s = { %s = %s%#.9g%s%s%s; distribution = \"%s\"; };%s\n", info->name,
                   normal ? "standard_deviation" : "half_width", quote,
                   normal ? t->standard_deviation : t->half_width, unit[0] == '\0' ? "" : " ", unit,
                   quote, distribution_word(t->distribution), source_words(r, which)) > 0;
}

static bool write_correlations(const struct shv_tolerances *t, FILE *out)
{
    bool good = true;
    for (size_t i = 0; good && i < t->correlation_count; i++) {
        const struct shv_correlation *c = &t->correlations[i];
        good = fprintf(out, "%s    { between = \"%s\"; and = \"%s\"; value = %#.9g; }",
                       i == 0 ? "  correlations = (\n" : ",\n", shv_correction_info(c->a)->name,
                       shv_correction_info(c->b)->name, c->value) > 0;
    }
    return good && (t->correlation_count == 0 || fputs("\n  );\n", out) != EOF);
}

/* How a study's tolerances are sampled stays as it was; without any of its own the defaults do. */
static bool write_sampling(const struct shv_fit_report *r, FILE *out)
{
    const struct shv_tolerances *own = &r->study->tolerances;
    if (!own->given) {
        return true;
    }
    bool good = fprintf(out, "  samples = %zu;\n  seed = %lu;\n  rows = %zu;\n", own->samples,
                        own->seed, own->rows) > 0;
    return good && (isnan(own->hold) || fprintf(out, "  hold = %#.9g;\n", own->hold) > 0);
}

static bool write_include(const struct shv_fit_report *r, FILE *out)
{
    const struct shv_tolerances *t = &r->result->tolerances;
    bool good = write_head(r, out) && write_corrections(r, out);
    if (!good || !t->given) {
        return good;
    }
    good = fputs("tolerances = {\n", out) != EOF;
    for (int i = 0; good && i < SHV_CORRECTION_COUNT; i++) {
        good = write_tolerance(r, i, out);
    }
    return good && write_correlations(t, out) && write_sampling(r, out) &&
           fputs("};\n", out) != EOF;
}

enum shv_status shv_report_fit_include(const struct shv_fit_report *report, const char *folder,
                                       const char *name, struct shv_message *message)
{
    struct report_file file;
    enum shv_status status = report_file_open(&file, folder, name, message);
    if (status != SHV_OK) {
        return status;
    }
    return report_file_finish(&file, write_include(report, file.stream), message);
}

/* ---- the table: logs ---- */

static const char *delimiter_words(char delimiter)
{
    return delimiter == '\t' ? "tabs" : delimiter == ';' ? "semicolons" : "commas";
}

/* "; dropped: 3 falling engine speed (lines 40, 41, 42)" */
static void say_drops(struct report_text *text, const struct shv_log *log)
{
    for (int reason = 0; reason < SHV_LOG_REASONS; reason++) {
        char lines[96] = "";
        size_t used = 0, told = 0;
        for (size_t i = 0; i < log->drops && used < sizeof lines; i++) {
            if ((int)log->drop[i].reason == reason && told < 6) {
                int length = snprintf(lines + used, sizeof lines - used, "%s%zu",
                                      told > 0 ? ", " : "", log->drop[i].line);
                used += length > 0 ? (size_t)length : 0;
                told++;
            }
        }
        if (log->dropped[reason] > 0) {
            report_text_say(text, "  dropped: %zu %s (line%s %s%s)", log->dropped[reason],
                            shv_log_drop_words((enum shv_log_drop_reason)reason),
                            log->dropped[reason] == 1 ? "" : "s", lines,
                            log->dropped[reason] > told ? ", ..." : "");
        }
    }
}

/* What comes of the columns of the mixture and of ignition. */
static void say_conditions(struct report_text *text, const struct shv_measured_log *plan,
                           const struct shv_log *log)
{
    const struct shv_measured_mixture m = shv_measured_mixture(plan, log);
    if (plan->kind == SHV_LOG_OF_KIT && !isnan(m.mean)) {
        report_text_say(
            text,
            "  mixture: lambda %.3f, the mean of its rows (%.3f to %.3f); all of them are "
            "modelled with it",
            m.mean, m.least, m.most);
    }
    for (size_t i = 0; i < plan->columns; i++) {
        const struct shv_channel_info *info = shv_channel_info(plan->column[i].channel);
        if (info->use[plan->kind] == SHV_CHANNEL_UNUSED) {
            report_text_say(
                text, "  read and not used: %s (column \"%s\")%s", info->title,
                plan->column[i].column,
                plan->column[i].channel == SHV_CHANNEL_IGNITION
                    ? "; the model places the burn, not the spark: a channel ca50 would "
                      "count"
                    : "; the stock engine runs at engine.stock.lambda");
        }
    }
}

static void say_log(struct report_text *text, const struct shv_measured_log *plan,
                    const struct shv_log *log)
{
    char units[48] = "";
    if (log->units_line > 0) {
        (void)snprintf(units, sizeof units, ", units on line %zu", log->units_line);
    }
    report_text_say(text,
                    "%s (%s): %zu of %zu rows in %zu run%s; cells end at %s, decimal %s, header on "
                    "line %zu%s.",
                    plan->name, shv_log_kind_names[plan->kind], log->rows, log->data_lines,
                    log->runs, log->runs == 1 ? "" : "s", delimiter_words(log->delimiter),
                    log->decimal_comma ? "comma" : "point", log->header_line, units);
    say_drops(text, log);
    say_conditions(text, plan, log);
    if (plan->bin > 0.0 && plan->kind != SHV_LOG_OF_BENCH) {
        report_text_say(text, "  smoothed: mean over bins of %.4g rpm", 60.0 * plan->bin);
    }
}

enum shv_status shv_report_log(const struct shv_measured_log *plan, const struct shv_log *log,
                               FILE *out, struct shv_message *message)
{
    struct report_text text;
    report_text_init(&text, out);
    say_log(&text, plan, log);
    return report_text_finish(&text, "what was read of the log", message);
}

/* ---- the table: corrections ---- */

static const char *known_words(const struct shv_fit_report *r, size_t k)
{
    const struct shv_freed *freed = &r->study->fit.freed[k];
    double share = shv_fit_error(r->result, k) / (freed->to - freed->from);
    if (r->result->least.at_bound[k]) {
        return "at its bound";
    }
    return share <= WELL     ? "well known"
           : share <= FAIRLY ? "fairly known"
           : share <= HARDLY ? "poorly known"
                             : "not determined";
}

static void show_corrections(struct report_text *text, const struct shv_fit_report *r)
{
    report_text_left(text, 27, "correction");
    report_text_right(text, 9, "start");
    report_text_right(text, 9, "fitted");
    report_text_right(text, 9, "std dev");
    report_text_right(text, 17, "range");
    report_text_left(text, 14, "");
    report_text_end(text);
    report_text_rule(text, 92);
    for (size_t k = 0; k < r->result->least.parameters; k++) {
        const struct shv_freed *freed = &r->study->fit.freed[k];
        char range[48];
        (void)snprintf(range, sizeof range, "%.4g .. %.4g", freed->from, freed->to);
        report_text_left(text, 27, name_of(r, k));
        report_text_number(text, 9, 4, r->result->start[k]);
        report_text_number(text, 9, 4, r->result->least.x[k]);
        report_text_number(text, 9, 4, has_error(r, k) ? shv_fit_error(r->result, k) : NAN);
        report_text_right(text, 17, range);
        report_text_left(text, 14, known_words(r, k));
        report_text_end(text);
    }
}

static void say_correlations(struct report_text *text, const struct shv_fit_report *r)
{
    const struct shv_least_squares_result *least = &r->result->least;
    for (size_t a = 0; a < least->parameters; a++) {
        for (size_t b = a + 1; b < least->parameters; b++) {
            double value = shv_least_squares_correlation(least, a, b);
            if (fabs(value) > 0.8) {
                report_text_say(text, "%s and %s move together: correlation %.2f.", name_of(r, a),
                                name_of(r, b), value);
            }
        }
    }
}

/* What became of those tolerances that are not simply measured. */
static void say_tolerances(struct report_text *text, const struct shv_fit_report *r)
{
    for (size_t k = 0; k < r->result->least.parameters; k++) {
        const char *name = name_of(r, k);
        switch (r->result->source[k]) {
        case SHV_FIT_MEASURED:
            break;
        case SHV_FIT_CUT:
            report_text_say(
                text,
                "%s: its tolerance is cut to the most that a study accepts here, a "
                "standard deviation of %.4g.",
                name,
                r->result->tolerances.of[r->study->fit.freed[k].correction].standard_deviation);
            break;
        case SHV_FIT_KEPT:
            report_text_say(text, "%s: its tolerance stays that of the study.", name);
            break;
        case SHV_FIT_BOUNDS:
            report_text_say(text, "%s: its tolerance is all of its range, since nothing is known.",
                            name);
            break;
        case SHV_FIT_NONE:
            report_text_say(text,
                            "%s: no tolerance can be given. What is measured pushes it against its "
                            "bound: widen that, or look for what is wrong.",
                            name);
            break;
        }
    }
}

/* ---- the table: goodness ---- */

static void show_channels(struct report_text *text, const struct shv_fit_report *r)
{
    report_text_left(text, 20, "log");
    report_text_left(text, 24, "channel");
    report_text_right(text, 8, "readings");
    report_text_left(text, 8, "unit");
    report_text_right(text, 9, "rms");
    report_text_right(text, 9, "bias");
    report_text_right(text, 8, "in devs");
    report_text_right(text, 6, "held");
    report_text_end(text);
    report_text_rule(text, 99);
    for (size_t i = 0; i < r->result->channels; i++) {
        const struct shv_fit_channel *c = &r->result->channel[i];
        const struct shv_measured_log *plan = shv_fit_plan_of(r->fit, c->log);
        const struct shv_log *log = shv_fit_log(r->fit, c->log);
        size_t column = shv_measured_find(plan, c->channel);
        char count[REPORT_COUNT_MAX];
        report_text_left(text, 20, plan->name);
        report_text_left(text, 24, shv_channel_info(c->channel)->name);
        report_text_right(text, 8, report_thousands(count, c->count));
        report_text_left(text, 8, log->unit[column]);
        report_text_fitted(text, 9, 3, c->rms / fabs(log->factor[column]));
        report_text_fitted(text, 9, 3, c->bias / log->factor[column]);
        report_text_number(text, 8, 2, c->chi);
        report_text_right(text, 6, report_thousands(count, c->held));
        report_text_end(text);
    }
}

static void say_left_out(struct report_text *text, const struct shv_fit_report *r)
{
    for (size_t i = 0; i < r->result->left_outs; i++) {
        const struct shv_fit_left_out *out = &r->result->left_out[i];
        const char *log = shv_fit_plan_of(r->fit, out->log)->name;
        const char *run = shv_fit_log(r->fit, out->log)->run_name[out->run];
        if (isfinite(out->chi)) {
            report_text_say(text,
                            "  %s, %s: its %zu readings are predicted within %.2f standard "
                            "deviations by the others.",
                            log, run, out->count, out->chi);
        } else {
            report_text_say(text, "  %s, %s: the others do not determine the corrections.", log,
                            run);
        }
    }
}

/* ---- the table: what is weak ---- */

static void list_among(const struct shv_fit_report *r, const struct shv_fit_weak *w, char *words,
                       size_t size)
{
    size_t used = 0;
    words[0] = '\0';
    for (size_t k = 0; k < r->result->least.parameters && used < size; k++) {
        if (w->among[k]) {
            int length =
                snprintf(words + used, size - used, "%s%s", used > 0 ? ", " : "", name_of(r, k));
            used += length > 0 ? (size_t)length : 0;
        }
    }
}

static void error_words(double share, char *words, size_t size)
{
    if (isfinite(share)) {
        (void)snprintf(words, size, "of up to %.0f %% of its range", 100.0 * share);
    } else {
        (void)snprintf(words, size, "without bound");
    }
}

static void say_weak(struct report_text *text, const struct shv_fit_report *r)
{
    for (size_t i = 0; i < r->result->weaks; i++) {
        const struct shv_fit_weak *w = &r->result->weak[i];
        char words[512], error[48], then[48];
        bool several = false;
        list_among(r, w, words, sizeof words);
        several = strchr(words, ',') != NULL;
        error_words(w->error, error, sizeof error);
        report_text_say(text, "%s: %s by these measurements, with a standard deviation %s.", words,
                        several ? "hardly told apart" : "hardly determined", error);
        if (w->has_remedy) {
            error_words(w->error_then, then, sizeof then);
            report_text_say(
                text,
                "  Measuring the %s in \"%s\" as well, with the deviation assumed of it, "
                "would leave one %s.",
                shv_channel_info(w->channel)->title, shv_fit_plan_of(r->fit, w->log)->name, then);
        } else {
            report_text_say(text, "  No further channel of these logs would help much: it takes "
                                  "another kind of log, another ratio or a prior.");
        }
    }
}

/* ---- the table ---- */

static void say_whole(struct report_text *text, const struct shv_fit_report *r)
{
    const struct shv_fit_result *result = r->result;
    const struct shv_least_squares_result *least = &result->least;
    report_text_say(text,
                    "%zu readings, %zu corrections. Residuals of %.2f standard deviations at the "
                    "start; after the fit chi squared is %.4g for %.0f degrees of freedom.",
                    result->entries, least->parameters, result->chi_start, least->chi_squared,
                    least->freedom);
    if (result->spread > 1.0) {
        report_text_say(text,
                        "Residuals are larger than the errors given: standard deviations below are "
                        "%.2f times what those errors say.",
                        result->spread);
    }
    if (least->outcome == SHV_LEAST_SQUARES_UNSURE) {
        report_text_say(text, "The search ended without meeting a minimum: take the result with "
                              "care.");
    }
    if (least->outcome == SHV_LEAST_SQUARES_KINK) {
        report_text_say(
            text, "The search ended at a kink of the model, as where a reading's "
                  "ignition begins to wait for knock: no step down the slope there comes nearer "
                  "to the readings, and deviations are those across the kink.");
    }
    report_text_say(text, "%zu of %zu starts ended here.", least->agreeing, r->study->fit.starts);
}

enum shv_status shv_report_fit_table(const struct shv_fit_report *report, FILE *out,
                                     struct shv_message *message)
{
    struct report_text text;
    report_text_init(&text, out);
    for (size_t i = 0; i < shv_fit_cases(report->fit); i++) {
        say_log(&text, shv_fit_plan_of(report->fit, i), shv_fit_log(report->fit, i));
    }
    report_text_end(&text);
    say_whole(&text, report);
    report_text_end(&text);
    show_corrections(&text, report);
    say_correlations(&text, report);
    say_tolerances(&text, report);
    report_text_end(&text);
    report_text_say(&text,
                    "Modelled less measured; held: readings beyond %.3g deviations, which "
                    "count less",
                    report->study->fit.loss_threshold);
    show_channels(&text, report);
    if (report->result->left_outs > 0) {
        report_text_end(&text);
        report_text_say(&text, "Each run predicted by a fit to the others");
        say_left_out(&text, report);
    }
    if (report->result->weaks > 0) {
        report_text_end(&text);
        say_weak(&text, report);
    }
    return report_text_finish(&text, "the table of the fit", message);
}
