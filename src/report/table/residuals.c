/* Residuals of a fit as CSV: every reading in the units of its log, and every line dropped. */
#include <math.h>

#include "report/table/files.h"

struct residual_row {
    const char *log, *run, *dropped, *channel, *unit;
    uint64_t line;
    double speed; /* rev/s */
    double measured, modelled, difference, deviation, residual, weight;
};

#define AT(member) offsetof(struct residual_row, member)

static const struct report_column residual_columns[] = {
    {"log", REPORT_TEXT, 0, AT(log), REPORT_ALWAYS, "Name of the log in the study."},
    {"line", REPORT_COUNT, 0, AT(line), REPORT_ALWAYS,
     "Line of the log, the first of them where several were averaged."},
    {"run", REPORT_TEXT, 0, AT(run), REPORT_ALWAYS, "Run that the line belongs to."},
    {"dropped", REPORT_TEXT, 0, AT(dropped), REPORT_ALWAYS,
     "Why the line is no part of the fit; what follows is then empty."},
    {"engine_speed", REPORT_ROTATION, 7, AT(speed), REPORT_ALWAYS,
     "Engine speed; rotor speed of a bench."},
    {"channel", REPORT_TEXT, 0, AT(channel), REPORT_ALWAYS, "What was read."},
    {"unit", REPORT_TEXT, 0, AT(unit), REPORT_ALWAYS,
     "Unit of the next four columns, that of the log's column."},
    {"measured", REPORT_NUMBER, 9, AT(measured), REPORT_ALWAYS, "The reading."},
    {"modelled", REPORT_NUMBER, 9, AT(modelled), REPORT_ALWAYS,
     "What the model gives with the fitted corrections."},
    {"difference", REPORT_NUMBER, 6, AT(difference), REPORT_ALWAYS, "Modelled less measured."},
    {"deviation", REPORT_NUMBER, 6, AT(deviation), REPORT_ALWAYS,
     "Standard deviation of the reading, as the study has it."},
    {"residual", REPORT_NUMBER, 6, AT(residual), REPORT_ALWAYS, "Difference over deviation."},
    {"weight", REPORT_NUMBER, 6, AT(weight), REPORT_ALWAYS,
     "How much the reading counts: 1, or the loss threshold over the residual's size where that is "
     "larger."},
};

static struct residual_row reading_row(const struct shv_fit_report *report,
                                       const struct shv_fit_entry *e)
{
    const struct shv_measured_log *plan = shv_fit_plan_of(report->fit, e->log);
    const struct shv_log *log = shv_fit_log(report->fit, e->log);
    size_t speed = shv_measured_find(plan, plan->kind == SHV_LOG_OF_BENCH ? SHV_CHANNEL_ROTOR_SPEED
                                                                          : SHV_CHANNEL_SPEED);
    double factor = log->factor[e->column], origin = log->origin[e->column];
    return (struct residual_row){.log = plan->name,
                                 .run = log->run_name[log->row[e->row].run],
                                 .channel = shv_channel_info(e->channel)->name,
                                 .unit = log->unit[e->column],
                                 .line = log->row[e->row].line,
                                 .speed = log->value[e->row * log->wants + speed],
                                 .measured = (e->measured - origin) / factor,
                                 .modelled = (e->modelled - origin) / factor,
                                 .difference = (e->modelled - e->measured) / factor,
                                 .deviation = e->deviation / fabs(factor),
                                 .residual = e->residual,
                                 .weight = e->weight};
}

static struct residual_row dropped_row(const struct shv_measured_log *plan,
                                       const struct shv_log_drop *drop)
{
    return (struct residual_row){.log = plan->name,
                                 .line = drop->line,
                                 .dropped = shv_log_drop_words(drop->reason),
                                 .channel =
                                     drop->want == SHV_LOG_NO_COLUMN
                                         ? NULL
                                         : shv_channel_info(plan->column[drop->want].channel)->name,
                                 .speed = NAN,
                                 .measured = NAN,
                                 .modelled = NAN,
                                 .difference = NAN,
                                 .deviation = NAN,
                                 .residual = NAN,
                                 .weight = NAN};
}

static void write_rows(struct report_csv *csv, void *data)
{
    const struct shv_fit_report *report = data;
    const struct shv_fit *fit = report->fit;
    for (size_t i = 0; i < report->result->entries; i++) {
        struct residual_row row = reading_row(report, &report->result->entry[i]);
        report_csv_row(csv, &row);
    }
    for (size_t k = 0; k < shv_fit_cases(fit); k++) {
        const struct shv_log *log = shv_fit_log(fit, k);
        for (size_t i = 0; i < log->drops; i++) {
            struct residual_row row = dropped_row(shv_fit_plan_of(fit, k), &log->drop[i]);
            report_csv_row(csv, &row);
        }
    }
}

const struct report_table report_residuals = {
    .about = "Residuals of `sheave fit`: one row per reading, and one per line that was dropped",
    .columns = residual_columns,
    .count = sizeof residual_columns / sizeof *residual_columns,
    .write = write_rows};

enum shv_status shv_report_fit_residuals(const struct shv_fit_report *report, const char *folder,
                                         const char *name, struct shv_message *message)
{
    struct shv_fit_report of = *report;
    return report_table_write(&report_residuals, folder, name, SHV_METRIC, 0, &of, message);
}
