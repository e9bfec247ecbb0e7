#!/usr/bin/env python3
"""A comment names only files and functions that exist.

    test_comments.py ROOT
"""
import pathlib
import re
import sys

COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
STRING = re.compile(r'"(?:[^"\\\n]|\\.)*"')
FILE = re.compile(r"(?<![\w/.<-])((?:[\w-]+/)*[\w-]+\.(?:c|h|md|py|sh|cmake))\b(?![-(])")
FUNCTION = re.compile(r"\b(shv_\w+|[a-z]\w*(?=\(\)))")
WORD = re.compile(r"\b[A-Za-z_]\w*\b")
# Of the C library, POSIX and the libraries used.
FOREIGN = {"free", "setlocale", "errno.h", "udunits2.h", "Coin_C_defines.h"}


def sources(root):
    return sorted(p for top in ("src", "include", "tests") for p in (root / top).rglob("*.[ch]"))


def known_files(root):
    """Every tail of every path: "bound.c", "verdict/bound.c", ..."""
    tails = set()
    for top in root.iterdir():
        if top.name in (".git", "build"):  # not entered: other tests make and remove folders there
            continue
        for path in [top, *top.rglob("*")]:
            if path.is_file():
                parts = path.relative_to(root).parts
                tails.update("/".join(parts[i:]) for i in range(len(parts)))
    return tails


def check(root):
    """What is wrong, a line each."""
    texts = {path: path.read_text(encoding="utf-8", errors="replace") for path in sources(root)}
    words = set()
    for text in texts.values():
        words.update(WORD.findall(COMMENT.sub(" ", text)))
    files = known_files(root)
    found = []
    for path, text in texts.items():
        for comment in COMMENT.finditer(STRING.sub('""', text)):
            missing = [name for name in FILE.findall(comment.group()) if name not in files]
            missing += [name for name in FUNCTION.findall(comment.group()) if name not in words]
            found += [f"{path.relative_to(root)}: a comment names {name}, which is not there"
                      for name in missing if name not in FOREIGN]
    return found


def main():
    root = pathlib.Path(sys.argv[1])
    found = check(root)
    print("\n".join(found) if found else "comments name what is there")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
