/* Rules that concern several keys (checks.h). A value that was wrong is NAN, NULL, 0 or -1 here;
 * every comparison is written so that it then says nothing more. */
#include "study/checks.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "sheave/air.h"
#include "study/catalog.h"
#include "study/dimension.h"
#include "study/reader.h"
#include "study/source.h"

#define LEAST_SENSIBLE_FILLING 0.3
#define SPEEDS_MAX 200
#define PI 3.14159265358979323846
#define VAPOUR_SHARE_MAX 0.2

/* Keys that mean something only with a certain word elsewhere. */
void reject_given(struct reader *reader, const config_setting_t *group, const char *const *names,
                  const char *only)
{
    for (size_t i = 0; names[i] != NULL; i++) {
        const config_setting_t *member = reader_member(group, names[i]);
        if (member != NULL) {
            reader_error(reader, member, NULL,
                         "found where it has no meaning; accepted: only with %s", only);
        }
    }
}

/* A key that is required because of what another one says. */
void require_given(struct reader *reader, const config_setting_t *group, const char *name,
                   const char *because)
{
    if (reader_member(group, name) == NULL) {
        reader_error(reader, group, name, "found nothing; it is required with %s", because);
    }
}

bool is_given(const config_setting_t *group, const char *name)
{
    return reader_member(group, name) != NULL;
}

void check_air(struct reader *reader, const config_setting_t *setting, void *base)
{
    const struct shv_air_model *air = &((struct draft *)base)->study.air;
    if (air->kind == SHV_AIR_CONSTANT) {
        double gamma = air->heat_capacity / (air->heat_capacity - air->gas_constant);
        if (air->heat_capacity <= air->gas_constant) {
            reader_error(reader, setting, "heat_capacity",
                         "found %.10g J/(kg K); accepted: more than gas_constant, %.10g J/(kg K)",
                         air->heat_capacity, air->gas_constant);
        } else if (fabs(air->gamma - gamma) > 0.03 * gamma) {
            reader_error(reader, setting, "gamma",
                         "found %.10g; accepted: within 3 %% of cp/(cp - R) = %.4f", air->gamma,
                         gamma);
        }
    }
}

void check_loss(struct reader *reader, const config_setting_t *setting, void *base)
{
    const struct shv_loss *loss = base;
    if (loss->pressure_drop > 0.0) {
        require_given(reader, setting, "flow", "a pressure_drop");
    }
}

/* The pull of a belt is the same on both pulleys, so the power it passes on falls with the speed.
 */
void check_drive(struct reader *reader, const config_setting_t *setting, void *base)
{
    const struct shv_drive *drive = &((struct draft *)base)->study.drive;
    double most = 1.0 - drive->creep;
    if (drive->efficiency > most + 1e-12) {
        reader_error(
            reader, setting, "efficiency",
            "found %.10g with a creep of %.10g; accepted: at most %.10g, for creep is lost "
            "power",
            drive->efficiency, drive->creep, most);
    }
}

void check_exhaust(struct reader *reader, const config_setting_t *setting, void *base)
{
    const struct shv_exhaust *exhaust = base;
    if (exhaust->pressure_drop > 0.0) {
        require_given(reader, setting, "flow", "a pressure_drop");
    }
}

/* Direct injection wets walls less; the share is an assumption of ours. */
#define EVAPORATED_SHARE_DIRECT 0.8

void check_cycle(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    (void)reader;
    if (is_given(setting, "evaporated_share")) {
        return;
    }
    if (draft->injection == INJECTION_DIRECT) {
        draft->study.engine.cycle.evaporated_share = EVAPORATED_SHARE_DIRECT;
    } else if (draft->injection == INJECTION_PORT) {
        struct shv_cycle_engine engine;
        struct shv_cycle_fuel fuel;
        struct shv_cycle_knock knock;
        struct shv_cycle_case at;
        shv_cycle_defaults(&engine, &fuel, &knock, &at);
        draft->study.engine.cycle.evaporated_share = engine.evaporated_share;
    }
}

/* Room for the tables of the closed cycle, whose phasing runs between the two. */
#define CA50_ROOM 1.0

