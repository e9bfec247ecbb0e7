#!/usr/bin/env python3
"""test_sample.py SOURCE_DIR PROGRAM CACHE [--redo]: runs configs/sample.cfg and compares with results/sample and
docs/pictures, byte for byte but for times and the machine. Drawings are compared where gnuplot is the version that
results/sample/README.md names; elsewhere they must be there and be XML. --redo writes both folders anew."""
import csv
import io
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree

STUDY, RESULTS = "configs/sample.cfg", "results/sample"
FILES = ["ranked.csv", "curves.csv", "rejected.csv", "optimum.csv", "stock_engine.csv", "limits.csv", "parts.csv",
         "study.txt", "manifest.cfg", "report.html", "kit-1.html"]
PICTURES = ["power", "air", "islands", "map", "margins"]
# What may differ between two runs.
TIMES = [(re.compile(r"\nrun : *\n\{.*", re.DOTALL), "\n"),
         (re.compile(r"begun \d{4}-[^.]*\."), "begun TIME."),
         (re.compile(r"(<dt>(?:options|begun|system|machine|time taken)</dt><dd>)[^<]*"), r"\1")]
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
    for arguments in ("run", STUDY), ("report", RESULTS, "--kit", "1"):
        subprocess.run([program, *arguments], cwd=folder, stdout=subprocess.DEVNULL, check=True,
                       env=dict(os.environ, XDG_CACHE_HOME=cache))
    return os.path.join(folder, RESULTS)


def read(*path):
    with open(os.path.join(*path), encoding="utf-8", newline="") as file:
        return file.read()


# Where a search ended, and differences of almost equal numbers: they hang on the last bits of other libraries.
LOOSE = ["plain_difference", "evaluations", "binding_share_pct"]


def without_loose(text):
    header, *rows = csv.reader(io.StringIO(text))
    keep = [i for i, name in enumerate(header) if name not in LOOSE]
    return [[row[i] for i in keep] for row in [header, *rows]]


def plain(text):
    for pattern, word in TIMES:
        text = pattern.sub(word, text)
    return text


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

    def test_files_are_as_committed(self):
        for name in FILES:
            with self.subTest(file=name):
                kept, new = plain(read(root, RESULTS, name)), plain(read(made, name))
                if name == "optimum.csv":
                    kept, new = without_loose(kept), without_loose(new)
                if name.endswith(".html") and not self.same_gnuplot():
                    kept, new = DRAWING.sub("", kept), DRAWING.sub("", new)
                    new = re.sub(r'<p class="missing">.*?</p>', "", new)
                    if gnuplot() == "":
                        continue  # without drawings there are no captions either
                self.assertTrue(kept == new, f"{name} is not what {STUDY} gives now: look at what changed, then "
                                f"tests/sample/test_sample.py {root} PROGRAM CACHE --redo")

    def test_drawings_are_drawings(self):
        for name in ("report.html", "kit-1.html"):
            drawings = DRAWING.findall(read(root, RESULTS, name))
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
