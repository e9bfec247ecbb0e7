"""The files of sheave run: their rules as CSV, their contents, and that threads don't matter."""
import os
import re
import unittest

import support
from support import read_bytes, read_csv, read_manifest, records

# Units at the end of a column's name.
EITHER = ("_rpm", "_pct", "_deg", "_cm3_min")
METRIC = ("_mm", "_m_s", "_kPa_abs", "_kPa", "_bar_abs", "_bar", "_degC", "_K", "_kW", "_Nm", "_kg_h", "_L_h",
          "_g_kWh", "_N", "_h", "_kg", "_L_100km")
US = ("_in", "_ft_s", "_psia", "_psi", "_degF", "_degR", "_hp", "_lbfft", "_lb_min", "_lb_h", "_gal_h", "_lb_hph",
      "_lbf", "_h", "_lb", "_gal_100mi", "_inHg")
NO_UNIT = {"aki", "air_fuel_ratio", "ideal_air_fuel_ratio", "real_air_fuel_ratio",
           "rank", "index", "ratio", "effectiveness", "lambda", "highest_pressure_ratio", "bypass_open_points",
           "pressure_ratio", "pressure_ratio_margin", "blower_volumetric_efficiency", "blower_isentropic_efficiency",
           "clearance_left", "volumetric_efficiency", "indicated_efficiency", "combinations", "breaking",
           "ideal_ratio", "ideal_effectiveness", "ideal_lambda", "real_index", "real_ratio", "real_effectiveness",
           "real_lambda", "plain_difference", "evaluations", "searches", "elasticity_ratio",
           "elasticity_effectiveness", "elasticity_lambda", "elasticity_wrap", "bound", "step", "next_steps",
           "highest_knock_integral", "knock_integral",
           "cycle_efficiency", "ribs", "ideal_ribs", "real_ribs", "price", "price_room", "lowest_clearance_left", "uncooled_ratio",
           "clearance_left_room", "value", "count", "kit", "needed"}
TEXTS = {"alone", "role", "blower", "name", "active", "next_limit", "next_site", "cooler", "fuel", "site", "weakest_site", "binding_limit", "binding_site", "outcome",
         "bypass_open", "bleeding", "reason", "kind", "meaning", "found", "ideal_cooler", "real_found",
         "real_cooler", "injector", "pump", "highest_phasing_retard_site", "fuel_supply", "phasing_by", "belt_grip", "breaking_is", "ideal_injector",
         "limit", "title", "sense", "unit", "tightest_site", "part", "name", "size",
         "ideal_pump", "real_injector", "real_pump", "highest_belt_tension_site", "lowest_clearance_left_site"}
FRONT_COLUMNS = {"front", "points", "best", "against", "third", "fuel_weight", "alone_index", "holds_everywhere",
                 "broken_elsewhere", "broken_at"}
LIMITS = ["rotor_speed", "belt_speed", "piston_speed", "pressure_ratio", "pressure_rise", "boost",
          "discharge_temperature", "charge_temperature", "blower_power", "torque", "fuel_flow", "phasing_retard",
          "peak_pressure", "exhaust_temperature", "injector_duty", "pump_flow", "rotor_duty", "clearance_left",
          "manifold_pressure", "manifold_temperature", "coolant_temperature", "pulley_diameter", "belt_slip",
          "belt_tension", "hub_load", "bearing_life", "bypass_vacuum", "cruise_drag", "price", "mass", "power"]
FAILURES = ["outside_map", "out_of_range", "no_match", "no_cycle"]
CSV_FILES = [name for name in support.FILES if name.endswith(".csv")]
LARGE = {"map.csv", "islands.csv"}  # looked at by what is said of them, not by a committed copy


class Results:
    """The files of one run, and what it printed."""

    def __init__(self, study, *options):
        with support.workspace() as folder:
            done = support.run(["run", study, "--out", "there", *options], folder)
            self.code, self.text, self.talk = done.returncode, done.stdout.decode(), done.stderr.decode()
            there = os.path.join(folder, "there")
            self.names = sorted(os.listdir(there)) if os.path.isdir(there) else []
            self.data = {name: read_bytes(there, name) for name in self.names}

    def rows(self, name):
        return records(self.data[name])

    def manifest(self):
        return read_manifest(self.data["manifest.cfg"].decode())