void check_knock(struct reader *reader, const config_setting_t *setting, void *base)
{
    const struct shv_cycle_knock *knock = &((struct draft *)base)->study.engine.knock;
    if (knock->limit_ca50 < knock->best_ca50 + CA50_ROOM - 1e-9) {
        reader_error(reader, setting, "limit_ca50",
                     "found %.10g deg; accepted: at least %.10g deg above best_ca50, %.10g deg",
                     knock->limit_ca50, CA50_ROOM, knock->best_ca50);
    }
}

/* Beyond this share of vapour the air would hardly be air; a humidity of a hot bath is a mistake.
 */
static void check_humidity(struct reader *reader, const config_setting_t *setting,
                           const struct shv_ambient *ambient)
{
    double most =
        VAPOUR_SHARE_MAX * ambient->pressure / shv_saturation_pressure(ambient->temperature);
    if (ambient->relative_humidity >= most) {
        reader_error(
            reader, setting, "humidity",
            "found %.10g; accepted: less than %.4g, where the vapour pressure is a fifth of "
            "the ambient pressure",
            ambient->relative_humidity, most);
    }
}

void check_stock(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    struct shv_ambient *stock = &draft->study.engine.stock;
    if (is_given(setting, "altitude") && is_given(setting, "pressure")) {
        reader_error(reader, setting, "pressure",
                     "found together with altitude; accepted: one of the two");
    } else if (isfinite(draft->stock_altitude)) {
        stock->pressure = shv_atmosphere_pressure(draft->stock_altitude);
    }
    check_humidity(reader, setting, stock);
}

/* ---- engine ---- */

static void check_displacement(struct reader *reader, const config_setting_t *setting,
                               struct shv_engine *engine)
{
    if (!is_given(setting, "bore") && !is_given(setting, "stroke")) {
        if (!is_given(setting, "displacement")) {
            reader_error(reader, setting, "displacement",
                         "found nothing; it is required without bore and stroke");
        }
        engine->bore = engine->stroke = cbrt(4.0 * engine->displacement / (PI * engine->cylinders));
        return;
    }
    require_given(reader, setting, "bore", "stroke");
    require_given(reader, setting, "stroke", "bore");
    double swept = PI / 4.0 * engine->bore * engine->bore * engine->stroke * engine->cylinders;
    if (!is_given(setting, "displacement")) {
        engine->displacement = swept;
    } else if (engine->cylinders > 0 && fabs(engine->displacement - swept) > 0.01 * swept) {
        reader_error(reader, setting, "displacement",
                     "found %.6g l; accepted: within 1 %% of the %.6g l that bore, stroke and "
                     "cylinders give",
                     1e3 * engine->displacement, 1e3 * swept);
    }
}

/* from, from + step, ... and always to. */
static void make_speeds(struct reader *reader, const config_setting_t *setting, struct draft *draft)
{
    const struct stepped_range *range = &draft->engine_speed;
    struct shv_engine *engine = &draft->study.engine;
    const config_setting_t *where = reader_member(setting, "speed");
    if (where == NULL || !config_setting_is_group(where)) {
        return;
    }
    if (range->from >= range->to) {
        reader_error(reader, where, "to", "found %.10g rpm; accepted: more than from, %.10g rpm",
                     60.0 * range->to, 60.0 * range->from);
        return;
    }
    double steps = ceil((range->to - range->from) / range->step * (1.0 - 1e-9));
    if (steps + 1.0 > SPEEDS_MAX) {
        reader_error(reader, where, "step",
                     "found a step that gives %.10g points; accepted: up to %d", steps + 1.0,
                     SPEEDS_MAX);
        return;
    }
    if (!(steps >= 1.0)) {
        return; /* NAN after an error */
    }
    size_t count = (size_t)steps + 1;
    engine->speeds = malloc(count * sizeof *engine->speeds);
    if (engine->speeds == NULL) {
        reader->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i + 1 < count; i++) {
        engine->speeds[i] = range->from + (double)i * range->step;
    }
    engine->speeds[count - 1] = range->to;
    engine->speed_count = count;
}

/* One point is a constant; more must cover the rev range, for nothing is extrapolated. */
static void check_cover(struct reader *reader, const config_setting_t *setting, const char *name,
                        const struct shv_curve_table *curve, const struct shv_engine *engine)
{
    if (curve->count < 2 || engine->speed_count == 0) {
        return;
    }
    double first = curve->x[0], last = curve->x[curve->count - 1];
    double from = engine->speeds[0], to = engine->speeds[engine->speed_count - 1];
    if (first > from * (1.0 + 1e-9) || last < to * (1.0 - 1e-9)) {
        reader_error(
            reader, setting, name,
            "found %.10g to %.10g rpm; accepted: points that cover the rev range, %.10g to "
            "%.10g rpm, or a single one for a constant",
            60.0 * first, 60.0 * last, 60.0 * from, 60.0 * to);
    }
}

