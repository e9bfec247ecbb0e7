#!/usr/bin/env python3
"""Runs groups of command-line tests: the golden cases of cases/GROUP and the tests of test_GROUP.py.

    run.py --sheave PROGRAM --version VERSION --cache DIR [--redo] [GROUP]...

Cycle tables are kept in DIR, never among the user's own. Without a group it runs all. --redo writes the expected texts and files anew: look at what changed with git diff
before it is committed.
"""
import argparse
import importlib
import os
import re
import sys
import unittest

import golden
import support


def groups():
    modules = (re.fullmatch(r"test_(\w+)\.py", name) for name in os.listdir(support.HERE))
    return sorted({m[1] for m in modules if m} | set(os.listdir(golden.CASES)))


def tests_of(group, version):
    suite = unittest.TestSuite()
    cases = golden.suite(group, version)
    if cases is not None:
        suite.addTest(cases)
    if os.path.exists(os.path.join(support.HERE, f"test_{group}.py")):
        module = importlib.import_module(f"test_{group}")
        suite.addTest(unittest.defaultTestLoader.loadTestsFromModule(module))
    if suite.countTestCases() == 0:
        sys.exit(f"run.py: there are no tests of {group}")
    return suite


def main():
    parser = argparse.ArgumentParser(description="Runs command-line tests.")
    parser.add_argument("--sheave", required=True, help="the program")
    parser.add_argument("--version", required=True, help="the version it must tell")
    parser.add_argument("--cache", required=True, help="folder for cycle tables")
    parser.add_argument("--redo", action="store_true", help="write the expected results anew")
    parser.add_argument("group", nargs="*", help="default: all")
    options = parser.parse_args()
    support.program = os.path.abspath(options.sheave)
    support.cache = os.path.abspath(options.cache)
    support.redo = options.redo
    # For tests that start the program without support.run as well.
    os.environ["XDG_CACHE_HOME"] = support.cache
    suite = unittest.TestSuite(tests_of(g, options.version) for g in options.group or groups())
    result = unittest.TextTestRunner(verbosity=1).run(suite)
    sys.exit(0 if result.wasSuccessful() else 1)


if __name__ == "__main__":
    main()