class Rules:
    """What holds for the files of every study."""
    study, code, size, units = None, 0, 0, METRIC
    more = ()  # files besides those of every run

    @classmethod
    def setUpClass(cls):
        cls.results = Results(cls.study)
        cls.tables = {name: read_csv(data) for name, data in cls.results.data.items() if name.endswith(".csv")}

    def rows(self, name):
        return self.results.rows(name)

    def test_all_files_and_no_other(self):
        self.assertEqual(self.results.code, self.code)
        self.assertEqual(self.results.names, sorted((*support.FILES, *support.KEPT, *self.more)))

    def test_lines_end_with_crlf(self):
        for name in CSV_FILES:
            data = self.results.data[name]
            self.assertTrue(data.endswith(b"\r\n"), name)
            self.assertEqual(data.count(b"\n"), data.count(b"\r\n"), name)
            self.assertEqual(data.count(b"\r"), data.count(b"\r\n"), name)
            self.assertEqual(data.count(b"\n"), len(self.tables[name]), name)

    def test_every_row_has_all_fields(self):
        for name, table in self.tables.items():
            for i, row in enumerate(table):
                self.assertEqual(len(row), len(table[0]), f"{name}, row {i}")
            self.assertEqual(len(set(table[0])), len(table[0]), f"{name}: a column is there twice")

    def test_headers_tell_units(self):
        for name, table in self.tables.items():
            for column in table[0]:
                known = column in NO_UNIT | TEXTS or column.endswith(EITHER + self.units)
                self.assertTrue(known, f"{name}: {column}")

    def test_numbers_are_finite_numbers(self):
        for name in self.tables:
            for row in self.rows(name):
                for column, cell in row.items():
                    if column not in TEXTS and cell != "":
                        self.assertRegex(cell, rf"\A{support.NUMBER.pattern}\Z", f"{name}: {column}")

    def test_ranks_and_objective(self):
        rows = self.rows("ranked.csv")
        self.assertEqual([row["rank"] for row in rows], [str(i + 1) for i in range(len(rows))])
        self.assertEqual(len({row["index"] for row in rows}), len(rows))
        objective = [c for c in self.tables["ranked.csv"][0] if c.startswith("objective_")]
        self.assertEqual(len(objective), 1)
        order = [(-float(row[objective[0]]), int(row["index"])) for row in rows]
        self.assertEqual(order, sorted(order), "best first, then in the order of the space")

    def test_every_margin_is_kept(self):
        rows = self.rows("ranked.csv")
        for row in rows:
            rooms = {c: float(v) for c, v in row.items() if "_room" in c and v != ""}
            self.assertGreater(len(rooms), 0)
            self.assertGreaterEqual(min(rooms.values()), 0.0, row)
            self.assertIn(row["binding_limit"], LIMITS)
            self.assertTrue(any(c.startswith(row["binding_limit"] + "_room") for c in rooms),
                            "the binding limit has a margin")
            self.assertTrue(0.0 <= float(row["binding_share_pct"]) <= 100.0)

    def test_counts_add_up(self):
        *rows, total = self.rows("rejected.csv")
        self.assertEqual([row["reason"] for row in rows], ["feasible", *FAILURES, *LIMITS])
        self.assertEqual(total["reason"], "total")
        self.assertEqual(int(total["combinations"]), self.size)
        self.assertEqual(sum(int(row["combinations"]) for row in rows), self.size)
        self.assertAlmostEqual(sum(float(row["share_pct"]) for row in rows), 100.0, places=3)
        for row in rows:
            if row["kind"] == "limit":
                self.assertGreaterEqual(int(row["breaking"]), int(row["combinations"]), row["reason"])

    def test_manifest_agrees_with_tables(self):
        manifest = self.results.manifest()
        counts = {row["reason"]: row for row in self.rows("rejected.csv")}
        self.assertEqual(manifest["space"]["combinations"], self.size)
        self.assertEqual(manifest["counts"]["total"], self.size)
        self.assertEqual(manifest["counts"]["feasible"], int(counts["feasible"]["combinations"]))
        for name in LIMITS:
            self.assertEqual(manifest["counts"]["first_broken"][name], int(counts[name]["combinations"]))
            self.assertEqual(manifest["counts"]["broken"][name], int(counts[name]["breaking"]))
        for name in FAILURES:
            self.assertEqual(manifest["counts"]["failed"][name], int(counts[name]["combinations"]))
        self.assertEqual(manifest["rows"]["ranked"], len(self.rows("ranked.csv")))
        self.assertEqual(manifest["rows"]["optimum"], len(self.rows("optimum.csv")))
        self.assertEqual(manifest["rows"]["kits_in_curves"], len({r["rank"] for r in self.rows("curves.csv")}))

    def test_manifest_says_what_was_run(self):
        manifest = self.results.manifest()
        self.assertEqual(manifest["program"], "sheave")
        self.assertEqual(manifest["study"]["path"], self.study)
        self.assertRegex(manifest["study"]["sha256_all"], r"\A[0-9a-f]{64}\Z")
        self.assertRegex(manifest["study"]["sha256"], r"\A[0-9a-f]{64}\Z")
        self.assertEqual(manifest["run"]["options"], "--out there")
        self.assertRegex(manifest["run"]["started"], r"\A\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ\Z")
        self.assertGreaterEqual(manifest["run"]["threads"], 1)
        self.assertGreaterEqual(manifest["run"]["seconds_total"], manifest["run"]["seconds_sweep"])

    def test_curves_are_those_of_the_best(self):
        curves = self.rows("curves.csv")
        ranks = sorted({int(row["rank"]) for row in curves})
        self.assertEqual(ranks, list(range(1, len(ranks) + 1)))
        self.assertEqual([int(row["rank"]) for row in curves], sorted(int(row["rank"]) for row in curves))
        points = {(row["rank"], row["site"], row["engine_speed_rpm"]) for row in curves}
        self.assertEqual(len(points), len(curves), "every speed of a site once")
        for row in curves:
            self.assertEqual(row["outcome"], "ok")

    def test_limits_are_those_of_the_ranked_rows(self):
        ranked = {row["rank"]: row for row in self.rows("ranked.csv")}
        limits = self.rows("limits.csv")
        self.assertEqual({row["rank"] for row in limits}, {row["rank"] for row in self.rows("curves.csv")})
        for row in limits:
            self.assertIn(row["limit"], LIMITS)
            (margin,) = [v for c, v in ranked[row["rank"]].items() if c.startswith(row["limit"] + "_room")]
            sign = 1 if row["sense"] == "at_least" else -1
            left = sign * (float(row["value"]) - float(row["bound"])) if row["value"] else None
            if left is not None:
                self.assertAlmostEqual(left, float(margin), delta=2e-5 * max(1.0, abs(float(row["bound"]))))
            if ranked[row["rank"]]["binding_limit"] == row["limit"]:
                self.assertAlmostEqual(float(row["share_pct"]), float(ranked[row["rank"]]["binding_share_pct"]), 4)

    def test_parts_add_up(self):
        ranked = {row["rank"]: row for row in self.rows("ranked.csv")}
        for rank in {row["rank"] for row in self.rows("curves.csv")}:
            parts = [row for row in self.rows("parts.csv") if row["rank"] == rank]
            self.assertEqual([row["part"] for row in parts][:3], ["blower", "crank pulley", "blower pulley"])
            self.assertEqual(parts[0]["name"], ranked[rank]["blower"])
            self.assertEqual(parts[-1]["part"], "fuel")
            for column in ("price", "mass"):
                (name,) = [c for c in parts[0] if c.startswith(column)]
                total = sum(float(row[name] or 0) for row in parts)
                self.assertAlmostEqual(total, float(ranked[rank].get(name) or 0), delta=1e-5 * max(total, 1.0))

    def test_map_goes_through_the_best(self):
        ranked, grid = self.rows("ranked.csv"), self.rows("map.csv")
        if not ranked:
            self.assertEqual(grid, [])
            return
        reasons = {row["reason"] for row in grid}
        self.assertLessEqual(reasons, {"feasible", *FAILURES, *LIMITS})
        ratios = sorted({float(row["ratio"]) for row in grid})
        self.assertTrue(ratios[0] - 1e-6 <= float(ranked[0]["ratio"]) <= ratios[-1] + 1e-6)
        effectiveness = {row["effectiveness"] for row in grid}
        self.assertEqual(len(grid), len(ratios) * len(effectiveness), "every ratio with every core once")

    def test_islands_hold_the_operating_points(self):
        """Where the blower works, the grid says about what the curves say."""
        grid = [row for row in self.rows("islands.csv") if row["blower_volumetric_efficiency"]]
        curves = [row for row in self.rows("curves.csv") if row["rank"] == "1" and row["bypass_open"] == "no"]
        near = 0
        for point in curves:
            if point["site"] != curves[0]["site"]:
                continue
            def distance(row):
                return (abs(float(row["rotor_speed_rpm"]) / float(point["rotor_speed_rpm"]) - 1)
                        + abs(float(row["pressure_ratio"]) - float(point["pressure_ratio"])))
            closest = min(grid, key=distance, default=None)
            if closest and distance(closest) < 0.1:
                near += 1
                self.assertAlmostEqual(float(closest["blower_volumetric_efficiency"]),
                                       float(point["blower_volumetric_efficiency"]), delta=0.08)
        self.assertTrue(near or not curves)

    def test_study_is_kept(self):
        text = self.results.data["study.txt"].decode()
        self.assertTrue(text.startswith(f"#### {self.study}\n"))
        for name in re.findall(r"^#### (.*)$", text, re.MULTILINE):
            with open(os.path.join(support.STUDIES, name), encoding="utf-8") as file:
                self.assertIn(f"#### {name}\n{file.read()}", text)

    def test_optimum_is_not_below_the_real_parts(self):
        for row in self.rows("optimum.csv"):
            self.assertEqual(row["found"] == "yes", row["ideal_ratio"] != "")
            if row["real_found"] == "yes":
                self.assertGreaterEqual(float(row["loss_pct"]), -1e-6)
            if row["found"] == "yes":
                self.assertIn(row["binding_limit"], ["", *LIMITS])
                self.assertLess(float(row["plain_difference"]), 1e-9)
                self.assertGreater(int(row["evaluations"]), 0)

    def test_files_are_as_committed(self):
        folder = os.path.join(support.EXPECTED, self.study.removesuffix(".cfg"))
        for name in sorted(set(CSV_FILES) - LARGE):
            with self.subTest(file=name):
                support.check_columns(self, os.path.join(folder, name.replace(".csv", ".columns")),
                                      self.results.data[name])

    def test_threads_do_not_matter(self):
        one, two = Results(self.study, "--threads", "1"), Results(self.study, "--threads", "2")
        for name in CSV_FILES:
            self.assertEqual(one.data[name], self.results.data[name], name)
            self.assertEqual(two.data[name], self.results.data[name], name)
        self.assertEqual(one.text, two.text)
        for threads, results in ((1, one), (2, two)):
            self.assertEqual(results.manifest()["run"].pop("threads"), threads)
        groups = [{k: v for k, v in r.manifest().items() if k != "run"} for r in (one, two, self.results)]
        self.assertEqual(groups[0], groups[1])
        self.assertEqual(groups[0], groups[2])


