"""A run that is broken off or killed goes on and ends with the same bytes as an undisturbed one."""
import os
import random
import re
import shutil
import signal
import subprocess
import time

import night
import support
from night import CSV_FILES, STUDY, start, wait_for
from support import read_bytes

KILLS = 40
LONGEST = 0.75  # until a run is killed, as a share of what an undisturbed one takes


class Killed(night.Journal):
    def test_at_random_moments(self):
        dice, kills, ended = random.Random(20), 0, 0
        while kills < KILLS:
            with start(self.folder, "run", STUDY, "--out", "there", "--resume") as process:
                try:
                    process.wait(dice.uniform(0.02, LONGEST * self.duration))
                except subprocess.TimeoutExpired:
                    process.kill()
                    kills += 1
                    continue
                self.assertEqual(process.returncode, 0, process.stderr.read())
            self.assert_results("there")
            shutil.rmtree(self.path("there"))
            ended += 1
        self.assertGreater(ended, 0, "no run came further than the one before")
        self.assertEqual(self.run_it("run", STUDY, "--out", "there", "--resume").returncode, 0)
        self.assert_results("there")
        self.assertEqual(sorted(os.listdir(self.path("there"))), sorted({*CSV_FILES, *support.FILES, *support.KEPT}))

    def test_in_full_or_not_at_all(self):
        """A journal that counts every broken limit is not gone on with by a run that skips."""
        with start(self.folder, "run", "wide.cfg", "--out", "there", "--exhaustive") as process:
            wait_for(self.path("there", "journal.db"))
            time.sleep(0.2)
            process.send_signal(signal.SIGINT)
            talk = process.stderr.read().decode()
        self.assertEqual(process.returncode, 130, talk)
        self.assertIn("--exhaustive --resume", talk)
        self.assert_refused(self.run_it("run", "wide.cfg", "--out", "there", "--resume"), 2, "with --exhaustive")

    def test_exhaustive_ranks_the_same(self):
        self.assertEqual(self.run_it("run", STUDY, "--out", "there", "--exhaustive").returncode, 0)
        for name in CSV_FILES:
            if name != "rejected.csv":
                self.assertEqual(read_bytes(self.folder, "there", name), self.expected[name], name)

    def test_number_of_threads_may_change(self):
        for threads in ("1", "2", "3"):
            with start(self.folder, "run", STUDY, "--out", "there", "--resume", "--threads", threads) as process:
                time.sleep(0.3)
                process.kill()
        self.assertEqual(self.run_it("run", STUDY, "--out", "there", "--resume").returncode, 0)
        self.assert_results("there")


class Interrupted(night.Journal):
    def interrupt(self, number, *more, **how):
        """Exit code and messages of a run that is sent a signal in its sweep."""
        with start(self.folder, "run", "wide.cfg", "--out", "my results", *more, **how) as process:
            wait_for(self.path("my results", "journal.db"))
            time.sleep(0.4)
            self.assertIsNone(process.poll(), "ended before it was interrupted")
            process.send_signal(number)
            talk = process.stderr.read().decode()
        return process.returncode, talk

    def check(self, number, **how):
        code, talk = self.interrupt(number, **how)
        self.assertEqual(code, 130)
        match = re.fullmatch(r"sheave run: interrupted; (\d+\.\d) % of the sweep is kept, go on with\n"
                             r"  (sheave run wide\.cfg --out 'my results' --resume)\n", talk)
        self.assertTrue(match, talk)
        self.assertEqual(sorted(os.listdir(self.path("my results"))), sorted(support.KEPT))
        log = read_bytes(self.folder, "my results", "run.log").decode()
        self.assertRegex(log, r"\A20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ start: ")
        self.assertTrue(log.endswith(f"stop: interrupted, {match[1]} % done\n"), log)
        # What it says works, and goes on from there.
        with start(self.folder, "-c", f"exec {match[2]}", executable="/bin/sh",
                   env=support.environment(PATH=os.path.dirname(support.program))) as process:
            deadline = time.monotonic() + support.TIMEOUT
            while b"were done before" not in read_bytes(self.folder, "my results", "run.log"):
                self.assertLess(time.monotonic(), deadline)
                time.sleep(0.01)
            process.kill()
        self.assertIn(f"{match[1]} % were done before", read_bytes(self.folder, "my results", "run.log").decode())

    def test_sigint(self):
        self.check(signal.SIGINT)

    def test_sigterm(self):
        self.check(signal.SIGTERM)

    def test_closed_terminal(self):
        self.check(signal.SIGHUP, preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_DFL))

    def test_nohup(self):
        with start(self.folder, "run", "wide.cfg", "--out", "there",
                   preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_IGN)) as process:
            wait_for(self.path("there", "journal.db"))
            process.send_signal(signal.SIGHUP)
            time.sleep(0.4)
            self.assertIsNone(process.poll())
            process.kill()

    def test_what_was_done_is_not_dropped_unasked(self):
        self.interrupt(signal.SIGINT)
        again = ["run", "wide.cfg", "--out", "my results"]
        self.assert_refused(self.run_it(*again), 2, "an unfinished run of this study", "--resume", "--anew")
        other = ["run", "single.cfg", "--out", "my results"]
        self.assert_refused(self.run_it(*other), 2, "an unfinished run that this one is no part of")
        self.assert_refused(self.run_it(*other, "--resume"), 2, "it is of another study")
        self.assertEqual(self.run_it(*other, "--anew").returncode, 0)
        self.assertEqual(self.run_it(*other).returncode, 0, "a finished one is replaced")
        self.assertIn(b"start: ", read_bytes(self.folder, "my results", "run.log"))

    def test_a_study_that_has_changed(self):
        self.interrupt(signal.SIGINT)
        with open(self.path("car.cfg"), "a", encoding="utf-8") as file:
            file.write("# a remark\n")
        self.assert_refused(self.run_it("run", "wide.cfg", "--out", "my results", "--resume"), 2,
                            "cannot go on with my results/journal.db", "has changed since")

    def test_two_runs_in_one_folder(self):
        with start(self.folder, "run", "wide.cfg", "--out", "there") as process:
            wait_for(self.path("there", "run.log"))
            for option in ("--quiet", "--resume", "--anew"):
                done = self.run_it("run", "wide.cfg", "--out", "there", option)
                self.assert_refused(done, 2, "another run is working with there/journal.db")
            process.kill()
            process.wait()
        self.assertEqual(self.run_it("run", "single.cfg", "--out", "there", "--anew").returncode, 0)

    def test_damage_is_named(self):
        self.interrupt(signal.SIGINT)
        with open(self.path("my results", "journal.db"), "r+b") as file:
            file.seek(5000)
            file.write(b"\x55" * 3000)
        for option in ("--quiet", "--resume"):
            done = self.run_it("run", "wide.cfg", "--out", "my results", option)
            self.assert_refused(done, 3, "my results/journal.db is damaged")
