#!/usr/bin/env python3
"""test_sample.py SOURCE_DIR PROGRAM CACHE [--redo]: runs configs/sample.cfg and compares with results/sample and
docs/pictures. Of the page only its study and its drawings are compared: tests/browser looks at pages. Pictures are
compared where gnuplot is the version that results/sample/README.md names; elsewhere they must be there and be XML.
--redo writes both folders anew."""
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "cli"))
import support

STUDY, RESULTS = "configs/sample.cfg", "results/sample"
FILES = ["ranked.csv", "report.html"]
PICTURES = ["power", "air", "islands", "map", "room"]
HASH = re.compile(r"\b[0-9a-f]{64}\b")
DRAWING = re.compile(r"<svg .*?</svg>", re.DOTALL)
LARGEST = 1 << 20

root = program = cache = made = workspace = None


def gnuplot():
    """Its version, such as "gnuplot 5.4 patchlevel 4"; "" where there is none."""
    if shutil.which("gnuplot") is None:
        return ""
    return subprocess.run(["gnuplot", "--version"], capture_output=True, check=True, text=True).stdout.strip()


def make(folder):
    """Runs the study in a folder, where its results go as everywhere; their folder."""
    shutil.copytree(os.path.join(root, "configs"), os.path.join(folder, "configs"))
    subprocess.run([program, "run", STUDY], cwd=folder, stdout=subprocess.DEVNULL, check=True,
                   env=dict(os.environ, XDG_CACHE_HOME=cache))
    return os.path.join(folder, RESULTS)


def read(*path):
    with open(os.path.join(*path), encoding="utf-8", newline="") as file:
        return file.read()


def redo():
    with tempfile.TemporaryDirectory() as folder:
        new = make(folder)
        for name in FILES:
            shutil.copyfile(os.path.join(new, name), os.path.join(root, RESULTS, name))
        for name in PICTURES:
            shutil.copyfile(os.path.join(new, "plots", name + ".svg"),
                            os.path.join(root, "docs/pictures", name + ".svg"))
    path = os.path.join(root, RESULTS, "README.md")
    text = re.sub(r"gnuplot \d+\.\d+ patchlevel \w+", gnuplot(), read(path))
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def setUpModule():
    global made, workspace
    workspace = tempfile.TemporaryDirectory(prefix="sheave-sample-")
    made = make(workspace.name)


def tearDownModule():
    workspace.cleanup()


class Sample(unittest.TestCase):
    maxDiff = 2000

    def same_gnuplot(self):
        return gnuplot() != "" and gnuplot() in read(root, RESULTS, "README.md")

    def test_ranking_is_as_committed(self):
        tables = [support.columns(support.read_csv(support.read_bytes(folder, "ranked.csv")))
                  for folder in (os.path.join(root, RESULTS), made)]
        support.compare_columns(self, *tables)

    def test_page_is_of_this_study(self):
        kept, new = read(root, RESULTS, "report.html"), read(made, "report.html")
        self.assertGreaterEqual(len(HASH.findall(new)), 1)
        self.assertEqual(HASH.findall(kept), HASH.findall(new))

    def test_drawings_are_drawings(self):
        drawings = DRAWING.findall(read(root, RESULTS, "report.html"))
        self.assertGreaterEqual(len(drawings), 1)
        for drawing in drawings:
            xml.etree.ElementTree.fromstring(drawing)

    def test_pictures_of_the_documentation(self):
        for name in PICTURES:
            kept = read(root, "docs/pictures", name + ".svg")
            xml.etree.ElementTree.fromstring(kept.encode())
            if self.same_gnuplot():
                self.assertTrue(kept == read(made, "plots", name + ".svg"), name)

    def test_is_small(self):
        folder = os.path.join(root, RESULTS)
        self.assertEqual(sorted(os.listdir(folder)), sorted(FILES + ["README.md"]))
        self.assertLess(sum(os.path.getsize(os.path.join(folder, n)) for n in os.listdir(folder)), LARGEST)


if __name__ == "__main__":
    root, program, cache = (os.path.abspath(path) for path in sys.argv[1:4])
    if sys.argv[4:] == ["--redo"]:
        redo()
    else:
        unittest.main(argv=sys.argv[:1])