class Metric(Rules, unittest.TestCase):
    study, size = "kit.cfg", 640

    def test_keeps_as_many_as_the_study_says(self):
        self.assertEqual(len(self.rows("ranked.csv")), 40)
        self.assertEqual(len(self.rows("curves.csv")), 3 * 2 * 5)


class Us(Rules, unittest.TestCase):
    study, size, units = "us.cfg", 384, US

    def test_keeps_every_feasible_row(self):
        feasible = self.results.manifest()["counts"]["feasible"]
        self.assertTrue(0 < feasible < self.size)
        self.assertEqual(len(self.rows("ranked.csv")), feasible)
        self.assertEqual(self.results.manifest()["study"]["units"], "US")


class Knock(Rules, unittest.TestCase):
    """The closed cycle, with tables, injectors and a pump."""
    study, size = "knock.cfg", 160

    def test_injectors_and_pump_cost_no_power(self):
        """Combinations that differ in them alone are counted, and the first that holds is ranked."""
        rows = self.rows("ranked.csv")
        kits = [tuple(row[c] for c in ("blower_pulley_mm", "effectiveness", "fuel", "ignition_margin_deg"))
                for row in rows]
        self.assertEqual(len(set(kits)), len(kits))

    def test_margin_costs_power_where_knock_rules(self):
        rows = self.rows("ranked.csv")
        power = {tuple(row[c] for c in ("blower_pulley_mm", "effectiveness", "fuel", "ignition_margin_deg")):
                 float(row["peak_power_kW"]) for row in rows}
        pairs = [(power[kit], power[(*kit[:3], "0")]) for kit in power if kit[3] == "2" and (*kit[:3], "0") in power]
        self.assertTrue(pairs)
        for held_back, free in pairs:
            self.assertLessEqual(held_back, free)
        self.assertTrue(any(held_back < free for held_back, free in pairs))

    def test_manifest_traces_the_tables(self):
        manifest = self.results.manifest()
        tables = manifest["cycle"]["tables"]
        self.assertEqual([t["fuel"] for t in tables], ["super", "race"])
        for table in tables:
            self.assertEqual((table["lambda"], table["site"]), (0.86, "harbour"))
            self.assertGreaterEqual(min(table[f"{d}_nodes"] for d in ("pressure", "temperature", "ca50")), 4)
            error = table["error_random"]
            self.assertTrue(0 < error["efficiency_pct"] <= 0.1)
            self.assertTrue(0 < error["ca50_deg"] <= 0.3)
            self.assertTrue(0 < error["peak_pressure_pct"] <= 0.5)
        self.assertTrue(0.85 < manifest["cycle"]["tie_least"] <= manifest["cycle"]["tie_most"] < 1.15)
        for source in manifest["run"]["tables"]:
            self.assertRegex(source["key"], r"\A[0-9a-f]{64}\Z")
            self.assertIn(source["from_file"], ("yes", "no"))


