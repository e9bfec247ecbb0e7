"""sheave plan: its files, that threads and interruptions don't show, what a signal leaves."""
import os
import re
import signal
import subprocess
import time
import unittest

import support
from support import read_bytes, read_csv, records

PLAN = ("range.csv", "stock.csv", "curve.csv")


def plan(folder, *options, study="range.cfg"):
    return support.run(["plan", study, "--out", "there", "--quiet", *options], folder)


def files(folder):
    return {name: read_bytes(folder, "there", name) for name in PLAN}


class Files(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        with support.workspace() as folder:
            cls.done = plan(folder)
            cls.data = files(folder)
            cls.names = sorted(os.listdir(os.path.join(folder, "there")))

    def test_names(self):
        self.assertEqual(self.done.returncode, 0)
        self.assertEqual(self.names, ["curve.csv", "plots", "range.csv", "report.html", "run.log", "stock.csv", "sweeps"])

    def test_rows_are_whole(self):
        for name, data in self.data.items():
            header, *rows = read_csv(data)
            self.assertTrue(all(len(row) == len(header) for row in rows), name)
            self.assertTrue(data.endswith(b"\r\n"))

    def test_stock_is_what_the_kits_use(self):
        kits, stock = records(self.data["range.csv"]), records(self.data["stock.csv"])
        self.assertEqual(len(kits), 8)
        by_kind = {}
        for row in stock:
            by_kind.setdefault(row["kind"], set()).add(row["part"])
            self.assertEqual(int(row["groups"]), len(row["used_in"].split("; ")))
        self.assertEqual(by_kind["blower"], {row["blower"] for row in kits})
        self.assertEqual(by_kind["blower_pulley"],
                         {f"{float(row['blower_pulley_mm']):g} mm" for row in kits})
        blowers = [row for row in stock if row["kind"] == "blower"]
        self.assertAlmostEqual(sum(float(row["kits_a_year"]) for row in blowers),
                               sum(float(row["sales"]) for row in kits))

    def test_lost_power(self):
        for row in records(self.data["range.csv"]):
            power, best = float(row["power_kW"]), float(row["best_power_kW"])
            self.assertLessEqual(power, best)
            self.assertAlmostEqual(float(row["power_lost_pct"]), 100 * (1 - power / best), delta=1e-3)
            self.assertGreaterEqual(float(row["least_room_pct"]), 0)

    def test_curve_rises_to_the_plan_of_the_kits(self):
        curve = records(self.data["curve.csv"])
        values = [float(row["value_power_kW"]) for row in curve]
        self.assertEqual(values, sorted(values))
        self.assertTrue(all(row["proven"] == row["settled"] == "yes" for row in curve))
        self.assertTrue(all(float(row["gap_pct"]) == 0 for row in curve))
        self.assertEqual(curve[0]["gain_pct"], "")
        self.assertGreater(len(values), 2)
        for i in range(1, len(values)):
            self.assertAlmostEqual(float(curve[i]["gain_pct"]), 100 * (values[i] - values[i - 1]) / values[-1], delta=1e-3)
        chosen = [row for row in curve if row["plan"] == "yes"]
        self.assertEqual(len(chosen), 1)
        sold = sum(float(row["sales"]) * float(row["power_kW"]) for row in records(self.data["range.csv"]))
        self.assertAlmostEqual(float(chosen[0]["value_power_kW"]) / sold, 1, delta=1e-4)

    def test_threads_do_not_show(self):
        with support.workspace() as folder:
            self.assertEqual(plan(folder, "--threads", "1").stdout, self.done.stdout)
            self.assertEqual(files(folder), self.data)


class Resume(unittest.TestCase):
    """A change of stock takes the sweeps as they are; a change of a market does not."""

    def change(self, folder, old, new):
        path = os.path.join(folder, "range.cfg")
        with open(path, encoding="utf-8") as file:
            text = file.read()
        self.assertIn(old, text)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text.replace(old, new))

    def test_changes(self):
        with support.workspace() as folder:
            self.assertEqual(plan(folder).returncode, 0)
            self.change(folder, "most = 1;", "most = 2;")
            done = plan(folder, "--resume")
            self.assertEqual(done.returncode, 0, done.stderr)
            self.change(folder, 'altitude = "1500 m"', 'altitude = "1400 m"')
            done = plan(folder, "--resume")
            self.assertEqual(done.returncode, 2)
            self.assertIn(b"another study", done.stderr)
            self.assertEqual(plan(folder, "--anew").returncode, 0)