/* What the model of efficiency needs, and what it has no use for. */
static void check_kind(struct reader *reader, const config_setting_t *setting,
                       const struct shv_engine *engine)
{
    static const char *const torque[] = {"stock_torque", NULL};
    static const char *const cycle[] = {"cycle", "knock", NULL};
    static const char *const assumed_peak[] = {"peak_pressure_ratio", NULL};
    enum shv_efficiency_kind kind = engine->efficiency_kind;
    if ((int)kind < 0) {
        return;
    }
    if (kind == SHV_EFFICIENCY_STOCK_TORQUE) {
        require_given(reader, setting, "stock_torque", "efficiency.model = \"stock_torque\"");
    } else if (kind != SHV_EFFICIENCY_CYCLE) {
        reject_given(reader, setting, torque, "efficiency.model = \"stock_torque\" or \"cycle\"");
    }
    if (kind != SHV_EFFICIENCY_CYCLE) {
        reject_given(reader, setting, cycle, "efficiency.model = \"cycle\"");
    } else {
        reject_given(reader, reader_member(setting, "friction"), assumed_peak,
                     "another efficiency.model than \"cycle\", which has its own peak pressure");
    }
}

void check_engine(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    struct shv_engine *engine = &draft->study.engine;
    check_displacement(reader, setting, engine);
    make_speeds(reader, setting, draft);
    check_cover(reader, setting, "volumetric_efficiency", &engine->volumetric_efficiency, engine);
    check_cover(reader, setting, "stock_torque", &engine->stock_torque, engine);
    check_cover(reader, reader_member(setting, "knock"), "stock_retard", &engine->stock_retard,
                engine);
    check_kind(reader, setting, engine);
    engine->cycle.bore = engine->bore;
    engine->cycle.stroke = engine->stroke;
    engine->cycle.compression_ratio = engine->compression_ratio;
}

/* ---- sites and parts ---- */

void check_site(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct shv_site *site = base;
    struct shv_ambient *ambient = &site->ambient;
    bool by_altitude = is_given(setting, "altitude"), by_pressure = is_given(setting, "pressure");
    if (by_altitude == by_pressure) {
        reader_error(reader, setting, NULL,
                     "found %s altitude %s pressure; accepted: one of the two",
                     by_altitude ? "both" : "neither", by_altitude ? "and" : "nor");
        return;
    }
    if (by_altitude) {
        ambient->pressure = shv_atmosphere_pressure(site->altitude);
    }
    if (!is_given(setting, "temperature")) {
        if (by_pressure) {
            require_given(reader, setting, "temperature", "pressure");
        } else {
            ambient->temperature = shv_atmosphere_temperature(site->altitude);
        }
    }
    check_humidity(reader, setting, ambient);
}

/* The map is read at once, so that what is wrong in it is told with all the rest; first its bytes,
 * which may be too many. */
static void read_map(struct reader *reader, const config_setting_t *setting,
                     struct blower_draft *draft)
{
    const config_setting_t *file = reader_member(setting, "file");
    struct shv_blower_map *map = &draft->blower.map;
    const double pressure = map->reference_pressure, temperature = map->reference_temperature;
    if (file == NULL || draft->map_file == NULL ||
        !isfinite(draft->blower.displacement + pressure + temperature)) {
        return;
    }
    char *named_in = reader_file_of(reader, file);
    char *directory = named_in == NULL ? NULL : source_directory(named_in);
    char *path = directory == NULL ? NULL : source_join(directory, draft->map_file);
    struct shv_message message = {{0}};
    struct shv_diagnostics findings = {0};
    enum shv_status status =
        path == NULL ? SHV_NO_MEMORY : source_hash_file(reader, path, &message);
    if (status == SHV_OK) {
        status = shv_blower_map_read(path, reader->units, draft->blower.displacement, pressure,
                                     temperature, map, &findings);
    } else if (status != SHV_NO_MEMORY) {
        shv_diagnostics_add(&findings, false, "%s", message.text);
    }
    reader->out_of_memory |= status == SHV_NO_MEMORY || findings.out_of_memory;
    reader->broken_file |= status == SHV_IO;
    for (size_t i = 0; i < findings.count; i++) {
        (findings.items[i].is_warning ? reader_warning : reader_error)(reader, file, NULL, "%s",
                                                                       findings.items[i].text);
    }
    shv_diagnostics_free(&findings);
    map->reference_pressure = pressure;
    map->reference_temperature = temperature;
    free(path);
    free(directory);
    free(named_in);
}