class Nothing(Rules, unittest.TestCase):
    study, size, code = "nothing.cfg", 80, 1
    more = ("nearest.csv",)

    def test_tables_are_empty_and_text_says_so(self):
        self.assertEqual(self.rows("ranked.csv"), [])
        self.assertEqual(self.rows("curves.csv"), [])
        self.assertIn("Nothing is feasible", self.results.text)
        self.assertEqual({row["found"] for row in self.rows("optimum.csv")}, {"no"})

    def test_what_would_have_to_give(self):
        """With the bound that is told, the kit that is told holds, and with a little less it does not."""
        row, = self.rows("nearest.csv")
        self.assertEqual((row["limit"], row["alone"], row["unit"]), ("torque", "yes", "N m"))
        self.assertIn(f"Next: sheave point nothing.cfg --combination {row['index']} --explain", self.results.text)
        for off, code in ((1e-3, 0), (-1e-3, 1)):
            with support.workspace() as folder:
                path = os.path.join(folder, self.study)
                with open(path, encoding="utf-8") as file:
                    text = file.read()
                with open(path, "w", encoding="utf-8") as file:
                    file.write(text.replace("120 N m", f"{float(row['needed']) + off} N m"))
                done = support.run(["point", self.study, "--combination", row["index"]], folder)
                self.assertEqual(done.returncode, code, done.stdout)


