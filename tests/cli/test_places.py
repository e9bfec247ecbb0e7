"""Other places: whatever locale, mask, home, cache and clocks a machine has, the same bytes come out."""
import os
import subprocess
import tempfile
import time
import unittest

import support
from support import read_bytes

SAME = [name for name in support.FILES if name != "manifest.cfg"]  # which says when and where
STUDY = ["run", "knock.cfg", "--no-report"]


class Places(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.workspace = support.workspace()
        cls.addClassCleanup(cls.workspace.cleanup)
        cls.folder = cls.workspace.name
        cls.plain = cls.results("plain")

    @classmethod
    def results(cls, out, preexec_fn=None, says=b"", **environment):
        """Bytes of the results of a run there, by name, and what was printed."""
        done = support.run([*STUDY, "--out", out], cls.folder, env=support.environment(**environment), preexec_fn=preexec_fn)
        if done.returncode != 0 or says not in done.stderr or (not says and done.stderr):
            raise AssertionError(f"{done.returncode} {done.stderr}")
        found = {name: read_bytes(cls.folder, out, name) for name in SAME}
        found["stdout"] = done.stdout.replace(out.encode(), b"OUT")
        return found

    def is_same(self, out, **how):
        for name, data in self.results(out, **how).items():
            self.assertTrue(data == self.plain[name], name)

    # ---- a locale with decimal commas ----

    def comma(self):
        """The environment of one, made here; what it does to numbers is asked of another program."""
        made = tempfile.TemporaryDirectory(prefix="sheave-locale-")
        self.addCleanup(made.cleanup)
        subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", os.path.join(made.name, "de_DE.UTF-8")], check=True, capture_output=True)
        names = {"LOCPATH": made.name, "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"}
        shown = subprocess.run(["printf", "%.1f", "1,5"], env=os.environ | names, capture_output=True, check=True).stdout
        self.assertEqual(shown, b"1,5", "the locale has decimal commas")
        return names

    def test_decimal_commas(self):
        self.is_same("comma", **self.comma())

    # ---- masks ----

    def test_masks(self):
        for mask, mode in ((0o077, 0o600), (0o000, 0o666)):
            out = f"mask{mask}"
            self.is_same(out, preexec_fn=lambda mask=mask: os.umask(mask))
            modes = {name: os.stat(os.path.join(self.folder, out, name)).st_mode & 0o777 for name in (*SAME, "run.log", "manifest.cfg")}
            self.assertEqual(set(modes.values()), {mode}, modes)

    # ---- the cache ----

    def test_no_home(self):
        self.is_same("homeless", XDG_CACHE_HOME=None, says=b"neither XDG_CACHE_HOME nor HOME names a folder")

    def test_relative_cache(self):
        self.is_same("relative", XDG_CACHE_HOME="cache", says=b"neither XDG_CACHE_HOME nor HOME names a folder")
        self.assertNotIn("cache", os.listdir(self.folder))

    def test_cache_that_can_not_be_written(self):
        self.is_same("unwritable", XDG_CACHE_HOME="/dev/null", says=b"cycle tables are not kept: cannot make the folder")

    # ---- clocks ----

    def test_clocks_apart(self):
        """Two machines did the halves, one a day behind and one a year ahead, in other zones; a third joins them."""
        for i, days, zone in ((1, -1, "Pacific/Kiritimati"), (2, 365, "America/Adak")):
            done = support.run([*STUDY, "--shard", f"{i}/2", "--out", f"half{i}"], self.folder, env=support.environment(TZ=zone))
            self.assertEqual(done.returncode, 0, done.stderr)
            for name in os.listdir(os.path.join(self.folder, f"half{i}")):
                then = time.time() + days * 86400
                os.utime(os.path.join(self.folder, f"half{i}", name), (then, then))
        done = support.run(["merge", "half1", "half2", "--out", "joined", "--no-report"], self.folder)
        self.assertEqual((done.returncode, done.stderr), (0, b""))
        for name in SAME:
            self.assertTrue(read_bytes(self.folder, "joined", name) == self.plain[name], name)
