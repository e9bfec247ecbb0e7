"""sheave report, and the pages at the end of a run: made from the folder alone, and nothing lost when they can't be."""
import html.parser
import os
import re
import shutil
import unittest
import xml.dom.minidom

import support
from support import read_bytes, read_manifest

TIMES = re.compile(rb"begun [^.]*\.|<dd>[^<]*</dd>")
NO_GNUPLOT = (b"there is no gnuplot to draw the plots with; their scripts and data are in plots. Install it (on Debian: "
              b"gnuplot-nox), then run sheave report on the results\n")


def tree(folder):
    """Names and bytes of all files below a folder."""
    return {os.path.relpath(os.path.join(where, name), folder): read_bytes(where, name)
            for where, _, names in os.walk(folder) for name in names}


class Elements(html.parser.HTMLParser):
    """Every element that begins ends in its place, but for those that have no end."""
    EMPTY = {"meta", "link", "br", "hr", "img", "input", "col"}

    def __init__(self, test):
        super().__init__()
        self.test, self.open = test, []

    def handle_starttag(self, tag, attrs):
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        pass

    def handle_endtag(self, tag):
        self.test.assertEqual(self.open.pop(), tag, self.getpos())


class Report(unittest.TestCase):
    """A run with pages, and a folder without gnuplot to be the PATH."""

    def setUp(self):
        self.workspace = support.workspace()
        self.addCleanup(self.workspace.cleanup)
        self.folder = self.workspace.name
        self.there = os.path.join(self.folder, "there")
        self.bin = os.path.join(self.folder, "bin")
        os.mkdir(self.bin)
        path = os.path.join(self.folder, "kit.cfg")
        with open(path, encoding="utf-8") as file:
            text = file.read()
        with open(path, "w", encoding="utf-8") as file:
            file.write(text.replace(" report = false;", ""))

    def sheave(self, *arguments, path="/usr/bin:/bin"):
        return support.run(arguments, self.folder, env=support.environment(PATH=path))

    def stand_in(self, text):
        path = os.path.join(self.bin, "gnuplot")
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        os.chmod(path, 0o755)

    def need_gnuplot(self):
        if shutil.which("gnuplot") is None:
            self.skipTest("gnuplot is not installed")

    def test_run_ends_with_pages(self):
        self.need_gnuplot()
        done = self.sheave("run", "kit.cfg", "--out", "there")
        self.assertEqual((done.returncode, done.stderr), (0, b""))
        self.assertIn(b"\nResults are in there\nOpen there/report.html to see them.\nNext: sheave report there --kit 1",
                      done.stdout)
        files = tree(self.there)
        self.assertLessEqual(set(support.FILES) | {"report.html", "plots/power.svg", "plots/row-3.svg"}, set(files))
        self.assertEqual([name for name in files if name.endswith(".part")], [])
        self.assertRegex(files["run.log"].decode(), r"page: done, \d+\.\d s\n")

    def test_no_report(self):
        done = self.sheave("run", "kit.cfg", "--out", "there", "--no-report")
        self.assertEqual(done.returncode, 0)
        self.assertEqual(sorted(os.listdir(self.there)), sorted(support.FILES + support.KEPT))

    def test_drawn_again_from_the_folder_alone(self):
        """The same bytes, and no other file touched."""
        self.need_gnuplot()
        self.assertEqual(self.sheave("run", "kit.cfg", "--out", "there").returncode, 0)
        before = tree(self.there)
        for name in os.listdir(self.folder):
            if name.endswith(".cfg"):
                os.remove(os.path.join(self.folder, name))
        os.rename(self.there, os.path.join(self.folder, "moved"))
        for name in list(before):
            if name == "report.html" or name.startswith("plots/"):
                os.remove(os.path.join(self.folder, "moved", name))
        done = self.sheave("report", "moved", "--kit", "2")
        self.assertEqual((done.returncode, done.stdout, done.stderr),
                         (0, b"moved/report.html\nmoved/kit-2.html\n", b""))
        after = tree(os.path.join(self.folder, "moved"))
        self.assertGreater(len(after.pop("kit-2.html")), 10000)
        self.assertEqual(after, before)

    def test_a_script_draws_its_picture_by_itself(self):
        self.need_gnuplot()
        self.assertEqual(self.sheave("run", "kit.cfg", "--out", "there").returncode, 0)
        plots = os.path.join(self.there, "plots")
        before = read_bytes(plots, "power.svg")
        os.remove(os.path.join(plots, "power.svg"))
        saved, support.program = support.program, "/usr/bin/gnuplot"
        try:
            done = support.run(["power.gp"], plots)
        finally:
            support.program = saved
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(read_bytes(plots, "power.svg"), before)

    def test_without_gnuplot_nothing_is_lost(self):
        done = self.sheave("run", "kit.cfg", "--out", "there", path=self.bin)
        self.assertEqual((done.returncode, done.stderr), (0, b"sheave run: " + NO_GNUPLOT))
        files = tree(self.there)
        self.assertLessEqual(set(support.FILES) | {"report.html", "plots/power.gp", "plots/power.dat"}, set(files))
        self.assertEqual([name for name in files if name.endswith(".svg")], [])
        self.assertIn(b"gnuplot did not draw it", files["report.html"])
        done = self.sheave("report", "there", path=self.bin)
        self.assertEqual((done.returncode, done.stderr), (0, b"sheave report: " + NO_GNUPLOT))

    def test_gnuplot_that_fails(self):
        self.stand_in("#!/bin/sh\n[ \"$4\" = power.gp ] && echo half > power.svg.part\necho 'line 3: no such terminal' >&2\nexit 1\n")
        done = self.sheave("run", "kit.cfg", "--out", "there", path=self.bin)
        self.assertEqual(done.returncode, 0)
        self.assertEqual(done.stderr, b"sheave run: gnuplot could not draw power.gp: line 3: no such terminal\n")
        files = tree(self.there)
        self.assertIn("report.html", files)
        self.assertEqual([name for name in files if name.endswith(".part")], [])

    def rename(self, worst):
        """All names of kit.cfg that a user gives end so."""
        quoted = worst.replace("\\", "\\\\").replace('"', '\\"')
        for file in ("parts.cfg", "kit.cfg", "car.cfg"):
            path = os.path.join(self.folder, file)
            with open(path, encoding="utf-8") as old:
                text = old.read()
            for name in ("short", "long, twisted", "grille", "plain", "good", "harbour", "pass"):
                text = text.replace(f'"{name}"', f'"{name[0]}{quoted}"')
            with open(path, "w", encoding="utf-8") as new:
                new.write(text)

    def test_names_of_the_worst_characters(self):
        """Each picture is XML, the page is HTML with all its elements closed, and with the pictures in it XML again."""
        self.need_gnuplot()
        self.rename("]]>&<b>\"'\\z{/b}`x`$y %s url(#a) id=\"b\" --> \uffff\u202e")
        done = self.sheave("run", "kit.cfg", "--out", "there")
        self.assertEqual((done.returncode, done.stderr), (0, b""))
        self.assertEqual(self.sheave("report", "there", "--kit", "1").returncode, 0)
        files = tree(self.there)
        pictures = [name for name in files if name.endswith(".svg")]
        self.assertGreater(len(pictures), 8)
        for name in pictures:
            with self.subTest(name=name):
                xml.dom.minidom.parseString(files[name])
        for name in ("report.html", "kit-1.html"):
            page = files[name].decode()
            Elements(self).feed(page)
            drawn = re.findall(r"<svg.*?</svg>", page, re.DOTALL)
            self.assertGreater(len(drawn), 0)
            for svg in drawn:
                xml.dom.minidom.parseString(svg)
            self.assertIsNone(re.search(r"url\(#[a-z0-9]+-a\)", "".join(drawn)), "a name is no reference")

    def test_half_a_picture(self):
        """gnuplot does not say that its disk was full: what it drew is named, and put nowhere, whoever asked for it."""
        self.stand_in('#!/bin/sh\n[ "$4" = rows.gp ] || printf "<svg><path " > "${4%.gp}.svg.part"\n')
        for command in (["run", "kit.cfg", "--out", "there"], ["report", "there"]):
            done = self.sheave(*command, path=self.bin)
            self.assertEqual(done.returncode, 3, done.stderr)
            self.assertEqual(done.stderr.decode(),
                             f"sheave {command[0]}: cannot put there/plots/power.svg in its place: gnuplot drew half of it\n")
            files = tree(self.there)
            self.assertIn("report.html", files)
            self.assertEqual([name for name in files if name.endswith((".part", ".svg"))], [])

    def test_nobody_reads_to_the_end(self):
        """As in `sheave run | head -3`: all results are there, the page too, and that the answer went nowhere is told."""
        for how in ((), ("--long",)):
            reading, writing = os.pipe()
            os.close(reading)
            try:
                done = support.run(["run", "kit.cfg", "--out", "there", "--anew", *how], self.folder, stdout=writing,
                                   env=support.environment(PATH=self.bin))
            finally:
                os.close(writing)
            self.assertEqual(done.returncode, 3)
            self.assertIn(b"Broken pipe", done.stderr)
            self.assertLessEqual(set(support.FILES) | {"report.html"}, set(tree(self.there)))
            shutil.rmtree(self.there)

    def test_pages_that_can_not_be_written(self):
        """Trouble, but the tables are there."""
        os.mkdir(self.there)
        with open(os.path.join(self.there, "plots"), "w", encoding="utf-8"):
            pass
        done = self.sheave("run", "kit.cfg", "--out", "there")
        self.assertEqual(done.returncode, 3)
        self.assertIn(b"there/plots", done.stderr)
        self.assertLessEqual(set(support.FILES), set(os.listdir(self.there)))

    def test_merged_shards_give_the_same_page(self):
        self.need_gnuplot()
        self.assertEqual(self.sheave("run", "kit.cfg", "--out", "there").returncode, 0)
        for i in "12":
            self.assertEqual(self.sheave("run", "kit.cfg", "--shard", f"{i}/2", "--out", f"part{i}").returncode, 0)
            self.assertFalse(os.path.exists(os.path.join(self.folder, f"part{i}", "report.html")))
        done = self.sheave("merge", "part1", "part2", "--out", "merged")
        self.assertEqual((done.returncode, done.stderr), (0, b""))
        one, two = tree(self.there), tree(os.path.join(self.folder, "merged"))
        for files in one, two:
            files["report.html"] = TIMES.sub(b"", files["report.html"])
            for name in ("manifest.cfg", *support.KEPT):
                files.pop(name, None)
        self.assertEqual(one, two)

    def test_ranks_without_curves(self):
        self.assertEqual(self.sheave("run", "kit.cfg", "--out", "there", "--no-report").returncode, 0)
        done = self.sheave("report", "there", "--kit", "4")
        self.assertEqual(done.returncode, 2)
        self.assertIn(b"sheave report: there has curves of 3 kits, ranks 1 to 3; found 4", done.stderr)
        self.assertFalse(os.path.exists(os.path.join(self.there, "kit-4.html")))

    def test_damaged_results(self):
        self.assertEqual(self.sheave("run", "kit.cfg", "--out", "there", "--no-report").returncode, 0)
        with open(os.path.join(self.there, "curves.csv"), "ab") as file:
            file.write(b"1,2\r\n")
        done = self.sheave("report", "there")
        self.assertEqual(done.returncode, 2)
        self.assertRegex(done.stderr.decode(), r"\Asheave report: there/curves\.csv:\d+: more or fewer cells")

    def test_odd_names_of_the_folder(self):
        self.need_gnuplot()
        odd = "it's a \"folder\" $HOME\n`date` ü"
        self.assertEqual(self.sheave("run", "kit.cfg", "--out", odd).returncode, 0)
        done = self.sheave("report", odd)
        self.assertEqual((done.returncode, done.stderr), (0, b""))
        self.assertIn("plots/power.svg", tree(os.path.join(self.folder, odd)))

    def test_study_is_the_manifests(self):
        self.assertEqual(self.sheave("run", "kit.cfg", "--out", "there", path=self.bin).returncode, 0)
        manifest = read_manifest(read_bytes(self.there, "manifest.cfg").decode())
        self.assertIn(manifest["study"]["sha256_all"].encode(), read_bytes(self.there, "report.html"))
