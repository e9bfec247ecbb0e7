/* docs/config.md, written from the table of keys (include/sheave/study.h). */
#include "sheave/study.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "study/keys.h"
#include "study/unit_names.h"

static const char introduction[] =
    "# The study file\n"
    "\n"
    "<!-- Written by the program from its table of keys; change src/study/keys.c, not this file. "
    "-->\n"
    "\n"
    "A study file says everything there is to say about one study: the engine, the places it has "
    "to\n"
    "work at, the parts to choose from, the limits, and what is looked for. It is read\n"
    "once and checked completely before anything runs. All mistakes in it are told in one go, each "
    "with\n"
    "file, line, key, what was found and what is accepted. Nothing is guessed and nothing is put "
    "right\n"
    "silently: an unknown key, a value out of range or a key that has no meaning where it stands "
    "is an\n"
    "error.\n"
    "\n"
    "`sheave new FILE` writes a study to begin with; [start.md](start.md) leads from there to a "
    "first answer.\n"
    "\n";

static const char language[] =
    "## The language\n"
    "\n"
    "The syntax is that of libconfig: `key = value;`, groups in `{ }`, lists in `( )`, arrays of "
    "values\n"
    "of one type in `[ ]`, texts in `\" \"`, comments from `#` or `//` to the end of the line or "
    "between\n"
    "`/*` and `*/`. Words and names are told apart by upper and lower case. A whole number beyond\n"
    "2147483647 needs an `L` behind it.\n"
    "\n"
    "**@include.** `@include \"parts.cfg\"` at the start of a line puts another file in its place. "
    "The path\n"
    "is relative to the folder of the study file, also inside an included file. Includes may be "
    "nested up\n"
    "to 10 deep. A study holds at most 4 MiB of text with all that it includes, 5,000 settings, "
    "200,000 values\n"
    "in lists and 10,000 bytes in one text, and 20 MiB with the maps that it names.\n"
    "\n"
    "**Other paths.** The CSV file of a blower map is looked for relative to the file that names "
    "it, so a\n"
    "catalogue can be moved with its maps. Results go to a folder relative to where the program is "
    "started.\n"
    "\n"
    "**Messages.** In messages the entries of lists are counted from 1: `sites[2].altitude` "
    "belongs to the\n"
    "second site.\n"
    "\n";

static const char quantities[] =
    "## Quantities\n"
    "\n"
    "A quantity is a text with a number and a unit, such as `\"86 mm\"`, `\"2.75 in\"` or `\"95 "
    "degF\"`. Units\n"
    "are those of UDUNITS-2: products as `N m` or `N.m`, quotients with `/`, powers as `m2` or "
    "`m^2`,\n"
    "prefixes as in `kPa`; besides them those of shops, brochures and loggers in [the "
    "list](#units), the "
    "same in\n"
    "studies, maps and logs.\n"
    "\n"
    "**A quantity without its unit** is an error: nobody knows whether `8` is psi, bar or kPa. "
    "Plain\n"
    "numbers are for counts, ratios, shares, lambda, octane and money.\n"
    "\n"
    "**A volume per turn** of the rotors may be written as brochures print it, `\"2.1 L/rev\"` "
    "(`/r`,\n"
    "`/turn`, `/revolution`), or without: it is the same. Any other turn or angle that does not "
    "belong to\n"
    "a quantity is an error.\n"
    "\n"
    "**Speeds of rotation** need a unit of rotation (`rpm`, `rev/s`, `rad/s`); `Hz` is none.\n"
    "\n"
    "**Gauge and absolute pressures** are different kinds and never taken for each other. The "
    "tables say\n"
    "which is meant: *absolute*, *gauge* (above site ambient), or a *difference* between two "
    "places. A\n"
    "pressure may say itself what it is, by a word behind its unit (`\"14 psi gauge\"`, `\"1.9 "
    "bar\n"
    "absolute\"`, `abs`) or by `psig`, `psia`, `barg`, `bara`; if that contradicts the key it is "
    "an error. A\n"
    "difference takes neither word.\n"
    "\n"
    "**Temperatures** may be in `degC`, `degF`, `K` or `degR`. A temperature *difference* is in "
    "`K` or\n"
    "`degR`: `\"5 degC\"` is a point on a scale and refused where a difference is meant.\n"
    "\n"
    "**Numbers** without a dimension are plain, `0.8`, or in percent, `\"80 %\"`.\n"
    "\n"
    "**Choices.** A key of the kind *choices* takes one value, a list of values, or evenly spaced "
    "values as\n"
    "`{ from = ...; to = ...; step = ...; }`. Every value becomes a choice of the search. Order "
    "does not\n"
    "matter, but each value may be there only once; at the most 1000000.\n"
    "\n"
    "**Curves.** A key of the kind *curve* takes a list of pairs `((speed, value), ...)`, such as "
    "`((\"1500\n"
    "rpm\", 0.82), (\"3000 rpm\", 0.90))`, with speeds that rise strictly. Between the points it "
    "is\n"
    "interpolated without overshoot; one pair is a constant; two or more must cover the rev range. "
    "The curve\n"
    "of a pump has pressures in the place of speeds, `((\"300 kPa\", \"120 l/hour\"), ...)`, and\n"
    "need not cover anything. At the most 1000 pairs.\n"
    "\n"
    "**Air by volume.** Where a flow of air is meant, a volume flow is taken with the state that "
    "it is "
    "meant at:\n"
    "`\"350 cfm at 14.7 psi, 77 degF\"`; the air is dry. In a log a volume flow without a state is "
    "that "
    "of the\n"
    "air at the inlet, row by row.\n"
    "\n"
    "**Angles** are in `deg` or `rad`; those of the crank count from firing top dead centre,\n"
    "before it negative.\n"
    "\n"
    "**Parts and the catalogue.** An entry of `blowers`, `coolers`, `fuels`, `injectors` and\n"
    "`pumps` is a group, or the name of a part in the group `catalogue`. Names must be unique in\n"
    "their list.\n"
    "\n";

