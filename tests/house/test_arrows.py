#!/usr/bin/env python3
"""Arrows go down only: a file includes files of its own room and of rooms below, and no two files lead to each other.

    test_arrows.py ROOT

A header in include/sheave belongs to the room of the source file of the same name, or stands in HEADERS.
"""
import pathlib
import re
import sys

# From the ground up. This is the only place where the order is written.
ROOMS = ["base", "model/path", "model/cylinder", "model/drive", "study", "model/kit", "model/verdict", "rank", "sweep",
         "search", "certainty", "plan", "fit", "report/write", "report/table", "report/text", "report/plot", "report/page", "cli"]

# Public headers of no source file's name, and the one for programs, which includes all.
HEADERS = {"export.h": "base", "status.h": "base", "watch.h": "base", "part.h": "base", "breathing.h": "model/path", "cycle.h": "model/cylinder", "cycle_table.h": "model/cylinder",
           "study.h": "study", "model.h": "model/kit", "serving.h": "sweep", "optimum.h": "search", "nearest.h": "search", "limit_worth.h": "search",
           "report.h": "report/write", "sheave.h": "cli", "fit.h": "fit", "hardware.h": "study", "range.h": "plan",
           "tables.h": "sweep", "kit.h": "study", "point.h": "study", "measured.h": "study"}

INCLUDE = re.compile(r'^#\s*include "([^"]+)"', re.MULTILINE)


def room_of(root, path):
    """The room of a file, None when nobody knows."""
    if path.is_relative_to(root / "src"):
        room = str(path.parent.relative_to(root / "src"))
        return room if room in ROOMS else None
    if path.name in HEADERS:
        return HEADERS[path.name]
    rooms = [room for room in ROOMS if (root / "src" / room / (path.stem + ".c")).exists()]
    return rooms[0] if len(rooms) == 1 else None


def files_of(root):
    return sorted(p for top in ("src", "include") for p in (root / top).rglob("*.[ch]"))


def includes_of(root, path):
    """Files of the project that a file includes."""
    for name in INCLUDE.findall(path.read_text(encoding="utf-8")):
        for place in (root / "src" / name, root / "include" / name, path.parent / name):
            if place.exists():
                yield place
                break


def check(root):
    """What is wrong, a line each."""
    found = []
    for path in files_of(root):
        room = room_of(root, path)
        if room is None:
            found.append(f"{path.relative_to(root)}: in no room")
            continue
        for target in includes_of(root, path):
            there = room_of(root, target)
            if there is not None and ROOMS.index(there) > ROOMS.index(room):
                found.append(f"{path.relative_to(root)}: {room} includes {target.relative_to(root)} of {there}, above it")
    return found


def main():
    root = pathlib.Path(sys.argv[1])
    found = check(root)
    print("\n".join(found) if found else f"{len(files_of(root))} files, all arrows go down")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
