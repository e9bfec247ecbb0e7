"""Golden cases: cases/<group>/<name>.case holds a command, its exit code, and what it prints.

    # An optional remark.
    $ sheave check kit.cfg
    exit 0
    --- stdout
    ...
    --- stderr
    ...

Each runs in a fresh copy of studies/. Numbers may be off by one unit of their last digit (support.py). The
version stands as VERSION. run.py --redo writes everything below the command anew.
"""
import difflib
import os
import shlex
import unittest

import support

CASES = os.path.join(support.HERE, "cases")
NO_NEWLINE = "\\ no newline at the end\n"


def read_case(path):
    """(head, arguments, expected) of a case."""
    with open(path, encoding="utf-8") as file:
        lines = file.read().splitlines(keepends=True)
    at = next(i for i, line in enumerate(lines) if line.startswith("$ sheave"))
    return "".join(lines[:at + 1]), shlex.split(lines[at][2:])[1:], "".join(lines[at + 1:])


def as_block(data, version):
    text = data.decode("utf-8").replace("\r\n", "<CR>\n").replace(f"sheave {version}\n", "sheave VERSION\n")
    return text if text.endswith("\n") or not text else text + "\n" + NO_NEWLINE


def outcome(arguments, version):
    with support.workspace() as folder:
        done = support.run(arguments, folder)
    return (f"exit {done.returncode}\n--- stdout\n{as_block(done.stdout, version)}"
            f"--- stderr\n{as_block(done.stderr, version)}")


def make_test(path, version):
    def test(self):
        head, arguments, expected = read_case(path)
        found = outcome(arguments, version)
        self.assertNotRegex(found, r"\Aexit -", "ended by a signal")
        if support.redo:
            if not support.same_text(expected, found):
                with open(path, "w", encoding="utf-8") as file:
                    file.write(head + found)
        elif not support.same_text(expected, found):
            self.fail("\n" + "".join(difflib.unified_diff(
                expected.splitlines(keepends=True), found.splitlines(keepends=True), "expected", "found")))
    return test


def suite(group, version):
    """Tests of a group's cases; None when it has none."""
    folder = os.path.join(CASES, group)
    if not os.path.isdir(folder):
        return None
    names = sorted(name for name in os.listdir(folder) if name.endswith(".case"))
    tests = {f"test_{name[:-5]}": make_test(os.path.join(folder, name), version) for name in names}
    return unittest.defaultTestLoader.loadTestsFromTestCase(
        type(f"cases of {group}", (unittest.TestCase,), tests))