static const char example[] =
    "## A complete example\n"
    "\n"
    "    title = \"Two litre on a trailer\";\n"
    "    engine = {\n"
    "      name = \"2.0 four\";  cylinders = 4;  bore = \"89.3 mm\";  stroke = \"79.8 mm\";\n"
    "      compression_ratio = 9.2;\n"
    "      speed = { from = \"1500 rpm\"; to = \"6500 rpm\"; step = \"500 rpm\"; };\n"
    "      volumetric_efficiency = ((\"1500 rpm\", 0.80), (\"4000 rpm\", 0.92), (\"6500 rpm\", "
    "0.84));\n"
    "      stock_torque = ((\"1500 rpm\", \"150 N m\"), (\"4000 rpm\", \"185 N m\"),\n"
    "                      (\"6500 rpm\", \"155 N m\"));\n"
    "    };\n"
    "    sites = (\n"
    "      { name = \"coast\"; altitude = \"0 m\"; temperature = \"30 degC\"; humidity = \"60 %\"; "
    "},\n"
    "      { name = \"pass\";  altitude = \"2300 m\"; }\n"
    "    );\n"
    "    drive = {\n"
    "      crank_pulleys = \"180 mm\";\n"
    "      blower_pulleys = { from = \"60 mm\"; to = \"100 mm\"; step = \"2.5 mm\"; };\n"
    "    };\n"
    "    blowers = (\n"
    "      { name = \"roots\"; kind = \"geometry\"; displacement = \"1.3 l\";\n"
    "        leakage_area = \"25 mm2\"; max_speed = \"14000 rpm\"; }\n"
    "    );\n"
    "    coolers = (\n"
    "      \"none\",\n"
    "      { name = \"front\"; effectiveness = [0.6, 0.7, 0.8]; rated_flow = \"0.2 kg/s\";\n"
    "        pressure_drop = \"6 kPa\"; coolant_rise = \"5 K\"; }\n"
    "    );\n"
    "    fuels = (\n"
    "      { name = \"petrol\"; stoichiometric = 14.6; heating_value = \"43.5 MJ/kg\";\n"
    "        density = \"745 kg/m3\"; ron = 95; mon = 85; },\n"
    "      { name = \"half and half\";\n"
    "        blend = ( { component = \"petrol\"; share = \"50 %\"; },\n"
    "                  { component = \"ethanol\"; share = \"50 %\"; } ); }\n"
    "    );\n"
    "    injectors = ( { name = \"port\"; flow = [\"350 cm3/min\", \"500 cm3/min\"]; } );\n"
    "    pumps = (\n"
    "      { name = \"in tank\";\n"
    "        flow = ((\"300 kPa\", \"150 l/hour\"), (\"500 kPa\", \"100 l/hour\")); }\n"
    "    );\n"
    "    limits = { boost = \"0.7 bar gauge\"; peak_pressure = \"90 bar absolute\"; };\n"
    "\n";

