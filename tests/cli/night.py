"""What tests of runs that are broken off share."""
import os
import signal
import subprocess
import time
import unittest

import support
from support import read_bytes

STUDY = "night.cfg"
CSV_FILES = [name for name in support.FILES if name.endswith(".csv")] + ["tradeoffs.csv", "serving.csv"]


def start(folder, *arguments, **how):
    how = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": subprocess.PIPE, "cwd": folder,
           "env": support.environment()} | how
    return subprocess.Popen([support.program, *arguments], **how)


def wait_for(path):
    deadline = time.monotonic() + support.TIMEOUT
    while not os.path.exists(path) and time.monotonic() < deadline:
        time.sleep(0.01)


class Journal(unittest.TestCase):
    """A folder of studies, what an undisturbed run of one gives, and a run that is started and left."""

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


class Searched(Journal):
    """The same of a study whose search takes its time."""
    SEARCHED = "searched.cfg"
    MORE = ("optimum.csv", "limit_worth.csv")

    @classmethod
    def setUpClass(cls):
        """What an undisturbed run of the study gives."""
        with support.workspace() as folder:
            done = support.run(["run", cls.SEARCHED, "--out", "whole"], folder)
            assert done.returncode == 0, done.stderr
            cls.whole = {name: read_bytes(folder, "whole", name)
                         for name in os.listdir(os.path.join(folder, "whole")) if name.endswith(".csv")}
        cls.files = set(cls.whole)
        assert cls.files.issuperset(cls.MORE)

    def setUp(self):
        super().setUp()
        self.study = self.SEARCHED

    def assert_whole(self, *where):
        for name in self.files:
            self.assertEqual(read_bytes(self.folder, *where, name), self.whole[name], name)

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
