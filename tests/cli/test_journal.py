"""A run that is broken off, killed or split goes on and ends with the same bytes as an undisturbed one."""
import contextlib
import os
import random
import re
import shutil
import signal
import sqlite3
import subprocess
import time
import unittest

import support
from support import read_bytes

STUDY = "night.cfg"
CSV_FILES = [name for name in support.FILES if name.endswith(".csv")] + ["tradeoffs.csv", "serving.csv"]
KILLS = 100
LONGEST = 0.75  # until a run is killed, as a share of what an undisturbed one takes


def start(folder, *arguments, **how):
    how = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": subprocess.PIPE, "cwd": folder,
           "env": support.environment()} | how
    return subprocess.Popen([support.program, *arguments], **how)


def wait_for(path):
    deadline = time.monotonic() + support.TIMEOUT
    while not os.path.exists(path) and time.monotonic() < deadline:
        time.sleep(0.01)


class Journal(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        """What an undisturbed run gives."""
        with support.workspace() as folder:
            before = time.monotonic()
            done = support.run(["run", STUDY, "--out", "there"], folder)
            cls.duration = time.monotonic() - before
            assert done.returncode == 0, done.stderr
            cls.counts = support.read_manifest(read_bytes(folder, "there", "manifest.cfg").decode())["counts"]
            cls.expected = {name: read_bytes(folder, "there", name) for name in CSV_FILES}

    def setUp(self):
        workspace = support.workspace()
        self.addCleanup(workspace.cleanup)
        self.folder = workspace.name

    def path(self, *names):
        return os.path.join(self.folder, *names)

    def run_it(self, *arguments, **how):
        return support.run(list(arguments), self.folder, **how)

    def assert_results(self, *where):
        for name in CSV_FILES:
            self.assertEqual(read_bytes(self.folder, *where, name), self.expected[name], name)

    def assert_refused(self, done, code, *says):
        text = done.stderr.decode()
        self.assertEqual(done.returncode, code, text)
        for part in says:
            self.assertIn(part, text)


class Killed(Journal):
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


class Interrupted(Journal):
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


class AfterTheSweep(Journal):
    """What the sweep gave is there at once; the search goes on where it was."""
    SEARCHED = "searched.cfg"
    MORE = ("optimum.csv", "limit_worth.csv")

    @classmethod
    def setUpClass(cls):
        """Each test runs its own study."""

    def setUp(self):
        super().setUp()
        self.study = self.SEARCHED
        done = self.run_it("run", self.study, "--out", "whole")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.files = {name for name in os.listdir(self.path("whole")) if name.endswith(".csv")}
        self.assertTrue(self.files.issuperset(self.MORE))

    def assert_whole(self, *where):
        for name in self.files:
            self.assertEqual(read_bytes(self.folder, *where, name), read_bytes(self.folder, "whole", name), name)

    def stages(self, *where):
        return support.read_manifest(read_bytes(self.folder, *where, "manifest.cfg").decode())["stages"]

    def interrupt_after_sweep(self, *command):
        """Sent a signal as soon as the log says that the results of the sweep are there."""
        where = command[command.index("--out") + 1]
        with start(self.folder, *command) as process:
            wait_for(self.path(where, "run.log"))
            deadline = time.monotonic() + support.TIMEOUT
            while b"results of the sweep" not in read_bytes(self.folder, where, "run.log"):
                self.assertLess(time.monotonic(), deadline)
            process.send_signal(signal.SIGINT)
            talk = process.stderr.read().decode()
        if process.returncode == 0:
            self.skipTest("it was done before the signal came")
        self.assertEqual(process.returncode, 130, talk)
        self.assertIn(f"the results of the sweep are in {where}", talk)
        self.assertIn("--resume", talk)
        there = set(os.listdir(self.path(where)))
        self.assertTrue(there.issuperset({"ranked.csv", "curves.csv", "rejected.csv", "manifest.cfg"}), there)

    def test_stopped_and_gone_on_with(self):
        run = ["run", self.study, "--out", "there"]
        self.interrupt_after_sweep(*run)
        self.assertNotIn("optimum.csv", os.listdir(self.path("there")))
        self.assertEqual(self.stages("there")["search"], "to_come")
        self.assert_refused(self.run_it(*run), 2, "100.0 % of the sweep done; --resume")
        self.assertEqual(self.run_it(*run, "--resume").returncode, 0)
        self.assert_whole("there")
        self.assertEqual(self.stages("there")["search"], "done")

    def test_left_out_and_added(self):
        run = ["run", self.study, "--out", "there"]
        self.assertEqual(self.run_it(*run, "--no-search").returncode, 0)
        self.assertEqual(self.stages("there")["search"], "left_out")
        for name in self.files - set(self.MORE):
            self.assertEqual(read_bytes(self.folder, "there", name), read_bytes(self.folder, "whole", name), name)
        self.assertFalse(set(os.listdir(self.path("there"))) & set(self.MORE))
        self.assertEqual(self.run_it(*run, "--resume").returncode, 0)
        self.assert_whole("there")
        # Of an earlier run nothing stays that this one did not make.
        self.assertEqual(self.run_it(*run, "--no-search").returncode, 0)
        self.assertFalse(set(os.listdir(self.path("there"))) & set(self.MORE))

    def test_killed_in_the_search_it_goes_on_there(self):
        """Rows that were found are taken from the journal: a resumed run searches the others only."""
        with start(self.folder, "run", self.study, "--out", "there") as process:
            wait_for(self.path("there", "run.log"))
            deadline = time.monotonic() + support.TIMEOUT
            while process.poll() is None and not self.notes("there"):
                self.assertLess(time.monotonic(), deadline)
            process.kill()
        rows = self.notes("there")
        self.assertGreater(len(rows), 0)
        self.assertEqual(self.run_it("run", self.study, "--out", "there", "--resume").returncode, 0)
        self.assert_whole("there")

    def notes(self, *where):
        """Places that have notes in a copy of the journal."""
        copy = self.path("copy.db")
        for name in ("journal.db", "journal.db-journal"):
            if os.path.exists(self.path(*where, name)):
                shutil.copy(self.path(*where, name), copy + name[len("journal.db"):])
        try:
            with contextlib.closing(sqlite3.connect(copy)) as db:
                return db.execute("SELECT DISTINCT place FROM notes").fetchall()
        except sqlite3.Error:
            return []

    def test_merge_does_the_same(self):
        for i in (1, 2):
            self.assertEqual(self.run_it("run", self.study, "--shard", f"{i}/2", "--out", f"s{i}").returncode, 0)
        merge = ["merge", "s1", "s2", "--out", "joined"]
        self.interrupt_after_sweep(*merge)
        self.assert_refused(self.run_it(*merge), 2, "--resume")
        done = self.run_it(*merge, "--resume")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assert_whole("joined")
        self.assert_refused(self.run_it(*merge, "--resume", "--anew"), 2, "one of --resume and --anew")
        # The joined sweep is as good as one that was never cut.
        self.assertEqual(self.run_it("run", self.study, "--out", "joined", "--resume").returncode, 0)
        self.assert_whole("joined")

    def test_merge_into_a_shard_leaves_it_a_shard(self):
        for i in (1, 2):
            self.assertEqual(self.run_it("run", self.study, "--shard", f"{i}/2", "--out", f"s{i}").returncode, 0)
        for _ in range(2):
            done = self.run_it("merge", "s1", "s2", "--out", "s1")
            self.assertEqual(done.returncode, 0, done.stderr)
        self.assert_whole("s1")


class TooLong(Journal):
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


class Shards(Journal):
    def run_shard(self, index, count=3):
        return self.run_it("run", STUDY, "--shard", f"{index}/{count}")

    def folders(self, *shards):
        return [f"out/shard-{i}-of-3" for i in shards]

    def test_together_they_are_one_run(self):
        for i in (1, 2, 3):
            done = self.run_shard(i)
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertIn(f"Shard {i} of 3 is done".encode(), done.stdout)
        done = self.run_it("merge", *self.folders(3, 1, 2), "--out", "joined")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assert_results("joined")
        counts = support.read_manifest(read_bytes(self.folder, "joined", "manifest.cfg").decode())["counts"]
        self.assertEqual(counts, self.counts)
        self.check_refusals()
        self.check_places()

    def check_refusals(self):
        merge = ["merge", "--out", "x"]
        self.assert_refused(self.run_it(*merge, *self.folders(3, 1)), 2, "of 3 shards one is missing: 2")
        self.assert_refused(self.run_it(*merge, *self.folders(1, 2, 3, 1)), 2,
                            "out/shard-1-of-3 and out/shard-1-of-3 both hold shard 1 of 3")
        self.assert_refused(self.run_it(*merge, *self.folders(1, 4)), 2, "no journal in out/shard-4-of-3")
        self.assert_refused(self.run_it(*merge, "--study", "single.cfg", *self.folders(1, 2, 3)), 2,
                            "cannot join the journal in out/shard-1-of-3: it is of another study")
        self.assertNotIn("x", os.listdir(self.folder))

    def check_places(self):
        """The study is found from elsewhere, and where it has gone."""
        os.mkdir(self.path("deep"))
        folders = [os.path.join("..", name) for name in self.folders(1, 2, 3)]
        done = support.run(["merge", *folders, "--out", "joined"], self.path("deep"))
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assert_results("deep", "joined")
        os.rename(self.path(STUDY), self.path("gone.cfg"))
        merge = ["merge", *self.folders(1, 2, 3), "--out", "joined"]
        self.assert_refused(self.run_it(*merge), 3, STUDY)
        self.assertEqual(self.run_it(*merge, "--study", "gone.cfg").returncode, 0)
        self.assert_results("joined")

    def test_one_that_is_not_finished(self):
        with start(self.folder, "run", "wide.cfg", "--shard", "2/3", "--threads", "1", "--out", "part") as process:
            wait_for(self.path("part", "journal.db"))
            time.sleep(0.2)
            process.send_signal(signal.SIGINT)
            talk = process.stderr.read().decode()
        self.assertEqual(process.returncode, 130, talk)
        self.assertIn("--shard 2/3 --threads 1 --out part --resume", talk)
        self.assert_refused(self.run_it("merge", "part", "--out", "joined"), 2, "shard 2 of 3 in part is not finished")

    def test_odd_numbers(self):
        for text in ("0/3", "4/3", "1", "1/", "/3", "a/b", "1/3/3", "1/100001", "-1/3", "1/3x"):
            self.assert_refused(self.run_it("run", STUDY, "--shard", text), 2, f'--shard: found "{text}"')
        self.assert_refused(self.run_it("run", STUDY, "--resume", "--anew"), 2, "one of --resume and --anew")

    def test_more_shards_than_there_is_to_do(self):
        for i in range(1, 6):
            self.assertEqual(self.run_it("run", "single.cfg", "--shard", f"{i}/5", "--out", f"s{i}").returncode, 0)
        self.assertEqual(self.run_it("merge", "s1", "s2", "s3", "s4", "s5", "--out", "joined").returncode, 0)
        self.assertEqual(self.run_it("run", "single.cfg", "--out", "one").returncode, 0)
        self.assertFalse(os.path.exists(self.path("joined", "tradeoffs.csv")))
        for name in (name for name in CSV_FILES if name in support.FILES):
            self.assertEqual(read_bytes(self.folder, "one", name), read_bytes(self.folder, "joined", name))


del Journal  # nothing to run by itself
