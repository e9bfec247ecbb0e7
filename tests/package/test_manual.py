#!/usr/bin/env python3
"""test_manual.py PROGRAM BUILD_DIR: the manual page and the completion say what --help says."""
import gzip
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

program = build = None


def output(*arguments):
    return subprocess.run([program, *arguments], capture_output=True, check=True, text=True).stdout


def commands():
    listed = output("--help").partition("Commands:\n")[2].partition("\n\n")[0]
    return [line.split()[0] for line in listed.splitlines()]


def options(command):
    return re.findall(r"^  --([a-z-]+)", output(command, "--help"), re.MULTILINE)


def flat(text):
    return " ".join(text.split())


class Manual(unittest.TestCase):
    def setUp(self):
        self.page = output("--man")

    def rendered(self):
        command = ["mandoc", "-Tascii", "-Owidth=900"] if shutil.which("mandoc") else None
        if command is None:
            self.skipTest("mandoc is not installed")
        done = subprocess.run(command, input=self.page, capture_output=True, check=True, text=True)
        return re.sub(".\b", "", done.stdout)

    def test_has_every_command_and_option(self):
        sections = re.split(r"^\.S[SH] ", self.page, flags=re.MULTILINE)
        self.assertGreaterEqual(len(commands()), 4)
        for command in commands():
            (section,) = [s for s in sections if s.startswith(f"sheave {command}\n")]
            names = re.findall(r"^\.BR ((?:\\-|\w)+)", section, re.MULTILINE)
            self.assertEqual([n.replace("\\-", "-")[2:] for n in names], options(command), command)

    def test_says_what_help_says(self):
        text = flat(self.rendered())
        for command in commands():
            description = output(command, "--help").partition("\n\n")[2].partition("\nOptions:\n")[0]
            for paragraph in description.split("\n\n"):
                self.assertIn(flat(paragraph), text)
        self.assertIn("Where a qualified engineer is called for, their word stands above this program's.", text)

    def test_examples_stand_as_they_are(self):
        """Each in lines of its own, as in --help."""
        for command in commands():
            for example in re.findall(r"^ {4}(sheave .*)$", output(command, "--help").partition("Options:")[0], re.MULTILINE):
                self.assertIn(example, [line.strip() for line in self.rendered().splitlines()])

    def test_linters_have_nothing_to_say(self):
        ran = 0
        for command in (["mandoc", "-Tlint", "-Wwarning"], ["groff", "-ww", "-man", "-Tutf8", "-z"]):
            if shutil.which(command[0]):
                ran += 1
                done = subprocess.run(command, input=self.page, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                                      check=False, text=True)
                self.assertEqual(done.stdout.splitlines(), [], command[0])
        if ran == 0:
            self.skipTest("neither mandoc nor groff is installed")

    def test_build_has_made_the_same(self):
        with gzip.open(os.path.join(build, "sheave.1.gz"), "rt") as file:
            self.assertEqual(file.read(), self.page)


class Completion(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.script = tempfile.NamedTemporaryFile("w", suffix=".bash")
        cls.addClassCleanup(cls.script.close)
        cls.script.write(output("--completion"))
        cls.script.flush()

    def test_build_has_made_the_same(self):
        with open(os.path.join(build, "sheave.bash")) as file:
            self.assertEqual(file.read(), output("--completion"))

    def complete(self, *words):
        """What bash offers for the last of these words."""
        script = ('. "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _sheave; '
                  'printf "%s\\n" "${COMPREPLY[@]}"')
        done = subprocess.run(["bash", "-c", script, "bash", self.script.name, *words],
                              capture_output=True, check=True, text=True, cwd=os.path.dirname(__file__))
        self.assertEqual(done.stderr, "")
        return done.stdout.split()

    def test_commands(self):
        self.assertEqual(self.complete("sheave", ""), commands() + ["--help", "--version"])
        self.assertEqual(self.complete("sheave", "ch"), ["check"])

    def test_options_of_every_command(self):
        for command in commands():
            self.assertEqual(self.complete("sheave", command, "--"), [f"--{o}" for o in options(command)])

    def test_files_and_folders(self):
        self.assertEqual(self.complete("sheave", "check", "test_man"), ["test_manual.py"])
        self.assertEqual(self.complete("sheave", "run", "--out", "test_man"), [], "a folder is wanted")
        self.assertEqual(self.complete("sheave", "run", "--threads", ""), ["1", "2", "4", "8"])

    def test_values_of_options(self):
        self.assertEqual(self.complete("sheave", "new", "--units", "m"), ["metric"])
        self.assertEqual(self.complete("sheave", "new", "--from", "b"), ["boat"])
        self.assertEqual(self.complete("sheave", "report", "--kit", "s"), ["sell"])
        self.assertEqual(self.complete("sheave", "point", "--pick", "blower"), ["blower=", "blower_pulley="])
        self.assertEqual(self.complete("sheave", "point", "--want", "b"), ["boost="])


if __name__ == "__main__":
    program, build = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
    unittest.main(argv=sys.argv[:1])
