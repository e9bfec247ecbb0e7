"""Full disks, folders that can't be written, closed output, signals."""
import os
import resource
import shutil
import signal
import subprocess
import time
import unittest

import support
from support import read_bytes


LIMIT = 32768  # bytes; more than the journal of a small study
KEPT_HINT = (b"sheave run: what is done until then is kept, go on with\n"
             b"  sheave run kit.cfg --out there --resume\n")
SWEPT = r"\d+\.\d % of the sweep is kept, go on with\n  sheave run wide.cfg --out old/new --resume\n"
SEARCHED = (r"at the search; the results of the sweep are in old/new and what was found since is kept, go on with\n"
            r"  sheave run slow_search.cfg --out old/new --resume\n")
FROM_THE_SWEEP = set(support.FILES) - {"optimum.csv", "limit_worth.csv"}


def limit_files(size):
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


class Output(unittest.TestCase):
    """Standard output that can't take what is printed."""
    COMMANDS = (["--help"], ["--version"], ["run", "--help"], ["check", "kit.cfg"], ["run", "single.cfg"],
                ["point", "kit.cfg", "--combination", "477"], ["point", "kit.cfg", "--combination", "477", "--csv"],
                ["check", "knock.cfg"], ["point", "knock.cfg", "--stock", "--cycle", "4000 rpm"])

    def check(self, **how):
        for arguments in self.COMMANDS:
            with self.subTest(command=" ".join(arguments)), support.workspace() as folder:
                done = support.run(arguments, folder, **how)
                self.assertEqual(done.returncode, 3)
                self.assertEqual(done.stderr.count(b"\n"), 1, done.stderr)
                self.assertIn(b"cannot write", done.stderr)

    def test_full(self):
        with open("/dev/full", "wb") as full:
            self.check(stdout=full)

    def test_closed(self):
        self.check(stdout=None, preexec_fn=lambda: os.close(1))

    def test_no_file_takes_the_place_of_a_closed_stream(self):
        """Messages would land in it."""
        with support.workspace() as folder:
            process = subprocess.Popen([support.program, "run", "wide.cfg", "--out", "there"], cwd=folder,
                                       preexec_fn=lambda: os.closerange(0, 3))
            try:
                deadline = time.monotonic() + support.TIMEOUT
                while not os.path.isdir(os.path.join(folder, "there")) and time.monotonic() < deadline:
                    time.sleep(0.01)
                self.assertEqual([os.readlink(f"/proc/{process.pid}/fd/{i}") for i in range(3)], ["/dev/null"] * 3)
            finally:
                process.kill()
                process.wait()

    def test_closed_input_and_messages_do_not_matter(self):
        with support.workspace() as folder:
            for name, closed in (("open", ()), ("closed", (0, 2))):
                done = support.run(["run", "single.cfg", "--out", name], folder, stdin=None, stderr=None,
                                   preexec_fn=lambda closed=closed: [os.close(i) for i in closed])
                self.assertEqual(done.returncode, 0)
            for name in support.FILES[:-1]:
                self.assertEqual(read_bytes(folder, "open", name), read_bytes(folder, "closed", name))

    def test_files_are_there_all_the_same(self):
        with support.workspace() as folder, open("/dev/full", "wb") as full:
            support.run(["run", "single.cfg", "--out", "there"], folder, stdout=full)
            self.assertEqual(sorted(os.listdir(os.path.join(folder, "there"))), sorted(support.FILES + support.KEPT))


