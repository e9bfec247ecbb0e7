"""The closed cycle at the command line: the trace over the crank angle."""
import contextlib
import os
import re
import sqlite3
import unittest

import support
from support import read_csv, records

DATABASE = "cycle-tables.db"
OWN = {"XDG_CACHE_HOME": None}  # for support.environment


class Cycle(unittest.TestCase):
    """Each test has an empty folder; tables come from the folder that all tests share where that is no matter."""

    def setUp(self):
        self.workspace = support.workspace()
        self.folder = self.workspace.name
        self.addCleanup(self.workspace.cleanup)

    def sheave(self, *arguments, **how):
        return support.run(arguments, self.folder, **how)

    def path(self, *names):
        return os.path.join(self.folder, *names)

    def seed(self, *names):
        """A copy of the shared tables of knock.cfg there."""
        self.assertEqual(self.sheave("check", "knock.cfg").returncode, 0)
        os.makedirs(self.path(*names))
        with contextlib.closing(sqlite3.connect(os.path.join(support.cache, "sheave", DATABASE))) as kept, \
                contextlib.closing(sqlite3.connect(self.path(*names, DATABASE))) as copy:
            kept.backup(copy)  # others may be writing

    def sources(self, done):
        """Where the tables came from, by fuel."""
        self.assertEqual(done.returncode, 0, done.stderr)
        return {m[1]: m[2] for m in re.finditer(r"^(\w+) .* (built|from file)$", done.stdout.decode(), re.MULTILINE)}


class Trace(Cycle):
    COLUMNS = ["angle_deg", "volume_cm3", "pressure_bar_abs", "temperature_degC", "end_gas_temperature_degC",
               "burned_share_pct", "work_J", "wall_heat_J", "knock_integral"]

    def trace(self, *arguments):
        done = self.sheave("point", "knock.cfg", *arguments)
        self.assertEqual(done.stderr, b"")
        header, *rows = read_csv(done.stdout)
        self.assertEqual(header, self.COLUMNS)
        return done.returncode, [dict(zip(header, row)) for row in rows]

    def test_from_closing_to_opening(self):
        code, rows = self.trace("--combination", "40", "--cycle", "4000 rpm")
        self.assertIn(code, (0, 1))
        angles = [float(row["angle_deg"]) for row in rows]
        self.assertEqual((angles[0], angles[-1]), (-140.0, 130.0))
        self.assertEqual(angles, sorted(set(angles)))
        self.assertEqual((rows[0]["burned_share_pct"], rows[-1]["burned_share_pct"]), ("0", "100"))

    def test_is_the_cycle_of_the_point(self):
        point = [row for row in records(self.sheave("point", "knock.cfg", "--combination", "40", "--csv").stdout)
                 if row["engine_speed_rpm"] == "4000"][0]
        for speed in ("4000 rpm", "4000 rev/min", "418.8790204786 rad/s"):
            rows = self.trace("--combination", "40", "--cycle", speed, "--site", "harbour")[1]
            knock = max(float(row["knock_integral"]) for row in rows)
            self.assertAlmostEqual(knock, float(point["knock_integral"]), delta=0.02)
            peak = max(float(row["pressure_bar_abs"]) for row in rows)
            self.assertAlmostEqual(peak / float(point["peak_pressure_bar_abs"]), 1.0, delta=0.02)

    def test_stock_engine(self):
        code, rows = self.trace("--stock", "--cycle", "2000 rpm")
        self.assertEqual(code, 0)
        stock = records(self.sheave("point", "knock.cfg", "--stock", "--csv").stdout)[0]
        knock = max(float(row["knock_integral"]) for row in rows)
        self.assertAlmostEqual(knock, float(stock["knock_integral"]), delta=1e-5)

    def refuses(self, message, *arguments, code=2):
        done = self.sheave("point", *arguments)
        self.assertEqual((done.returncode, done.stdout), (code, b""))
        self.assertEqual(done.stderr.decode(), "sheave point: " + message + "\n")

    def test_speeds_and_sites_that_are_not_there(self):
        one = ("knock.cfg", "--combination", "40", "--cycle")
        self.refuses('--cycle: found "3000 rpm"; the nearest speeds of the study are 2000 and 4000 rpm', *one, "3000 rpm")
        self.refuses('--cycle: found "900 rpm"; the nearest speed of the study is 2000 rpm', *one, "900 rpm")
        self.refuses('--cycle: found "4000", which has no unit; accepted: "4000 rpm"', *one, "4000")
        self.refuses('--cycle: found "7000 rpm"; the nearest speed of the study is 6000 rpm', *one, "7000 rpm")
        self.refuses('--site: found "moon"; the study has "harbour"', *one, "4000 rpm", "--site", "moon")

    def test_options_that_do_not_go_together(self):
        self.refuses("give one of --csv, --cycle and --explain", "knock.cfg", "--combination", "40", "--csv", "--cycle", "4000 rpm")
        self.refuses("--site goes with --cycle; without it all sites are shown", "knock.cfg", "--combination", "40",
                     "--site", "harbour")

    def test_other_models_have_none(self):
        self.refuses('--cycle: the study computes no closed cycle; that takes engine.efficiency.model = "cycle"',
                     "single.cfg", "--cycle", "4000 rpm")

    def test_no_answer(self):
        """Far beyond every limit the tables end."""
        self.refuses("--cycle: there is no answer at 6000 rpm at harbour (no_cycle)", "knock.cfg", "--combination", "0",
                     "--cycle", "6000 rpm", code=1)
