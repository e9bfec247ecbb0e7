#!/usr/bin/env python3
"""test_pages.py SOURCE_DIR PROGRAM: links of the pages, the top level of the repository, the cautions."""
import os
import re
import shutil
import subprocess
import sys
import unittest

root = program = None

TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "CMakeLists.txt", "src", "include", "configs", "tests", "results",
       "docs"}
CAUTIONS = ("Belts and rotors at speed, fuel under pressure, hot charge pipes and detonation hurt people and destroy "
            "engines.",
            "Results are estimates: confirm them on a dynamometer with wide-band mixture and knock measurement, start "
            "conservative",
            "the local rules for vehicles, emissions and noise",
            "Where a qualified engineer is called for, their word stands above this program's.")

LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")
FENCE = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)
CODE = re.compile(r"`[^`\n]*`")
HEADING = re.compile(r"^#+ +(.*)$", re.MULTILINE)
ANCHOR = re.compile(r'<a id="([^"]*)">')


def read(*path):
    with open(os.path.join(root, *path), encoding="utf-8") as file:
        return file.read()


def pages():
    return ["README.md", "DEVELOPERS.md"] + sorted(
        f"docs/{name}" for name in os.listdir(os.path.join(root, "docs")) if name.endswith(".md"))


def prose(page):
    """A page without its code."""
    return CODE.sub("", FENCE.sub("", read(page)))


def anchors(page):
    """What a link may name behind a #: ids, and headings in lower case with dashes."""
    text = read(page)
    slugs = {re.sub(r"[^\w\- ]", "", re.sub(r"<[^>]*>", "", h)).strip().lower().replace(" ", "-")
             for h in HEADING.findall(text)}
    return slugs | set(ANCHOR.findall(text))


def flat(text):
    return " ".join(text.split()).lower()


class Links(unittest.TestCase):
    def test_pages_have_links(self):
        links = [link for page in pages() for link in LINK.findall(prose(page))]
        self.assertGreater(len(links), 20, "the pattern finds links at all")

    def test_targets_are_there(self):
        for page in pages():
            for link in LINK.findall(prose(page)):
                if re.match(r"[a-z]+:", link):
                    continue
                path, _, anchor = link.partition("#")
                target = os.path.normpath(os.path.join(os.path.dirname(page), path)) if path else page
                with self.subTest(page=page, link=link):
                    self.assertFalse(target.startswith(("..", "/")), "points out of the repository")
                    self.assertTrue(os.path.exists(os.path.join(root, target)), "there is no such file")
                    if anchor:
                        self.assertIn(anchor, anchors(target))

    def test_paths_in_code_are_there(self):
        """`docs/model.md` between backquotes is a promise too, where it starts with a folder of the top level."""
        pattern = re.compile(r"`((?:src|include|configs|tests|docs)/[\w./-]+)`")
        found = 0
        for page in pages():
            for path in pattern.findall(read(page)):
                found += 1
                with self.subTest(page=page, path=path):
                    self.assertTrue(os.path.exists(os.path.join(root, path)))
        self.assertGreater(found, 5)


class TopLevel(unittest.TestCase):
    def test_nothing_else_is_committed(self):
        if shutil.which("git") is None or not os.path.exists(os.path.join(root, ".git")):
            self.skipTest("no git, or not a clone")
        # The folder may belong to somebody else than the one who tests it.
        done = subprocess.run(["git", "-c", f"safe.directory={root}", "-C", root, "ls-files", "-z"],
                              capture_output=True, check=True, text=True)
        top = {path.partition("/")[0] for path in done.stdout.split("\0") if path}
        self.assertEqual({name for name in top if not name.startswith(".")}, TOP)

    def test_all_of_it(self):
        self.assertEqual(TOP - set(os.listdir(root)), set(), "missing")


class Cautions(unittest.TestCase):
    def check(self, text):
        for sentence in CAUTIONS:
            self.assertIn(flat(sentence), flat(text))

    def test_in_readme(self):
        self.check(read("README.md"))

    def test_in_help_of_run(self):
        done = subprocess.run([program, "run", "--help"], capture_output=True, check=True, text=True)
        self.check(done.stdout)


if __name__ == "__main__":
    root, program = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
    unittest.main(argv=sys.argv[:1])