class Folder(unittest.TestCase):
    """Results that can't be written."""

    def setUp(self):
        self.workspace = support.workspace()
        self.folder = self.workspace.name
        self.there = os.path.join(self.folder, "there")
        self.addCleanup(self.workspace.cleanup)

    def keep(self, rows, curves):
        """kit.cfg with more results than fit where its journal does (LIMIT)."""
        path = os.path.join(self.folder, "kit.cfg")
        with open(path, encoding="utf-8") as file:
            text = file.read()
        with open(path, "w", encoding="utf-8") as file:
            file.write(text.replace("keep = 40; curves = 3;", f"keep = {rows}; curves = {curves};"))

    def run_study(self, study="kit.cfg", **how):
        return support.run(["run", study, "--out", "there"], self.folder, **how)

    def test_first_file_too_large(self):
        self.keep(1000, 3)
        done = self.run_study(preexec_fn=limit_files(LIMIT))
        self.assertEqual(done.returncode, 3)
        self.assertEqual(done.stderr, b"sheave run: cannot write there/ranked.csv: File too large\n" + KEPT_HINT)
        self.assertEqual(done.stdout, b"")
        self.assertEqual(sorted(os.listdir(self.there)), sorted(support.KEPT))
        self.assertEqual(support.run(["run", "kit.cfg", "--out", "there", "--resume"], self.folder).returncode, 0)

    def test_journal_too_large(self):
        done = self.run_study(preexec_fn=limit_files(4096))
        self.assertEqual(done.returncode, 3)
        self.assertEqual(done.stderr, b"sheave run: cannot write there/journal.db: File too large\n")
        self.assertEqual(os.listdir(self.there), [])

    def test_old_files_survive(self):
        self.keep(1000, 3)
        self.assertEqual(self.run_study().returncode, 0)
        before = {name: read_bytes(self.there, name) for name in support.FILES}
        for size in (4096, LIMIT):
            self.assertEqual(self.run_study(preexec_fn=limit_files(size)).returncode, 3)
            self.assertEqual({name: read_bytes(self.there, name) for name in support.FILES}, before)

    def test_later_file_too_large(self):
        """Those before it are whole, of itself there is nothing."""
        self.keep(40, 40)
        self.assertEqual(self.run_study().returncode, 0)
        whole = read_bytes(self.there, "ranked.csv")
        self.assertTrue(len(whole) < LIMIT < os.path.getsize(os.path.join(self.there, "curves.csv")))
        shutil.rmtree(self.there)
        done = self.run_study(preexec_fn=limit_files(LIMIT))
        self.assertEqual(done.returncode, 3)
        self.assertEqual(sorted(os.listdir(self.there)), sorted(["ranked.csv", *support.KEPT]))
        self.assertEqual(read_bytes(self.there, "ranked.csv"), whole)

    def test_name_of_a_file_taken_by_a_folder(self):
        os.makedirs(os.path.join(self.there, "curves.csv"))
        done = self.run_study()
        self.assertEqual(done.returncode, 3)
        self.assertEqual(done.stderr, b"sheave run: cannot write there/curves.csv: Is a directory\n" + KEPT_HINT)
        self.assertEqual(sorted(os.listdir(self.there)), sorted(["curves.csv", "ranked.csv", *support.KEPT]))

    def test_picture_taken_by_a_folder(self):
        self.assertEqual(self.run_study("single.cfg").returncode, 0)
        os.makedirs(os.path.join(self.there, "plots", "power.svg"))
        done = support.run(["report", "there"], self.folder)
        self.assertEqual(done.returncode, 3)
        self.assertIn(b"there/plots/power.svg", done.stderr)
        os.rmdir(os.path.join(self.there, "plots", "power.svg"))
        self.assertEqual(support.run(["report", "there"], self.folder).returncode, 0)

    def check_not_allowed(self, path, message):
        """As an ordinary user; the program is copied to where that user may run it."""
        program, how = support.program, {}
        if os.geteuid() == 0:
            program = shutil.copy(support.program, os.path.join(self.folder, "sheave-copy"))
            os.chmod(self.folder, 0o755)
            how["user"], how["group"], how["extra_groups"] = 65534, 65534, []
        # A long search: it must be told before, not after an hour.
        arguments = [program, "run", "slow_search.cfg", "--out", path]
        start = time.monotonic()
        done = subprocess.run(arguments, cwd=self.folder, stdin=subprocess.DEVNULL, capture_output=True,
                              timeout=60, check=False, **how)
        self.assertEqual(done.stderr.decode(), message)
        self.assertEqual(done.returncode, 3)
        self.assertLess(time.monotonic() - start, 20)

    def test_folder_is_read_only(self):
        os.mkdir(self.there, 0o555)
        self.check_not_allowed("there", "sheave run: cannot write into the folder there: Permission denied\n")

    def test_folder_in_a_read_only_folder(self):
        os.mkdir(self.there, 0o555)
        self.check_not_allowed("there/deep", "sheave run: cannot make the folder there/deep: Permission denied\n")