static const char map_format[] =
    "## The file of a blower map\n"
    "\n"
    "A delimited text as spreadsheets and loggers save it, read like a log ([fit.md](fit.md)): "
    "cells "
    "end at\n"
    "commas, semicolons or tabs, may be in double quotes and may have decimal commas; lines that "
    "begin with\n"
    "`#` are comments. The header names the columns, whatever the case, with blanks or "
    "underscores, "
    "and their\n"
    "units, in brackets, behind the name or in a row of units: `rotor_speed_rpm`, `Shaft power "
    "[hp]`.\n"
    "\n"
    "| column | meaning |\n"
    "|---|---|\n"
    "| `rotor_speed`, `speed`, `rpm` | rotor speed at the reference temperature; rows of one speed "
    "form a line |\n"
    "| `pressure_ratio`, `pr` | total pressure at the outlet over that at the inlet |\n"
    "| `volumetric_efficiency`, `ve` | volume delivered, at the inlet's state, over volume swept "
    "|\n"
    "| `isentropic_efficiency`, `adiabatic_efficiency` | isentropic over actual enthalpy rise |\n"
    "| `shaft_power`, `power` | instead of isentropic_efficiency: power at the rotor shaft at the "
    "reference conditions |\n"
    "\n"
    "The last two are one or the other. Displacement and reference conditions of the blower's "
    "entry turn\n"
    "shaft power into isentropic efficiency. A map is interpolated and never extrapolated: an "
    "operating\n"
    "point beyond its points counts as `outside_map`. A volumetric efficiency that rises with "
    "pressure, and\n"
    "speeds that look like thousands of rpm, are warned of.\n";

/* The list of units: what a kind is usually written in, and the names that only it has. */
static void write_units(FILE *out)
{
    const char *name;
    fputs("## <a id=\"units\"></a>Units\n\nBesides all that UDUNITS-2 knows; upper and lower case "
          "do not "
          "count in the names of the last column,\nand blanks, points and dashes join words "
          "alike.\n\n"
          "| kind | for instance in | names of it alone |\n|---|---|---|\n",
          out);
    for (int i = 0; i < SHV_Q_COUNT; i++) {
        enum shv_quantity quantity = (enum shv_quantity)i;
        if (shv_quantity_likely(quantity, 0) == NULL) {
            continue;
        }
        fprintf(out, "| %s |", shv_quantity_noun(quantity));
        for (size_t k = 0; (name = shv_quantity_likely(quantity, k)) != NULL; k++) {
            fprintf(out, "%s `%s`", k == 0 ? "" : ",", name);
        }
        fputs(" |", out);
        for (size_t k = 0; (name = unit_names_at(quantity, k)) != NULL; k++) {
            /* The byte of an older encoding is no text here. */
            if ((unsigned char)name[0] != 0xb0) {
                fprintf(out, "%s `%s`", k == 0 ? "" : ",", name);
            }
        }
        fputs(" |\n", out);
    }
    fputs("\nWords of any unit:", out);
    for (size_t k = 0; (name = unit_names_at(SHV_Q_COUNT, k)) != NULL; k++) {
        fprintf(out, "%s`%s`", k == 0 ? " " : k % 12 == 0 ? ",\n" : ", ", name);
    }
    fputs(".\n\n", out);
}

