#!/usr/bin/env python3
"""test_interface.py SOURCE_DIR LIBRARY VERSION: the shared library shows what include/sheave/ marks and nothing else,
and no more of it than somebody can learn."""
import ctypes
import os
import re
import subprocess
import sys
import unittest

root = library = version = None

MOST = 100
DECLARED = re.compile(r"^SHV_API\b[^;]*?\b(shv_\w+)\s*(?:\(|\[|;)", re.MULTILINE)


def headers():
    """Texts of the public headers without comments."""
    folder = os.path.join(root, "include/sheave")
    for name in sorted(os.listdir(folder)):
        with open(os.path.join(folder, name), encoding="utf-8") as file:
            yield name, re.sub(r"/\*.*?\*/", "", file.read(), flags=re.DOTALL)


def exported():
    done = subprocess.run(["nm", "-D", "--defined-only", library], capture_output=True, check=True, text=True)
    names = {line.split()[-1] for line in done.stdout.splitlines()}
    return {name for name in names if not name.startswith(("_", "."))}  # linker's and OpenMP's own


class Interface(unittest.TestCase):
    def test_what_is_marked_is_what_is_shown(self):
        marked = [name for _, text in headers() for name in DECLARED.findall(text)]
        self.assertEqual(len(marked), len(set(marked)), "declared twice")
        self.assertEqual(set(marked), exported())
        self.assertLessEqual(len(marked), MOST)
        self.assertGreater(len(marked), 50)

    def test_each_header_stands_alone(self):
        for name, _ in headers():
            subprocess.run(["cc", "-std=c17", "-Wall", "-Wextra", "-Wpedantic", "-Werror", "-fsyntax-only", "-x", "c",
                            "-I", os.path.join(root, "include"), "-include", f"sheave/{name}", "-"],
                           input="int something;\n", text=True, check=True)

    def test_version_is_the_project_s(self):
        shown = ctypes.CDLL(library).shv_version
        shown.restype = ctypes.c_char_p
        self.assertEqual(shown().decode(), version)


if __name__ == "__main__":
    root, library, version = sys.argv[1:4]
    unittest.main(argv=sys.argv[:1])
