"""The stages of a run: what the sweep gave is there before the search, and each goes on where it was."""
import contextlib
import os
import shutil
import sqlite3
import struct
import time

import night
import support
from night import start, wait_for
from support import read_bytes


class AfterTheSweep(night.Searched):
    """What the sweep gave is there at once; the search goes on where it was."""

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
            self.assertEqual(read_bytes(self.folder, "there", name), self.whole[name], name)
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
                items = db.execute("SELECT items FROM part WHERE name = 'notes'").fetchone()[0]
                return {place for place, word, value in struct.iter_unpack("<QQQ", items)}
        except sqlite3.Error:
            return set()