/* Kind and unit, for a table. */
static void describe_kind(const struct key *key, char *text, size_t size)
{
    const char *unit = shv_quantity_unit(key->quantity);
    const char *pressure = key->quantity == SHV_Q_PRESSURE_ABSOLUTE        ? " absolute"
                           : key->quantity == SHV_Q_PRESSURE_GAUGE         ? " gauge"
                           : key->quantity == SHV_Q_PRESSURE_DIFFERENCE    ? " difference"
                           : key->quantity == SHV_Q_TEMPERATURE_DIFFERENCE ? " difference"
                                                                           : "";
    const char *of = unit[0] == '\0' ? "number" : unit;
    switch (key->type) {
    case KEY_QUANTITY:
        snprintf(text, size, "%s%s%s%s", unit[0] == '\0' ? "" : "quantity, ", of, pressure,
                 key->or_curve != 0 ? ", or a curve of it over rpm" : "");
        return;
    case KEY_DIMENSION:
        snprintf(text, size, "choices, %s%s", of, pressure);
        return;
    case KEY_SALES:
        snprintf(text, size, "number, [spread](#spread), or list by scenario");
        return;
    case KEY_PAIRS:
        snprintf(text, size, "curve, %s over %s", of,
                 key->along == SHV_Q_ROTATION ? "rpm" : "Pa difference");
        return;
    case KEY_ERROR:
        snprintf(text, size, "quantity, that of the channel");
        return;
    case KEY_INTEGER:
        snprintf(text, size, "whole number");
        return;
    case KEY_BOOL:
        snprintf(text, size, "true or false");
        return;
    case KEY_TEXT:
        snprintf(text, size, "text");
        return;
    case KEY_WORD:
        snprintf(text, size, "word");
        return;
    case KEY_GROUP:
        snprintf(text, size, "group, see [%s](#%s)", key->group->title, key->group->title);
        return;
    case KEY_LIST:
    case KEY_ENTRIES:
        snprintf(text, size, "list, see [%s](#%s)", key->group->title, key->group->title);
        return;
    }
}

static void describe_range(const struct key *key, char *text, size_t size)
{
    if (key->type == KEY_WORD) {
        key_accepts(key, text, size);
    } else {
        key_range(key, text, size);
    }
}

static void write_row(FILE *out, const struct key *key)
{
    char kind[256], range[1024];
    const char *fallback = key->fallback;
    const char *other = key->required         ? "required"
                        : key->absent != NULL ? key->absent
                                              : "the defaults of its keys";
    describe_kind(key, kind, sizeof kind);
    describe_range(key, range, sizeof range);
    fprintf(out, "| `%s` | %s | %s | %s%s%s | %s%s%s%s%s |\n", key->name, kind, range,
            fallback == NULL ? "" : "`", fallback == NULL ? other : fallback,
            fallback == NULL ? "" : "`", key->meaning, key->note == NULL ? "" : key->note,
            key->only == NULL ? "" : " Only with ", key->only == NULL ? "" : key->only,
            key->only == NULL ? "" : ".");
}

/* Anchors are made of titles the way renderers of Markdown do: points are left out there, so the
 * anchor is written out. */
static void write_group(FILE *out, const struct key_group *group)
{
    fprintf(out, "## <a id=\"%s\"></a>%s\n\n%s\n\n", group->title, group->title, group->intro);
    fprintf(out, "| key | kind and unit | range | default | meaning |\n|---|---|---|---|---|\n");
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        write_row(out, &key);
    }
    fprintf(out, "\n");
}

#define GROUPS_MAX 200

/* Groups that are described already: several keys may have the same. */
struct described {
    const struct key_group *group[GROUPS_MAX];
    size_t count;
};

static bool is_described(struct described *d, const struct key_group *group)
{
    for (size_t i = 0; i < d->count; i++) {
        if (d->group[i] == group) {
            return true;
        }
    }
    assert(d->count < GROUPS_MAX);
    d->group[d->count++] = group;
    return false;
}

/* A group, then those in it; the parts of the catalogue have the tables of the study's own lists.
 */
static void write_tree(FILE *out, struct described *d, const struct key_group *group,
                       bool with_lists)
{
    write_group(out, group);
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        bool is_part = key.type == KEY_ENTRIES;
        if ((key.type == KEY_GROUP || key.type == KEY_LIST || (is_part && with_lists)) &&
            !is_described(d, key.group)) {
            write_tree(out, d, key.group, is_part);
        }
    }
}

