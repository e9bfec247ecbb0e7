"""How long a run would take is told beforehand, and years are refused."""
import os
import re
import signal
import time
import unittest

import night
import support
from night import start, wait_for


class Estimate(unittest.TestCase):
    """How long a run would take, stage by stage; the figures depend on the machine."""

    def stages(self, study, *more):
        with support.workspace() as folder:
            done = support.run(["check", study, *more], folder)
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertEqual(done.stderr, b"")
            self.assertEqual(set(os.listdir(folder)), set(os.listdir(support.STUDIES)))
        found = re.search(r"\nA run would take, on this machine and by samples\n((?:  .*\n)+)\n", done.stdout.decode())
        self.assertTrue(found, done.stdout)
        lines = [re.fullmatch(r"  (\S.{19}) (a moment|\d\.\d s|\d+ (?:s|min)|\d+ h \d+ min)", line)
                 for line in found[1].splitlines()]
        self.assertTrue(all(lines), found[1])
        return [line[1].strip() for line in lines]

    def test_every_stage_that_the_study_has(self):
        self.assertEqual(self.stages("kit.cfg"), ["sweep", "search", "worth of limits", "all together"])

    def test_without_a_search(self):
        self.assertEqual(self.stages("night.cfg"), ["sweep", "all together"])

    def test_with_tolerances(self):
        self.assertEqual(self.stages("sure.cfg"),
                         ["sweep", "search", "worth of limits", "certainty", "all together"])

    def test_left_out(self):
        with support.workspace() as folder:
            done = support.run(["check", "kit.cfg", "--skip-time"], folder)
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertNotIn(b"A run would take", done.stdout)


class TooLong(night.Journal):
    @classmethod
    def setUpClass(cls):
        """There is nothing to compare with."""

    def test_years_are_refused(self):
        with open(self.path("wide.cfg")) as file:
            text = file.read()
        with open(self.path("endless.cfg"), "w") as file:
            file.write(endless(text))
        done = self.run_it("check", "endless.cfg", "--skip-time")
        self.assertEqual(done.returncode, 0, done.stderr)
        done = self.run_it("run", "endless.cfg", "--out", "there")
        self.assert_refused(done, 2, " combinations: about ", " years on this machine; widen steps", "--anyway")
        self.assertEqual(os.listdir(self.path("there")), [])
        done = self.run_it("check", "endless.cfg")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertRegex(done.stderr.decode(), r"warning: [\d,]+ combinations: about [\d,]+ years; widen steps\n")
        with start(self.folder, "run", "endless.cfg", "--out", "there", "--anyway") as process:
            wait_for(self.path("there", "journal.db"))
            time.sleep(0.5)
            self.assertIsNone(process.poll())
            process.send_signal(signal.SIGINT)
            talk = process.stderr.read().decode()
        self.assertEqual(process.returncode, 130, talk)


def endless(text):
    """A study with steps of 40 nm."""
    for dimension in ("crank_pulleys", "blower_pulleys"):
        text = re.sub(dimension + r" *= *(\{[^}]*\}|\[[^\]]*\]|\"[^\"]*\")",
                      dimension + ' = { from = "62 mm"; to = "98 mm"; step = "0.00004 mm"; }', text)
    return re.sub(r"lambda *= *\{[^}]*\}", 'lambda = { from = 0.8; to = 1.0; step = 0.001; }', text)
