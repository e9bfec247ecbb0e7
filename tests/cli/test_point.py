"""sheave point shows the numbers that sheave run wrote."""
import os
import re
import unittest

import support
from support import read_bytes, read_csv, records


class Point(unittest.TestCase):
    STUDIES = ("kit", "us", "knock")

    @classmethod
    def setUpClass(cls):
        cls.workspace = support.workspace()
        cls.folder = cls.workspace.name
        cls.ranked, cls.curves = {}, {}
        for study in cls.STUDIES:
            done = support.run(["run", f"{study}.cfg", "--out", study], cls.folder)
            if done.returncode != 0:
                raise RuntimeError(done.stderr.decode())
            cls.ranked[study] = records(read_bytes(cls.folder, study, "ranked.csv"))
            cls.curves[study] = read_csv(read_bytes(cls.folder, study, "curves.csv"))

    @classmethod
    def tearDownClass(cls):
        cls.workspace.cleanup()

    def point(self, study, *options):
        return support.run(["point", f"{study}.cfg", *options], self.folder)

    def test_csv_has_the_cells_of_curves(self):
        for study in self.STUDIES:
            header, *rows = self.curves[study]
            for rank in sorted({row[0] for row in rows}, key=int):
                done = self.point(study, "--csv", "--combination", self.ranked[study][int(rank) - 1]["index"])
                self.assertEqual(done.returncode, 0)
                self.assertEqual(read_csv(done.stdout), [header[1:], *(r[1:] for r in rows if r[0] == rank)])

    def test_highest_values_are_those_of_ranked(self):
        pairs = {"highest_boost": "boost", "highest_rotor_speed": "rotor_speed",
                 "highest_pressure_ratio": "pressure_ratio", "highest_blower_power": "blower_power",
                 "highest_discharge_temperature": "discharge_temperature",
                 "highest_charge_temperature": "charge_temperature", "highest_fuel_flow": "fuel_flow",
                 "highest_fuel_volume": "fuel_volume", "highest_knock_integral": "knock_integral",
                 "highest_peak_pressure": "peak_pressure", "highest_exhaust_temperature": "exhaust_temperature",
                 "highest_injector_duty": "injector_duty", "highest_pump_flow": "pump_flow"}
        for study in self.STUDIES:
            for row in self.ranked[study][::15]:
                points = records(self.point(study, "--csv", "--combination", row["index"]).stdout)
                for column, cell in row.items():
                    stem = next((s for s in pairs if re.match(rf"{s}(_|\Z)", column)), None)
                    if stem and cell != "":
                        name = column.replace(stem, pairs[stem], 1)
                        highest = max(float(p[name]) for p in points)
                        self.assertAlmostEqual(highest / float(cell), 1.0, delta=1e-5, msg=column)

    def test_a_kit_of_the_results(self):
        """By its rank; it is what its combination is, on one screen."""
        for rank in (1, 3):
            done = self.point("kit", "--results", "kit", "--kit", str(rank))
            same = self.point("kit", "--combination", self.ranked["kit"][rank - 1]["index"])
            self.assertEqual((done.returncode, done.stdout), (0, same.stdout))
            self.assertLessEqual(done.stdout.count(b"\n"), 25)
        last = len(self.ranked["kit"])
        done = self.point("kit", "--results", "kit", "--kit", str(last + 1))
        self.assertEqual(done.returncode, 2)
        self.assertIn(f"a whole number from 1 to {last} is needed".encode(), done.stderr)

    def test_the_ideal_gives_what_is_wanted(self):
        """A kit of that size has it; so it is with a limit from below, and in US units."""
        for study, want, column, value, bound in (("kit", "boost=8 psi", "boost_kPa", 55.158, max),
                                                  ("us", "torque=170 lbf.ft", "torque_lbfft", 170.0, max),
                                                  ("knock", "power=120 kW", "power_kW", 120.0, max),
                                                  ("knock", "clearance_left=0.9", "clearance_left", 0.9, min)):
            done = self.point(study, "--kit", "1", "--results", study, "--want", want)
            ideal = re.search(rb"Ideal blower pulley ([0-9.]+) (mm|in):", done.stdout)
            best = self.ranked[study][0]
            unit = ideal[2].decode()
            names = [n for n in ("blower", "cooler", "fuel", "lambda", "injector", "pump", "ribs", "ignition_margin_deg") if best.get(n)]
            picks = [f"--pick={n.removesuffix('_deg')}={best[n]}{' deg' if n.endswith('_deg') else ''}" for n in names]
            picks += [f"--pick=crank_pulley={best[f'crank_pulley_{unit}']} {unit}", f"--pick=blower_pulley={ideal[1].decode()} {unit}",
                      *([f"--pick=effectiveness={best['effectiveness']}"] if best["effectiveness"] not in ("", "0") else [])]
            points = records(self.point(study, "--csv", *picks).stdout)
            self.assertAlmostEqual(bound(float(p[column]) for p in points) / value, 1.0, delta=2e-3, msg=want)

    def test_kits_side_by_side(self):
        done = support.run(["compare", "kit", "--kit", "1", "--kit", "4"], self.folder)
        above, below = done.stdout.decode().split("\nThe same in all of them:\n")
        one, four = self.ranked["kit"][0], self.ranked["kit"][3]
        self.assertEqual(len(above.splitlines()[2:]), sum(c != "rank" and one[c] != four[c] for c in one))
        self.assertEqual(len(below.splitlines()), sum(one[c] == four[c] != "" for c in one))
        self.assertNotIn("_", done.stdout.decode())
        powers = [f"{float(row['peak_power_kW']):20.1f}" for row in (one, four)]
        self.assertIn(f"{'peak power, kW':38} {' '.join(powers)}\n", above)
        self.assertRegex(above, r"(?m)^ranking value, kW +\d+\.\d +\d+\.\d$")
        self.assertRegex(done.stdout.decode(), r"(?m)^left to limit: boost, kPa +\d")

    def test_what_is_not_picked_is_that_of_the_best_that_fits(self):
        best = self.ranked["kit"][0]
        done = self.point("kit", "--results", "kit", "--csv")
        self.assertEqual(done.stdout, self.point("kit", "--csv", "--combination", best["index"]).stdout)
        self.assertIn(b"not picked, so as in kit 1 of kit: ", done.stderr)
        other = next(i for i, row in enumerate(self.ranked["kit"]) if row["blower_pulley_mm"] != best["blower_pulley_mm"])
        row = self.ranked["kit"][other]
        done = self.point("kit", "--results", "kit", "--csv", "--pick", f"blower_pulley={row['blower_pulley_mm']} mm")
        self.assertEqual(done.stdout, self.point("kit", "--csv", "--combination", row["index"]).stdout)
        self.assertIn(f"as in kit {other + 1} of kit: ".encode(), done.stderr)

    def test_results_of_another_study_are_not_taken(self):
        done = self.point("us", "--results", "kit")
        self.assertEqual(done.returncode, 2)
        self.assertIn(b"of another study, or of this one before it was changed", done.stderr)
        self.assertIn(b"there are no results in nowhere", self.point("us", "--results", "nowhere", "--kit", "1").stderr)

    def test_peak_power_at_the_first_site(self):
        for row in self.ranked["kit"][::10]:
            points = records(self.point("kit", "--csv", "--combination", row["index"]).stdout)
            first = [p for p in points if p["site"] == "harbour"]
            best = max(first, key=lambda p: float(p["power_kW"]))
            self.assertAlmostEqual(float(best["power_kW"]), float(row["peak_power_kW"]), delta=1e-3)
            self.assertEqual(best["engine_speed_rpm"], row["peak_power_speed_rpm"])

    def test_table_tells_the_objective(self):
        for study, column in (("kit", "objective_power_kW"), ("us", "objective_torque_lbfft")):
            for row in self.ranked[study][::15]:
                text = " ".join(self.point(study, "--combination", row["index"]).stdout.decode().split())
                told = re.search(r"Ranking value \(.*?\): ([0-9.]+) ", text)
                self.assertIsNotNone(told, text[-300:])
                self.assertAlmostEqual(float(told[1]), float(row[column]), delta=0.0501)

    def test_exit_code_is_0_where_ranked_and_1_elsewhere(self):
        feasible = {int(row["index"]) for row in self.ranked["us"]}  # all of them: us.cfg keeps 1000
        codes = set()
        for index in range(0, 384, 13):
            code = self.point("us", "--csv", "--combination", str(index)).returncode
            self.assertEqual(code, 0 if index in feasible else 1, index)
            codes.add(code)
        self.assertEqual(codes, {0, 1})

    def test_picks_give_what_the_number_gives(self):
        for row in self.ranked["kit"][::13]:
            picks = ["blower=" + row["blower"], f"crank_pulley={row['crank_pulley_mm']} mm",
                     f"blower_pulley={row['blower_pulley_mm']} mm", "cooler=" + row["cooler"],
                     "fuel=" + row["fuel"], "lambda=" + row["lambda"]]
            if row["cooler"] != "none":
                picks.append("effectiveness=" + row["effectiveness"])
            by_name = self.point("kit", "--csv", *(a for p in picks for a in ("--pick", p)))
            by_number = self.point("kit", "--csv", "--combination", row["index"])
            self.assertEqual(by_name.returncode, 0, by_name.stderr)
            wanted, found = read_csv(by_number.stdout), read_csv(by_name.stdout)
            self.assertEqual(len(wanted), len(found))
            for a, b in zip(sum(wanted, []), sum(found, [])):
                self.assertTrue(support.same_text(a, b), f"{a} and {b}")  # 74 mm need not be 58 mm and 4 steps

    def test_picks_of_the_fuel_side(self):
        row = self.ranked["knock"][3]
        picks = [f"blower_pulley={row['blower_pulley_mm']} mm", "cooler=" + row["cooler"],
                 "effectiveness=" + row["effectiveness"], "fuel=" + row["fuel"],
                 f"ignition_margin={row['ignition_margin_deg']} deg", "injector=" + row["injector"],
                 f"injector_flow={row['injector_flow_cm3_min']} cm3/min", "pump=" + row["pump"]]
        by_name = self.point("knock", "--csv", *(a for p in picks for a in ("--pick", p)))
        by_number = self.point("knock", "--csv", "--combination", row["index"])
        self.assertEqual(by_name.returncode, 0, by_name.stderr)
        self.assertTrue(support.same_text(by_number.stdout.decode(), by_name.stdout.decode()))

    def test_any_size_of_injectors(self):
        pick = ["--pick", "blower_pulley=82 mm", "--pick", "cooler=none", "--pick", "fuel=race",
                "--pick", "ignition_margin=1 deg", "--pick"]
        duty = {}
        for flow in (400, 800):
            done = self.point("knock", "--csv", *pick, f"injector_flow={flow} cm3/min")
            self.assertIn(done.returncode, (0, 1), done.stderr)
            duty[flow] = [float(row["injector_duty_pct"]) for row in records(done.stdout)]
        for small, large, rpm in zip(duty[400], duty[800], (2000, 4000, 6000)):
            dead = 100 * 1e-3 * rpm / 120  # 1 ms of two turns
            self.assertAlmostEqual((small - dead) / (large - dead), 2.0, delta=1e-3)

    def test_stock_has_no_blower(self):
        done = self.point("kit", "--stock", "--csv")
        self.assertEqual(done.returncode, 0)
        rows = records(done.stdout)
        self.assertEqual(len(rows), 10)
        for row in rows:
            self.assertEqual((row["rotor_speed_rpm"], row["blower_power_kW"]), ("", "0"))
            self.assertLessEqual(float(row["boost_kPa"]), 0.0)

    def test_stock_holds_the_torque_curve(self):
        """At stock conditions the tied model gives back the torque of the study; the gain starts from it."""
        gain = {row["index"]: float(row["peak_power_kW"]) - float(row["gain_kW"]) for row in self.ranked["kit"]}
        stock = records(self.point("kit", "--stock", "--csv").stdout)
        peak = max(float(row["power_kW"]) for row in stock if row["site"] == "harbour")
        for difference in gain.values():
            self.assertAlmostEqual(difference, peak, delta=2e-3)

    def test_nothing_is_written(self):
        before = sorted(os.listdir(self.folder))
        self.point("kit", "--combination", "3")
        self.assertEqual(sorted(os.listdir(self.folder)), before)
