"""Tables of the closed cycle and where they are kept."""
import contextlib
import os
import sqlite3
import stat

import support
import test_cycle
from support import records
from test_cycle import DATABASE, OWN


class Tables(test_cycle.Cycle):
    def test_kept_for_the_next_run(self):
        self.seed("own")
        self.assertEqual(self.sources(self.sheave("check", "knock.cfg", "--cache", "own")),
                         {"super": "from file", "race": "from file"})

    def test_usual_places(self):
        self.seed("xdg/sheave")
        self.seed("home/.cache/sheave")
        for more in ({"XDG_CACHE_HOME": self.path("xdg")}, {"HOME": self.path("home")} | OWN,
                     {"XDG_CACHE_HOME": "relative", "HOME": self.path("home")}):
            done = self.sheave("check", "knock.cfg", env=support.environment(**more))
            self.assertEqual(self.sources(done), {"super": "from file", "race": "from file"}, more)
            self.assertEqual(done.stderr, b"")
        self.assertNotIn("relative", os.listdir(self.folder))

    def test_made_for_its_owner_only(self):
        done = self.sheave("point", "knock.cfg", "--combination", "0", "--csv",
                           env=support.environment(XDG_CACHE_HOME=self.path("new/cache")))
        self.assertEqual(done.stderr, b"")
        for folder in ("new", "new/cache", "new/cache/sheave"):
            self.assertEqual(stat.S_IMODE(os.stat(self.path(folder)).st_mode), 0o700, folder)
        with contextlib.closing(sqlite3.connect(self.path("new/cache/sheave", DATABASE))) as kept:
            self.assertEqual(kept.execute("SELECT count(*) FROM cycle_table").fetchone(), (1,),
                             "a kit needs no more than its own table")

    def test_not_there_and_not_possible(self):
        with open(self.path("file"), "wb"):
            pass
        for arguments, env, why in (
                ([], support.environment(**OWN), b"neither XDG_CACHE_HOME nor HOME names a folder"),
                (["--cache", "file"], None, b"file is not a folder"),
                (["--cache", "file/deep"], None, b"cannot make the folder file/deep: Not a directory")):
            done = self.sheave("point", "knock.cfg", "--combination", "0", "--csv", *arguments,
                               env=env or support.environment())
            self.assertEqual(len(records(done.stdout)), 3)
            self.assertTrue(done.stderr.startswith(b"sheave point: note: cycle tables are not kept: "), done.stderr)
            self.assertIn(why, done.stderr)

    def test_nothing_kept(self):
        done = self.sheave("point", "knock.cfg", "--combination", "0", "--csv", "--no-cache",
                           env=support.environment(XDG_CACHE_HOME=self.path("new")))
        self.assertEqual(done.stderr, b"")
        self.assertNotIn("new", os.listdir(self.folder))
        self.assertEqual(done.stdout, self.sheave("point", "knock.cfg", "--combination", "0", "--csv").stdout)

    def test_damaged_file_is_told_and_built_anew(self):
        self.seed("own")
        self.assertEqual(os.listdir(self.path("own")), [DATABASE])
        os.truncate(self.path("own", DATABASE), 1000)
        done = self.sheave("point", "knock.cfg", "--combination", "0", "--csv", "--cache", "own")
        self.assertEqual(done.stderr,
                         b"sheave point: note: own/cycle-tables.db cannot be read: it is damaged\n")
        self.assertEqual(done.stdout, self.sheave("point", "knock.cfg", "--combination", "0", "--csv").stdout)

    def test_options_that_do_not_go_together(self):
        for command in ("check", "run", "point"):
            done = self.sheave(command, "knock.cfg", "--cache", "x", "--no-cache")
            self.assertEqual((done.returncode, done.stderr),
                             (2, f"sheave {command}: give one of --cache and --no-cache\n".encode()))
            done = self.sheave(command, "knock.cfg", "--cache", "")
            self.assertEqual((done.returncode, done.stderr),
                             (2, f"sheave {command}: --cache: a folder is needed\n".encode()))

    def test_other_models_need_none(self):
        done = self.sheave("run", "single.cfg", env=support.environment(XDG_CACHE_HOME=self.path("new")))
        self.assertEqual((done.returncode, done.stderr), (0, b""))
        self.assertNotIn("new", os.listdir(self.folder))