class Scenarios(unittest.TestCase):
    """Sales that are not certain: the files agree with each other, and what knowing is worth with the screen."""

    def test_files(self):
        with support.workspace() as folder:
            done = plan(folder, "--no-report", study="range_sales.cfg")
            self.assertEqual(done.returncode, 0, done.stderr)
            curve = records(read_bytes(folder, "there", "curve.csv"))
            scenarios = records(read_bytes(folder, "there", "scenarios.csv"))
            kits = records(read_bytes(folder, "there", "range.csv"))
            self.assertEqual(plan(folder, "--no-report").returncode, 0)
            self.assertFalse(os.path.exists(os.path.join(folder, "there", "scenarios.csv")))
        number = lambda key: [float(row[key]) for row in scenarios]
        mean = lambda key: sum(w * x for w, x in zip(number("weight"), number(key)))
        chosen, = [row for row in curve if row["plan"] == "yes"]
        self.assertAlmostEqual(sum(number("weight")), 1)
        self.assertAlmostEqual(mean("value_profit"), float(chosen["value_profit"]), delta=0.01)
        self.assertAlmostEqual(min(number("value_profit")), float(chosen["worst_value_profit"]), delta=0.01)
        self.assertAlmostEqual(mean("sales"), sum(float(row["sales"]) for row in kits), delta=1e-3)
        self.assertTrue(all(gain >= 0 for gain in number("gain_pct")))
        knowing = mean("best_value_profit") - mean("value_profit")
        self.assertGreater(knowing, 100)
        self.assertIn(f"worth {knowing:.2f} EUR", done.stdout.decode().replace("\n", " "))
        worst = [float(row["worst_value_profit"]) for row in curve]
        for i in range(1, len(worst)):
            self.assertAlmostEqual(float(curve[i]["worst_gain_pct"]), 100 * (worst[i] - worst[i - 1]) / worst[-1],
                                   delta=1e-3)


class Sure(unittest.TestCase):
    """Kits that hold with the probability that a study wants: 95 % of those of the saloon's."""

    def test_probabilities(self):
        with support.workspace() as folder:
            self.assertEqual(plan(folder, "--no-report", study="range_sure.cfg").returncode, 0)
            sure = files(folder)
            self.assertEqual(plan(folder, "--no-report", "--threads", "1", study="range_sure.cfg").returncode, 0)
            self.assertEqual(files(folder), sure)
            # The sweeps are the same ones: only what is made of them differs.
            self.assertEqual(plan(folder, "--no-report", "--resume", "--no-certainty", study="range_sure.cfg").returncode, 0)
            bold = files(folder)
        kits, bold_kits = records(sure["range.csv"]), records(bold["range.csv"])
        self.assertNotIn("all_hold_pct", bold_kits[0])
        for kit in kits:
            wanted = kit["vehicle"] == "saloon"
            self.assertEqual(kit["all_hold_pct"] != "", wanted)
            self.assertTrue(not wanted or float(kit["all_hold_pct"]) >= 95)
        best = lambda rows: [float(row["best_power_kW"]) for row in rows]
        self.assertTrue(all(a <= b for a, b in zip(best(kits), best(bold_kits))))
        self.assertNotEqual(best(kits), best(bold_kits))
        self.assertEqual([row["feasible_kits"] for row in kits if row["vehicle"] == "wagon"],
                         [row["feasible_kits"] for row in bold_kits if row["vehicle"] == "wagon"])


class Interrupted(unittest.TestCase):
    def interrupt(self, folder, study, wait_for):
        process = subprocess.Popen([support.program, "plan", study, "--out", "there", "--quiet"], cwd=folder,
                                   env=support.environment(), stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                                   stderr=subprocess.PIPE)
        log, end = os.path.join(folder, "there", "run.log"), time.monotonic() + support.TIMEOUT
        while time.monotonic() < end and process.poll() is None:
            if os.path.exists(log) and re.search(wait_for, read_bytes(log)):
                break
            time.sleep(0.005)
        process.send_signal(signal.SIGTERM)
        out, errors = process.communicate(timeout=support.TIMEOUT)
        return process.returncode, out, errors

    def test_sweep_goes_on(self):
        with support.workspace() as folder:
            whole = plan(folder, study="range_night.cfg")
            expected = files(folder)
        self.assertEqual(whole.returncode, 0, whole.stderr)
        with support.workspace() as folder:
            code, out, errors = self.interrupt(folder, "range_night.cfg", rb"sweep: wagon in hills")
            if code == 0:
                self.skipTest("it was done before the signal came")
            self.assertEqual((code, out), (130, b""))
            self.assertIn(b"--resume goes on", errors)
            refused = plan(folder, study="range_night.cfg")
            done = plan(folder, "--resume", study="range_night.cfg")
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertEqual(files(folder), expected)
            self.assertEqual(done.stdout, whole.stdout)
            if refused.returncode != 0:  # the first sweep may have come to nothing yet
                self.assertIn(b"holds an unfinished run", refused.stderr)

    def test_killed_while_kits_are_sampled(self):
        with support.workspace() as folder:
            whole = plan(folder, study="range_sure.cfg")
            expected = files(folder)
        with support.workspace() as folder:
            code, out, errors = self.interrupt(folder, "range_sure.cfg", rb"integer programmes")
            self.assertIn(code, (0, 130), errors)
            done = plan(folder, "--resume", study="range_sure.cfg")
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertEqual(files(folder), expected)
            self.assertEqual(done.stdout, whole.stdout)

    def test_programmes_leave_the_best_so_far(self):
        with support.workspace() as folder:
            code, out, errors = self.interrupt(folder, "range_night.cfg", rb"integer programmes")
            if code == 0:
                self.skipTest("it was done before the signal came")
            self.assertEqual(code, 130, errors)
            self.assertIn(b"interrupted", errors)
            if b"best plan so far is written" in errors:
                self.assertIn(b"different parts in stock", out)
                rows = records(read_bytes(folder, "there", "curve.csv"))
                self.assertTrue(all(float(row["gap_pct"]) >= 0 for row in rows))
            done = plan(folder, "--resume", study="range_night.cfg")
            self.assertEqual(done.returncode, 0, done.stderr)


if __name__ == "__main__":
    unittest.main()