static const char range_introduction[] =
    "\n"
    "# The range file\n"
    "\n"
    "A range file is for `sheave plan` ([range.md](range.md)): which vehicles a shop sells kits "
    "for, where\n"
    "its customers live, and what it wants to keep in stock. It is written and checked like a "
    "study "
    "file, in\n"
    "the same language with the same quantities; each vehicle names a study file of its own. "
    "`sites`, `fuels`\n"
    "and `catalogue` are those of study files.\n"
    "\n"
    "    title = \"Two vehicles in two markets\";\n"
    "    currency = \"EUR\";\n"
    "    @include \"parts.cfg\"\n"
    "    fuels = ( \"regular\", \"premium\" );\n"
    "    vehicles = (\n"
    "      { name = \"hill-climb car\"; study = \"hillclimb.cfg\"; },\n"
    "      { name = \"trail boat\"; study = \"boat.cfg\"; power = \"peak\"; }\n"
    "    );\n"
    "    markets = (\n"
    "      { name = \"coast\"; fuel = \"premium\"; sales = 40;\n"
    "        sites = ( { name = \"road\"; altitude = \"20 m\"; } ); },\n"
    "      { name = \"plateau\"; fuel = \"regular\"; sales = 15;\n"
    "        sites = ( { name = \"road\"; altitude = \"1700 m\"; } ); }\n"
    "    );\n"
    "    tiers = ( { name = \"simple\"; share = 0.5; cooler = \"without\"; },\n"
    "              { name = \"full\"; share = 0.5; least_share = 0.9; } );\n"
    "    shelf = { crank_pulleys = [ \"132 mm\", \"144 mm\" ]; cores = 3; };\n"
    "    stock = { blowers = { most = 2; }; choose = \"knee\"; };\n"
    "\n";

/* What it shares with study files, and what several keys share, stands there once. */
static void write_range_tree(FILE *out, const struct key_group *group)
{
    const struct key_group *last = NULL;
    write_group(out, group);
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        bool is_own = key.group != &catalogue_keys && key.group != &site_keys;
        if ((key.type == KEY_GROUP || key.type == KEY_LIST) && is_own && key.group != last) {
            write_range_tree(out, key.group);
            last = key.group;
        }
    }
}

/* ---- the keys that matter ---- */

static const char *const first_keys[] = {
    "engine.cylinders",
    "engine.displacement",
    "engine.compression_ratio",
    "engine.speed",
    "engine.stock_torque",
    "engine.volumetric_efficiency",
    "sites.altitude",
    "sites.temperature",
    "fuels.ron",
    "mixture.lambda",
    "blowers.displacement",
    "blowers.leakage_area",
    "blowers.max_speed",
    "blowers.max_pressure_rise",
    "drive.crank_pulleys",
    "drive.blower_pulleys",
    "coolers.effectiveness",
    "limits.boost",
    "limits.phasing_retard",
    "objective.kind",
};

/* A key two tables deep, as "engine.speed"; false when there is none. */
static bool find_first(const char *path, struct key *key, const struct key_group **group)
{
    char above[64];
    size_t length = strcspn(path, ".");
    snprintf(above, sizeof above, "%.*s", (int)length, path);
    size_t at = key_find(&study_keys, above);
    *group = at < study_keys.count ? key_at(&study_keys, at).group : NULL;
    at = *group == NULL ? 0 : key_find(*group, path + length + 1);
    if (*group == NULL || at == (*group)->count) {
        return false;
    }
    *key = key_at(*group, at);
    return true;
}

static void write_first_keys(FILE *out)
{
    fputs("## The twenty keys that matter\n\nWhat moves the answer most. The rest has defaults "
          "that do for a first study.\n\n| key | kind and unit | meaning |\n|---|---|---|\n",
          out);
    for (size_t i = 0; i < sizeof first_keys / sizeof *first_keys; i++) {
        struct key key;
        const struct key_group *group;
        char kind[256];
        if (find_first(first_keys[i], &key, &group)) {
            describe_kind(&key, kind, sizeof kind);
            fprintf(out, "| [`%s`](#%s) | %s | %s |\n", first_keys[i], group->title, kind,
                    key.meaning);
        }
    }
    fputs("\n", out);
}

enum shv_status shv_study_write_reference(FILE *out)
{
    fputs(introduction, out);
    write_first_keys(out);
    fputs(language, out);
    fputs(quantities, out);
    write_units(out);
    fputs(example, out);
    struct described described = {.count = 0};
    write_tree(out, &described, &study_keys, true);
    write_group(out, &range_keys);
    fputs(map_format, out);
    fputs(range_introduction, out);
    write_range_tree(out, &plan_keys);
    write_group(out, &spread_keys);
    return fflush(out) != 0 || ferror(out) ? SHV_IO : SHV_OK;
}