/* What an area in the wrong unit would make of it. */
static void warn_of_leakage(struct reader *reader, const config_setting_t *setting,
                            const struct shv_blower *blower)
{
    const double speed = 10000.0 / 60.0, inlet = 101325.0, warm = 293.15, ratio = 1.5;
    const struct shv_air_model dry = {.kind = SHV_AIR_NASA};
    struct shv_gas gas;
    struct shv_blower_state state;
    if (!isfinite(blower->displacement + blower->geometry.leakage_area)) {
        return;
    }
    shv_gas_init(&gas, &dry, 0.0);
    struct shv_blower bare = {.displacement = blower->displacement,
                              .step_up = 1.0,
                              .windage_reference_speed = 1.0,
                              .geometry = {.leakage_area = blower->geometry.leakage_area,
                                           .assembly_temperature = warm,
                                           .volume_ratio = 1.0,
                                           .reference_speed = speed}};
    shv_blower_state(&bare, &gas, inlet, warm, speed, ratio * inlet, &state);
    if (!(state.volumetric_efficiency >= LEAST_SENSIBLE_FILLING)) {
        reader_warning(reader, setting, "leakage_area",
                       "found %.4g mm2, with which %.2g of the swept volume would be delivered at "
                       "10000 rpm and a pressure ratio of 1.5; is it in another unit?",
                       1e6 * blower->geometry.leakage_area, fmax(state.volumetric_efficiency, 0.0));
    }
}

/* Everything after this sees the blower as corrected. */
static void correct_blower(const config_setting_t *setting, struct blower_draft *draft)
{
    const struct blower_corrections *own = &draft->corrections;
    struct shv_blower *blower = &draft->blower;
    if (!is_given(setting, "corrections")) {
        return;
    }
    blower->geometry.leakage_area *= own->leakage;
    blower->geometry.filling_loss *= own->filling_loss;
    blower->friction_torque *= own->blower_friction;
    blower->windage_torque *= own->blower_friction;
    blower->map.slip_added = own->leakage - 1.0;
}

void check_blower(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct blower_draft *draft = base;
    if (draft->blower.kind == SHV_BLOWER_GEOMETRY) {
        warn_of_leakage(reader, setting, &draft->blower);
    } else if (draft->blower.kind == SHV_BLOWER_MAP) {
        read_map(reader, setting, draft);
    }
    check_continuous_speed(reader, setting, &draft->blower);
    correct_blower(setting, draft);
}

/* The coolant's capacity rate, given or as flow times density times heat capacity. */
static void find_coolant_capacity(struct reader *reader, const config_setting_t *setting,
                                  struct cooler_draft *draft)
{
    static const char *const of_flow[] = {"coolant_density", "coolant_heat_capacity", NULL};
    if (!is_given(setting, "coolant_flow")) {
        if (!is_given(setting, "coolant_volume")) {
            reject_given(reader, setting, of_flow, "coolant_flow or coolant_volume");
        }
    } else if (is_given(setting, "coolant_capacity")) {
        reader_error(reader, setting, "coolant_flow",
                     "found together with coolant_capacity; accepted: one of the two");
    } else {
        draft->cooler.coolant_capacity =
            draft->coolant_flow * draft->coolant_density * draft->coolant_heat_capacity;
    }
}

static void check_reachable(struct reader *reader, const config_setting_t *setting,
                            const char *name, const struct shv_cooler *cooler, double effectiveness)
{
    double ratio = shv_cooler_rated_ratio(cooler);
    if ((int)cooler->arrangement < 0 || !isfinite(ratio) || !isfinite(effectiveness) ||
        isfinite(shv_cooler_ntu(cooler->arrangement, effectiveness, ratio))) {
        return;
    }
    reader_error(reader, setting, name,
                 "found %.10g, which this arrangement cannot reach with %.4g W/K of charge against "
                 "%.4g W/K of coolant; accepted: less, or more coolant",
                 effectiveness, cooler->rated_flow * SHV_COOLER_RATIO_CP, cooler->coolant_capacity);
}

