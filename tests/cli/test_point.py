"""sheave point shows the numbers that sheave run wrote."""
import os
import re
import unittest

import support
from support import read_bytes, read_csv, records


class Results(unittest.TestCase):
    """Results of three studies, for the files that test what comes after a run."""
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


class Point(Results):
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
