#!/usr/bin/env python3
"""Every source file has a test of its own, by its name.

    test_tests.py ROOT

src/ROOM/FILE.c: tests/ROOM/test_FILE.c. Of the program, src/cli/FILE.c: tests/cli/test_FILE.c or .py, golden cases in
tests/cli/cases/FILE, or tests/package/test_FILE.py. And each test's file of the library is there.
"""
import pathlib
import sys

# What only compiles another file's text for an instruction set, or chooses among those: the test that is named runs all.
EXEMPT = {
    "model/cylinder/cycle_lanes_baseline.c": "model/cylinder/test_cycle_lanes.c",
    "model/cylinder/cycle_lanes_avx2.c": "model/cylinder/test_cycle_lanes.c",
    "model/cylinder/cycle_lanes_avx512.c": "model/cylinder/test_cycle_lanes.c",
    "model/kit/loops_baseline.c": "model/kit/test_lanes.c",
    "model/kit/loops_avx2.c": "model/kit/test_lanes.c",
    "model/kit/loops_avx512.c": "model/kit/test_lanes.c",
    "model/kit/vector_loops.c": "model/kit/test_lanes.c",
}
# Tests of what no single file holds.
WHOLES = {"study/test_bad.c"}


def test_of(tests, source):
    """The test of a source file, relative to src; None where there is none."""
    if str(source) in EXEMPT:
        places = [tests / EXEMPT[str(source)]]
    elif source.parts[0] == "cli":
        stem = source.stem
        places = [tests / "cli" / f"test_{stem}.c", tests / "cli" / f"test_{stem}.py", tests / "cli" / "cases" / stem,
                  tests / "package" / f"test_{stem}.py"]
    else:
        places = [tests / source.parent / f"test_{source.name}"]
    return next((place for place in places if place.exists()), None)


def check(root):
    """What is wrong, a line each."""
    src, tests = root / "src", root / "tests"
    sources = [path.relative_to(src) for path in sorted(src.rglob("*.c"))]
    found = [f"src/{source}: has no test of its own" for source in sources if test_of(tests, source) is None]
    found += [f"src/{name}: is exempt and not there" for name in EXEMPT if not (src / name).exists()]
    rooms = {source.parent for source in sources} - {pathlib.Path("cli")}
    for room in sorted(rooms):
        for test in sorted((tests / room).glob("test_*.c")):
            name = room / test.name.removeprefix("test_")
            is_there = (src / name).exists() or (src / name.with_suffix(".h")).exists()
            if not is_there and str(room / test.name) not in WHOLES:
                found.append(f"tests/{room / test.name}: is a test of no file")
    return found, len(sources)


def main():
    found, count = check(pathlib.Path(sys.argv[1]))
    print("\n".join(found) if found else f"{count} files, each has a test of its own")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