static void check_radiator(struct reader *reader, const config_setting_t *setting,
                           const struct shv_cooler *cooler)
{
    static const char *const capacity[] = {"radiator_capacity", NULL};
    if (cooler->radiator_effectiveness > 0.0) {
        require_given(reader, setting, "radiator_capacity", "a radiator_effectiveness");
        if (is_given(setting, "radiator_capacity") &&
            cooler->radiator_capacity > cooler->coolant_capacity * (1.0 + 1e-9)) {
            reader_error(reader, setting, "radiator_capacity",
                         "found %.10g W/K; accepted: at the most that of the coolant, %.10g W/K",
                         cooler->radiator_capacity, cooler->coolant_capacity);
        }
    } else if (cooler->radiator_effectiveness == 0.0) {
        reject_given(reader, setting, capacity, "a radiator_effectiveness above 0");
    }
}

void check_cooler(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct cooler_draft *draft = base;
    struct shv_cooler *cooler = &draft->cooler;
    find_coolant_capacity(reader, setting, draft);
    if (is_given(setting, "coolant_temperature") && is_given(setting, "coolant_rise")) {
        reader_error(reader, setting, "coolant_rise",
                     "found together with coolant_temperature; accepted: one of the two");
    }
    if ((int)cooler->arrangement > SHV_COOLER_SINGLE_STREAM && isinf(cooler->coolant_capacity)) {
        reader_error(reader, setting, "coolant_capacity",
                     "found nothing; coolant_capacity or coolant_flow is required with this "
                     "arrangement");
    }
    for (size_t i = 0; i < cooler->effectiveness.count; i++) {
        check_reachable(reader, setting, "effectiveness", cooler, cooler->effectiveness.values[i]);
    }
    if (cooler->pressure_drop > 0.0) {
        check_reachable(reader, setting, "pressure_drop_effectiveness", cooler,
                        cooler->pressure_drop_effectiveness);
    }
    check_radiator(reader, setting, cooler);
    check_loop(reader, setting, draft);
}

/* ---- objective, results ---- */

void use_speed(struct reader *reader, const config_setting_t *setting, const char *name,
               struct shv_engine *engine, double *speed)
{
    size_t count = engine->speed_count, i = 0;
    if (count == 0 || !isfinite(*speed) || !is_given(setting, name)) {
        return;
    }
    if (*speed < engine->speeds[0] * (1.0 - 1e-9) ||
        *speed > engine->speeds[count - 1] * (1.0 + 1e-9)) {
        reader_error(reader, setting, name,
                     "found %.10g rpm; accepted: a speed of the rev range, %.10g to %.10g rpm",
                     60.0 * *speed, 60.0 * engine->speeds[0], 60.0 * engine->speeds[count - 1]);
        return;
    }
    while (i < count && engine->speeds[i] < *speed && !nearly_equal(engine->speeds[i], *speed)) {
        i++;
    }
    if (i < count && nearly_equal(engine->speeds[i], *speed)) {
        *speed = engine->speeds[i];
        return;
    }
    double *speeds = realloc(engine->speeds, (count + 1) * sizeof *speeds);
    if (speeds == NULL) {
        reader->out_of_memory = true;
        return;
    }
    memmove(speeds + i + 1, speeds + i, (count - i) * sizeof *speeds);
    speeds[i] = *speed;
    engine->speeds = speeds;
    engine->speed_count = count + 1;
}

void check_objective(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    struct shv_objective *objective = &draft->study.objective;
    struct shv_engine *engine = &draft->study.engine;
    if (objective->kind == SHV_OBJECTIVE_MEAN_POWER) {
        if (is_given(setting, "from") && is_given(setting, "to") &&
            objective->from >= objective->to * (1.0 - 1e-9)) {
            reader_error(reader, setting, "to",
                         "found %.10g rpm; accepted: more than from, %.10g rpm",
                         60.0 * objective->to, 60.0 * objective->from);
        }
        use_speed(reader, setting, "from", engine, &objective->from);
        use_speed(reader, setting, "to", engine, &objective->to);
    } else if (objective->kind == SHV_OBJECTIVE_TORQUE) {
        use_speed(reader, setting, "at", engine, &objective->at);
    }
}

