"""sheave fit: what it writes, and that a study takes it."""
import os
import unittest

import support
from support import read_bytes, records

LOGS = ["--log", "dyno=logs/dyno.csv", "--log", "bench=logs/bench.csv"]
# What the logs were made with (measured.cfg lists them in this order).
TRUTH = {"volumetric_efficiency": 0.97, "leakage": 1.2, "cooler_effectiveness": 0.9, "efficiency": 0.99}


class Fit(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.workspace = support.workspace()
        cls.folder = cls.workspace.name
        done = cls.fit("fitted.cfg")
        if done.returncode != 0:
            raise RuntimeError(done.stderr.decode())
        cls.residuals = records(read_bytes(cls.folder, "fitted.residuals.csv"))

    @classmethod
    def tearDownClass(cls):
        cls.workspace.cleanup()

    @classmethod
    def fit(cls, out, *options):
        return support.run(["fit", "measured.cfg", *LOGS, "--out", out, *options], cls.folder)

    def text(self, name):
        return read_bytes(self.folder, name).decode()

    def values(self, name):
        """Corrections in an include file."""
        group = self.text(name).split("corrections = {")[1].split("};")[0]
        pairs = (line.strip(" ;").split(" = ") for line in group.strip().splitlines())
        return {key: float(value) for key, value in pairs}

    def deviations(self, name):
        lines = [line for line in self.text(name).splitlines() if "standard_deviation" in line]
        return {line.split(" = ")[0].strip(): float(line.split("standard_deviation = ")[1].split(";")[0])
                for line in lines}

    def test_finds_what_went_in(self):
        found, deviation = self.values("fitted.cfg"), self.deviations("fitted.cfg")
        self.assertEqual(set(found), set(TRUTH))
        for name, value in TRUTH.items():
            self.assertLess(abs(found[name] - value), 3.0 * deviation[name], name)

    def test_a_study_takes_it(self):
        with open(os.path.join(self.folder, "again.cfg"), "w", encoding="utf-8") as file:
            file.write('@include "measured.cfg"\n@include "fitted.cfg"\n')
        done = support.run(["check", "again.cfg"], self.folder)
        self.assertEqual((done.returncode, done.stderr), (0, b""))
        # A fit of the corrected study begins where this one ended, and stays there.
        done = support.run(["fit", "again.cfg", *LOGS, "--out", "twice.cfg"], self.folder)
        self.assertEqual(done.returncode, 0)
        first, second = self.values("fitted.cfg"), self.values("twice.cfg")
        for name in TRUTH:
            self.assertAlmostEqual(first[name], second[name], 6, name)

    def test_a_study_takes_what_is_open(self):
        """A bench leaves the engine's corrections open; the file says so and is taken all the same."""
        done = support.run(["fit", "measured.cfg", *LOGS[2:], "--out", "bench.cfg"], self.folder)
        self.assertEqual(done.returncode, 0)
        found = self.values("bench.cfg")["volumetric_efficiency"]  # any: from there to the farther bound
        self.assertIn(f"volumetric_efficiency = {{ half_width = {max(found - 0.85, 1.15 - found):.9f}",
                      self.text("bench.cfg"))
        with open(os.path.join(self.folder, "open.cfg"), "w", encoding="utf-8") as file:
            file.write('@include "measured.cfg"\n@include "bench.cfg"\n')
        done = support.run(["check", "open.cfg"], self.folder)
        self.assertEqual((done.returncode, done.stderr), (0, b""))

    def test_same_bytes_for_any_number_of_threads(self):
        for threads in ("1", "3"):
            self.assertEqual(self.fit(f"t{threads}.cfg", "--threads", threads).returncode, 0)
            self.assertEqual(self.text(f"t{threads}.cfg"), self.text("fitted.cfg"))
            self.assertEqual(self.text(f"t{threads}.residuals.csv"), self.text("fitted.residuals.csv"))

    def test_every_line_is_accounted_for(self):
        for log, path in (("dyno", "logs/dyno.csv"), ("bench", "logs/bench.csv")):
            lines = len(read_bytes(self.folder, path).decode().strip().splitlines())
            told = {int(row["line"]) for row in self.residuals if row["log"] == log}
            self.assertEqual(told, set(range(2, lines + 1)))

    def test_residuals_agree_with_themselves(self):
        held = 0
        for row in self.residuals:
            if row["dropped"]:
                self.assertEqual(row["measured"] + row["residual"], "")
                continue
            off = float(row["modelled"]) - float(row["measured"])
            self.assertAlmostEqual(float(row["difference"]), off, 4)
            residual = float(row["residual"])
            self.assertAlmostEqual(residual, off / float(row["deviation"]), 3)
            self.assertAlmostEqual(float(row["weight"]), min(1.0, 2.0 / max(abs(residual), 1e-9)), 4)
            held += float(row["weight"]) < 1.0
        self.assertGreater(held, 0, "the spoilt reading is held down")

    def test_replace(self):
        self.assertEqual(self.fit("r.cfg").returncode, 0)
        before = self.text("r.cfg")
        done = self.fit("r.cfg")
        self.assertEqual(done.returncode, 2)
        self.assertIn(b"r.cfg is there already", done.stderr)
        self.assertIn(b"r.residuals.csv is there already", done.stderr)
        self.assertEqual(self.fit("r.cfg", "--replace").returncode, 0)
        self.assertEqual(self.text("r.cfg"), before)

    def test_folders_are_made(self):
        self.assertEqual(self.fit("deep/er/f.cfg").returncode, 0)
        self.assertEqual(self.text("deep/er/f.cfg"), self.text("fitted.cfg"))
        self.assertEqual(sorted(os.listdir(os.path.join(self.folder, "deep", "er"))),
                         ["f.cfg", "f.residuals.csv"])

    def test_nothing_is_left_after_an_error(self):
        done = support.run(["fit", "measured.cfg", "--log", "dyno=logs/letters.csv", "--out", "none.cfg"], self.folder)
        self.assertEqual(done.returncode, 2)
        self.assertFalse([name for name in os.listdir(self.folder) if name.startswith("none")])


    def test_a_blower_from_points(self):
        """Its entry reads in a study, and its map says what the points say."""
        points = [(6000, 1.3, 0.155, 9.0), (6000, 1.6, 0.145, 18.0), (12000, 1.3, 0.345, 19.5), (12000, 1.6, 0.34, 37.0)]
        with open(os.path.join(self.folder, "points.csv"), "w", encoding="utf-8") as file:
            file.write("rpm,ratio,flow [m3/s],power kW\n")
            file.writelines(",".join(map(str, point)) + "\n" for point in points)
        done = support.run(["blower", "points.csv", "--displacement", "1.9 L", "--name", "found", "--map", "found.csv"], self.folder)
        self.assertEqual((done.returncode, done.stderr), (0, b""))
        rows = [row.split(",") for row in self.text("found.csv").splitlines()[2:]]
        for row, (rpm, ratio, flow, power) in zip(rows, points, strict=True):
            self.assertEqual([float(row[0]), float(row[1]), float(row[3])], [rpm, ratio, power])
            self.assertAlmostEqual(float(row[2]), flow / (1.9e-3 * rpm / 60), 4)
        with open(os.path.join(self.folder, "entry.cfg"), "wb") as file:
            file.write(done.stdout)
        with open(os.path.join(self.folder, "kit.cfg"), encoding="utf-8") as file:
            study = file.read()
        with open(os.path.join(self.folder, "with.cfg"), "w", encoding="utf-8") as file:
            file.write(study.replace('@include "parts.cfg"', '@include "entry.cfg"') + "\n")
        done = support.run(["check", "with.cfg", "--skip-time"], self.folder)
        self.assertNotIn(b"entry.cfg", done.stderr)


if __name__ == "__main__":
    unittest.main()