class Single(Rules, unittest.TestCase):
    study, size = "single.cfg", 1

    def test_no_search(self):
        self.assertEqual(self.rows("optimum.csv"), [])


class Fronts(unittest.TestCase):
    """tradeoffs.csv and serving.csv worked out once more from ranked.csv, which holds all that is feasible."""

    @classmethod
    def setUpClass(cls):
        cls.results = Results("fronts.cfg")
        cls.ranked = cls.results.rows("ranked.csv")
        assert cls.results.code == 0, cls.results.talk
        assert len(cls.ranked) == cls.results.manifest()["counts"]["feasible"]

    def test_columns_are_known(self):
        for name in ("tradeoffs.csv", "serving.csv", "sites.csv"):
            header = self.results.data[name].decode().split("\r\n")[0].split(",")
            self.assertEqual(len(header), len(set(header)))
            for column in header:
                known = column in NO_UNIT | TEXTS | FRONT_COLUMNS or column.endswith(METRIC + EITHER)
                self.assertTrue(known, column)

    def test_front_of_two(self):
        things = [(float(r["objective_power_kW"]), -float(r["highest_charge_temperature_degC"])) for r in self.ranked]
        front = {r["index"] for r, a in zip(self.ranked, things)
                 if not any(b[0] >= a[0] and b[1] >= a[1] and b != a for b in things)}
        rows = [r for r in self.results.rows("tradeoffs.csv") if r["front"] == "1"]
        self.assertTrue(5 < len(front) < len(self.ranked))
        self.assertEqual({r["index"] for r in rows}, front)
        self.assertEqual([int(r["rank"]) for r in rows], list(range(1, len(rows) + 1)))
        self.assertEqual({(r["best"], r["against"], r["third"]) for r in rows},
                         {("objective", "charge_temperature", "")})
        found = self.results.manifest()["tradeoffs"][0]
        self.assertEqual(found["points"], len(front))
        self.assertTrue(0 < found["hypervolume_share"] < 1)
        points = sorted((float(r["objective_power_kW"]), -float(r["highest_charge_temperature_degC"])) for r in rows)
        low = min(p[1] for p in points)
        area, before = 0.0, points[0][0]
        for power, cool in points:
            area += (power - before) * (cool - low)
            before = power
        self.assertAlmostEqual(found["hypervolume"] / (1e3 * area), 1.0, places=4)

    def test_front_of_three_holds_what_it_says(self):
        rows = [r for r in self.results.rows("tradeoffs.csv") if r["front"] == "2"]
        things = [(float(r["traded_power_kW"]), -float(r["traded_charge_temperature_degC"]),
                   float(r["traded_torque_Nm"])) for r in rows]
        self.assertGreater(len(rows), 5)
        self.assertEqual({r["traded_torque_speed_rpm"] for r in rows}, {"3000"})
        for a in things:
            self.assertFalse(any(all(x >= y for x, y in zip(b, a)) and b != a for b in things))

    def test_kits_for_both_fuels(self):
        hardware = ("blower", "crank_pulley_mm", "blower_pulley_mm", "cooler", "effectiveness")
        best = {}
        for row in self.ranked:  # best first
            best.setdefault(tuple(row[c] for c in hardware), {}).setdefault(row["fuel"], row)
        means = sorted(((float(f["plain"]["objective_power_kW"]) + 2 * float(f["good"]["objective_power_kW"])) / 3
                        for f in best.values() if len(f) == 2), reverse=True)
        rows = self.results.rows("serving.csv")
        self.assertGreater(len(means), 10)
        self.assertEqual(len(rows), 2 * len(means))
        for row, mean in zip(rows[::2], means):
            self.assertAlmostEqual(float(row["mean_power_kW"]), mean, places=5)
        for row in rows:
            kit = best[tuple(row[c] for c in hardware)][row["fuel"]]
            self.assertEqual((row["index"], row["lambda"]), (kit["index"], kit["lambda"]))
            alone = next(r for r in self.ranked if r["fuel"] == row["fuel"])
            self.assertEqual(row["alone_index"], alone["index"])
            loss = 100 * (1 - float(row["objective_power_kW"]) / float(alone["objective_power_kW"]))
            self.assertAlmostEqual(float(row["shortfall_pct"]), loss, places=3)

    def test_sites_by_themselves(self):
        rows = self.results.rows("sites.csv")
        self.assertEqual([row["site"] for row in rows], ["harbour", "pass"])
        common = (2 * float(rows[0]["common_power_kW"]) + float(rows[1]["common_power_kW"])) / 3
        self.assertAlmostEqual(common, float(self.ranked[0]["objective_power_kW"]), places=5)
        for row in rows:
            self.assertLessEqual(float(row["common_power_kW"]), float(row["alone_power_kW"]))
            holds = row["index"] in {r["index"] for r in self.ranked}
            self.assertEqual(row["holds_everywhere"], "yes" if holds else "no")
            self.assertEqual(row["broken_elsewhere"] == "", holds)

    def test_threads_do_not_matter(self):
        for threads in "1", "2":
            other = Results("fronts.cfg", "--threads", threads)
            for name in "tradeoffs.csv", "serving.csv", "sites.csv":
                self.assertEqual(other.data[name], self.results.data[name], name)

    def test_files_of_an_earlier_study_go(self):
        with support.workspace() as folder:
            for study in "fronts.cfg", "single.cfg":
                self.assertEqual(support.run(["run", study, "--out", "there"], folder).returncode, 0)
            self.assertEqual(sorted(os.listdir(os.path.join(folder, "there"))), sorted(support.FILES + support.KEPT))


class Again(unittest.TestCase):
    def test_old_files_are_replaced(self):
        with support.workspace() as folder:
            for study in ("kit.cfg", "single.cfg"):
                self.assertEqual(support.run(["run", study, "--out", "there"], folder).returncode, 0)
            self.assertEqual(sorted(os.listdir(os.path.join(folder, "there"))), sorted(support.FILES + support.KEPT))
            found = read_bytes(folder, "there", "ranked.csv")
        self.assertEqual(found, Results("single.cfg").data["ranked.csv"])