char *default_folder(const char *path)
{
    static const char head[] = "results/";
    const char *slash = strrchr(path, '/');
    const char *name = slash == NULL ? path : slash + 1;
    const char *dot = strrchr(name, '.');
    size_t length = dot == NULL || dot == name ? strlen(name) : (size_t)(dot - name);
    char *folder = malloc(sizeof head + length);
    if (folder != NULL) {
        memcpy(folder, head, sizeof head - 1);
        memcpy(folder + sizeof head - 1, name, length);
        folder[sizeof head - 1 + length] = '\0';
    }
    return folder;
}

void check_results(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct shv_results *results = &((struct draft *)base)->study.results;
    if (!is_given(setting, "folder")) {
        results->folder = default_folder(reader->path);
        reader->out_of_memory |= results->folder == NULL;
    }
    if (!is_given(setting, "curves") && results->curves > results->keep) {
        results->curves = results->keep;
    }
    if (results->keep > 0 && results->curves > results->keep) {
        reader_error(reader, setting, "curves", "found %zu; accepted: not more than keep, %zu",
                     results->curves, results->keep);
    }
}

/* ---- the whole study ---- */

bool find_fuel(struct reader *reader, const config_setting_t *setting, const char *name,
               size_t *fuel)
{
    if (name == NULL || reader->chosen[ENTRIES_FUELS].count == 0) {
        return false;
    }
    size_t found = catalog_choose(reader, setting, "fuel", ENTRIES_FUELS, name,
                                  "the name of one of this study's fuels");
    *fuel = found == SIZE_MAX ? *fuel : found;
    return found != SIZE_MAX;
}

/* Whether something can make a combination with an answer infeasible. */
static bool has_limit(const struct reader *reader, const struct shv_study *study)
{
    const struct parts *blowers = &reader->chosen[ENTRIES_BLOWERS];
    if (study->engine.efficiency_kind == SHV_EFFICIENCY_CYCLE ||
        reader->chosen[ENTRIES_INJECTORS].count > 0 || reader->chosen[ENTRIES_PUMPS].count > 0) {
        return true;
    }
    if (study->drive.belt.given || study->bypass_part.has_actuator ||
        !isinf(study->base.manifold_pressure) || !isinf(study->base.manifold_temperature)) {
        return true;
    }
    for (size_t i = 0; i < SHV_LIMIT_COUNT; i++) {
        if (!isinf(study->limit[i])) {
            return true;
        }
    }
    for (size_t i = 0; i < blowers->count; i++) {
        const struct blower_draft *drafts = (const void *)blowers->drafts;
        const struct shv_blower *blower = &drafts[i].blower;
        if (!isinf(blower->max_speed) || !isinf(blower->max_pressure_ratio) ||
            !isinf(blower->max_pressure_rise) || !isinf(blower->max_discharge_temperature)) {
            return true;
        }
    }
    return false;
}

static void check_without_cycle(struct reader *reader, const config_setting_t *setting,
                                const struct draft *draft)
{
    static const char *const margin[] = {"ignition_margin", NULL};
    static const char only[] = "engine.efficiency.model = \"cycle\"";
    const struct shv_numbers *margins = &draft->study.numbers[SHV_DIM_IGNITION_MARGIN];
    if (margins->count > 1 || (margins->count == 1 && margins->values[0] > 0.0)) {
        reject_given(reader, reader_member(setting, "mixture"), margin, only);
    }
}

bool names_parts(const config_setting_t *setting, const char *name)
{
    const config_setting_t *list = reader_member(setting, name);
    return list != NULL && !(config_setting_is_aggregate(list) && config_setting_length(list) == 0);
}

static struct key lambda_key(void)
{
    return key_at(&mixture_keys, key_find(&mixture_keys, "lambda"));
}

enum shv_status shv_study_lambda(double afr, double stoichiometric, double *lambda,
                                 struct shv_message *message)
{
    const struct key range = lambda_key();
    *lambda = afr / stoichiometric;
    if (key_in_range(&range, *lambda)) {
        return SHV_OK;
    }
    return shv_fail(message, SHV_BAD_INPUT,
                    "found %.10g, lambda %.4g of a fuel with %.10g at lambda 1; accepted: %.4g to "
                    "%.4g",
                    afr, *lambda, stoichiometric, range.min * stoichiometric,
                    range.max * stoichiometric);
}