class Links(unittest.TestCase):
    """Whoever may write into a folder of results does not say where else is written."""

    def setUp(self):
        self.workspace = support.workspace()
        self.folder = self.workspace.name
        self.addCleanup(self.workspace.cleanup)
        os.mkdir(os.path.join(self.folder, "there"))

    def link(self, name, to):
        os.symlink(to, os.path.join(self.folder, "there", name))

    def refused(self, command, name, to, message, code=3):
        self.link(name, to)
        done = support.run([*command, "--out", "there"], self.folder)
        self.assertEqual((done.returncode, done.stderr.decode()), (code, message))
        self.assertFalse(os.path.exists(os.path.join(self.folder, "there", name)), "the link still leads nowhere")

    def test_table(self):
        self.refused(["run", "single.cfg"], "ranked.csv.part", "../other", "sheave run: cannot write there/ranked.csv: a symbolic link stands "
                     "there\n" + KEPT_HINT.decode().replace("kit.cfg", "single.cfg"))

    def test_journal(self):
        self.refused(["run", "single.cfg"], "journal.db", "../other.db", "sheave run: cannot open there/journal.db: a symbolic link stands there\n")

    def test_journal_to_be_dropped(self):
        self.refused(["run", "single.cfg", "--anew"], "journal.db", "../other.db",
                     "sheave run: cannot empty there/journal.db: Too many levels of symbolic links\n")

    def test_log(self):
        self.refused(["run", "single.cfg"], "run.log", "../other", "sheave run: warning: cannot write run.log: a symbolic link stands there\n", 0)

    def test_sweeps(self):
        self.refused(["plan", "range.cfg"], "sweeps", "../other", "sheave plan: cannot write into there/sweeps: a symbolic link stands there\n")

    def test_plots(self):
        path = os.path.join(self.folder, "single.cfg")
        with open(path, encoding="utf-8") as file:
            text = file.read()
        with open(path, "w", encoding="utf-8") as file:
            file.write(text.replace(" report = false;", ""))
        self.refused(["run", "single.cfg"], "plots", "../other", "sheave run: cannot write into there/plots: a symbolic link stands there\n")

    def test_folder_itself(self):
        """Where results go is said on the command line, by a link or not."""
        os.mkdir(os.path.join(self.folder, "elsewhere"))
        os.symlink("elsewhere", os.path.join(self.folder, "led"))
        self.assertEqual(support.run(["run", "single.cfg", "--out", "led"], self.folder).returncode, 0)
        self.assertIn("ranked.csv", os.listdir(os.path.join(self.folder, "elsewhere")))


class Interrupted(unittest.TestCase):
    """The signal comes while tables are built or the sweep or the search runs. All would take far longer than the
    test may."""

    def check(self, study, number, delay, says, *options, left=()):
        with support.workspace() as folder:
            # Old results must stay as they are.
            self.assertEqual(support.run(["run", "single.cfg", "--out", "old"], folder).returncode, 0)
            old = os.path.join(folder, "old")
            before = {name: read_bytes(old, name) for name in os.listdir(old)}
            new = os.path.join(folder, "old", "new")
            process = subprocess.Popen([support.program, "run", study, "--out", "old/new", *options], cwd=folder,
                                       stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
            try:
                deadline = time.monotonic() + support.TIMEOUT
                while not os.path.isdir(new) and time.monotonic() < deadline:
                    time.sleep(0.01)  # the folder is made when signals are caught already
                time.sleep(delay)
                self.assertIsNone(process.poll(), "ended before it was interrupted")
                process.send_signal(number)
                printed, talk = process.communicate(timeout=20)
            finally:
                if process.poll() is None:
                    process.kill()
                    process.communicate()
            self.assertEqual(process.returncode, 130)
            self.assertRegex(talk.decode(), rf"\Asheave run: interrupted;? {says}\Z")
            self.assertEqual(printed, b"")
            self.assertEqual(set(os.listdir(new)), set(support.KEPT) | set(left))
            shutil.rmtree(new)
            self.assertEqual({name: read_bytes(old, name) for name in os.listdir(old)}, before)

    def test_tables_by_sigint(self):
        self.check("many_tables.cfg", signal.SIGINT, 0.4, r"nothing was written\n", "--no-cache")

    def test_tables_by_sigterm(self):
        self.check("many_tables.cfg", signal.SIGTERM, 0.4, r"nothing was written\n", "--no-cache")

    def test_sweep_by_sigint(self):
        self.check("wide.cfg", signal.SIGINT, 0.4, SWEPT)

    def test_sweep_by_sigterm(self):
        self.check("wide.cfg", signal.SIGTERM, 0.4, SWEPT)

    def test_search_by_sigint(self):
        self.check("slow_search.cfg", signal.SIGINT, 1.0, SEARCHED, left=FROM_THE_SWEEP)  # the sweep before is short

    def test_search_by_sigterm(self):
        self.check("slow_search.cfg", signal.SIGTERM, 1.0, SEARCHED, left=FROM_THE_SWEEP)