double lambda_of_afr(struct reader *reader, const config_setting_t *setting, double afr,
                     double stoichiometric)
{
    double lambda;
    struct shv_message why;
    if (shv_study_lambda(afr, stoichiometric, &lambda, &why) == SHV_OK) {
        return lambda;
    }
    if (isfinite(stoichiometric)) {
        reader_error(reader, setting, "afr", "%s", why.text);
    }
    return NAN;
}

/* An air-fuel ratio is one mixture only where all fuels have the same at lambda 1. */
static void take_afrs(struct reader *reader, const config_setting_t *mixture, struct draft *draft)
{
    static const char *const lambda[] = {"lambda", NULL};
    const struct parts *fuels = &reader->chosen[ENTRIES_FUELS];
    const struct fuel_draft *drafts = (const void *)fuels->drafts;
    if (draft->afrs.count == 0 || fuels->count == 0) {
        return;
    }
    reject_given(reader, mixture, lambda, "no afr");
    double stoichiometric = drafts[0].fuel.stoichiometric;
    for (size_t i = 1; i < fuels->count; i++) {
        if (fabs(drafts[i].fuel.stoichiometric - stoichiometric) > 1e-9 * stoichiometric) {
            reader_error(reader, mixture, "afr",
                         "found where %s has %.10g at lambda 1 and %s %.10g, so that it would be "
                         "another mixture in each; accepted: lambda",
                         fuels->part[0].name, stoichiometric, fuels->part[i].name,
                         drafts[i].fuel.stoichiometric);
            return;
        }
    }
    for (size_t i = 0; i < draft->afrs.count; i++) {
        draft->afrs.values[i] =
            lambda_of_afr(reader, mixture, draft->afrs.values[i], stoichiometric);
    }
    free(draft->study.numbers[SHV_DIM_LAMBDA].values);
    draft->study.numbers[SHV_DIM_LAMBDA] = draft->afrs;
    draft->afrs = (struct shv_numbers){0};
}

static void take_stock_afr(struct reader *reader, const config_setting_t *stock,
                           struct draft *draft)
{
    static const char *const lambda[] = {"lambda", NULL};
    const struct parts *fuels = &reader->chosen[ENTRIES_FUELS];
    const struct fuel_draft *drafts = (const void *)fuels->drafts;
    size_t fuel = draft->study.engine.stock_fuel;
    if (isfinite(draft->stock_afr) && fuel < fuels->count) {
        reject_given(reader, stock, lambda, "no afr");
        draft->study.engine.stock_lambda =
            lambda_of_afr(reader, stock, draft->stock_afr, drafts[fuel].fuel.stoichiometric);
    }
}

void check_study(struct reader *reader, const config_setting_t *setting, void *base)
{
    struct draft *draft = base;
    enum shv_efficiency_kind kind = draft->study.engine.efficiency_kind;
    if (!is_given(setting, "intake")) {
        draft->study.intake = draft->study.engine.intake;
    }
    (void)find_fuel(reader, reader_member(reader_member(setting, "engine"), "stock"),
                    draft->stock_fuel, &draft->study.engine.stock_fuel);
    take_stock_afr(reader, reader_member(reader_member(setting, "engine"), "stock"), draft);
    take_afrs(reader, reader_member(setting, "mixture"), draft);
    if (kind == SHV_EFFICIENCY_CYCLE) {
        check_fuels_of_cycle(reader, draft);
    } else if ((int)kind >= 0) {
        check_without_cycle(reader, setting, draft);
    }
    check_limits(reader, setting, &draft->study);
    check_cover(reader, reader_member(setting, "limits"), "phasing_retard",
                &draft->study.retard_curve, &draft->study.engine);
    check_full_throttle(reader, setting);
    check_aim(reader, setting, &draft->study);
    resolve_choices(reader, setting, draft);
    resolve_use(reader, draft);
    warn_of_blowers_alone(reader, draft);
    if (reader->errors == 0) {
        warn_of_worth(reader, setting, &draft->study);
    }
    if (reader->errors == 0 && !has_limit(reader, &draft->study)) {
        reader_warning(reader, setting, "limits",
                       "no limit is set, here or in a blower: every combination with an answer is "
                       "feasible");
    }
}
