#!/usr/bin/env python3
"""Makes small faults in src one at a time and looks whether a test notices. Takes hours; not part of the tests.

    tests/mutation.py BUILD --count 200 --seed 1 [--from 1] [--files 'src/study/*.c'] [--list] [--equivalent FILE]

BUILD is a folder configured for the tests. A fault is an operator or a constant that is another, or a statement that is gone; it is
built, and what covers its file is run until one fails: the file's own test, those of its room, published checks of what they try, and
the command-line tests of the command. Survivors are listed. Those that change nothing are named in a file of lines "PATH:LINE: fault: why", and do not count.
The working tree is put back after each fault, and must have no changes in src when it begins.
"""
import argparse
import fnmatch
import json
import pathlib
import random
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
SWAPS = [(r" < ", " <= "), (r" <= ", " < "), (r" > ", " >= "), (r" >= ", " > "), (r" == ", " != "), (r" != ", " == "), (r" && ", " || "),
         (r" \|\| ", " && "), (r" \+ ", " - "), (r" - ", " + "), (r" \* ", " / "), (r" / ", " * "), (r" \+= ", " -= "), (r"\btrue\b", "false"),
         (r"\bfalse\b", "true"), (r"\b0\.5\b", "0.6"), (r"\b1\.0\b", "1.1"), (r"\b2\.0\b", "2.1"), (r"\b0\b(?!\.)", "1"), (r"\b1\b(?!\.)", "2"),
         (r"\bfmin\(", "fmax("), (r"\bfmax\(", "fmin(")]
STATEMENT = re.compile(r"^    +(?!return|break|continue|static|const|struct|enum|double|int|size_t|bool|char|case|default|else|\}|\{|#|/\*|\*)[\w(*&].*;\s*$")
WAIT = 900  # s; a test that needs so long has noticed


def code_lines(path):
    """(number, line) of what is code: no comment, no directive, no table of texts."""
    inside = False
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        bare = line.strip()
        if inside or bare.startswith("/*"):
            inside = "*/" not in bare
            continue
        if bare and not bare.startswith(("#", "//", '"')):
            yield number, line


def faults_of(path):
    for number, line in code_lines(path):
        body = line.split("/*")[0]
        for pattern, other in SWAPS:
            for found in re.finditer(pattern, body):
                if body[:found.start()].count('"') % 2 == 0:
                    yield number, line[:found.start()] + other + line[found.end():]
        if STATEMENT.match(line):
            yield number, re.sub(r"\S.*", ";", line, count=1)


ABOVE = {"model": "published/|cli/(run|point)$", "study": "cli/(check|run)$", "fit": "published/|cli/fit$", "plan": "cli/plan$",
         "certainty": "cli/sure$", "report": "cli/(run|point|plan|sure)$", "sweep": "cli/(run|journal)$"}


def steps_of(path):
    """Names of tests that cover a source file, as pairs of regular expressions for ctest: these, but not those that ran before."""
    room, stem = str(path.parent.relative_to(ROOT / "src")), path.stem
    if room == "cli":
        return [(rf"^(cli|package)/{stem}$", "^$"), ("^cli/(run|trouble)$", rf"^cli/{stem}$")]
    own = rf"^{room}/{stem}$"
    return [(own, "^$"), (rf"^{room}/", own), (rf"^({ABOVE.get(room.split('/')[0], 'cli/run$')})", "^$")]


def run(command, wait=WAIT):
    try:
        return subprocess.run(command, cwd=ROOT, capture_output=True, timeout=wait, check=False).returncode
    except subprocess.TimeoutExpired:
        return -1


def targets_of(build, tests, but):
    """What has to be built for these tests: programs of their own, else the program that scripts run."""
    shown = subprocess.run(["ctest", "--test-dir", build, "-R", tests, "-E", but, "--show-only=json-v1"], cwd=ROOT, capture_output=True, check=True)
    commands = [test.get("command", [""]) for test in json.loads(shown.stdout)["tests"]]
    names = {pathlib.Path(command[0]).name for command in commands}
    return sorted(name if name.startswith("test_") else "sheave" for name in names)


def notices(build, path):
    """What notices: "compiler", a step of the tests, or None."""
    for tests, but in steps_of(path):
        targets = targets_of(build, tests, but)
        if targets and run(["cmake", "--build", build, "--target", *targets]) != 0:
            return "compiler"
        if run(["ctest", "--test-dir", build, "-R", tests, "-E", but, "--stop-on-failure", "--no-tests=ignore"]) != 0:
            return tests
    return None


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("build")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--from", type=int, default=1, dest="first", help="go on with this fault of them")
    parser.add_argument("--files", default="src/*")
    parser.add_argument("--equivalent", help="file of faults that change nothing, with why")
    parser.add_argument("--list", action="store_true", help="only say which faults would be made")
    a = parser.parse_args()
    if run(["git", "diff", "--quiet", "--", "src"]) != 0:
        sys.exit("src has changes of its own")
    paths = sorted(p for p in (ROOT / "src").rglob("*.c") if fnmatch.fnmatch(str(p.relative_to(ROOT)), a.files))
    every = [(path, number, line) for path in paths for number, line in faults_of(path)]
    chosen = random.Random(a.seed).sample(every, min(a.count, len(every)))
    known = pathlib.Path(a.equivalent).read_text(encoding="utf-8").splitlines() if a.equivalent else []
    noticed = survived = same = 0
    for path, number, line in chosen[a.first - 1:]:
        name = f"{path.relative_to(ROOT)}:{number}: {line.strip()}"
        if a.list:
            print(name)
            continue
        if any(entry.startswith(name) for entry in known):
            same += 1
            continue
        before = path.read_text(encoding="utf-8")
        lines = before.splitlines(keepends=True)
        lines[number - 1] = line.rstrip("\n") + "\n"
        try:
            path.write_text("".join(lines), encoding="utf-8")
            by = notices(a.build, path)
        finally:
            path.write_text(before, encoding="utf-8")
        if by == "compiler":
            continue  # no fault of a running program
        noticed += by is not None
        survived += by is None
        print(f"{'noticed' if by else 'SURVIVED'}: {name}", flush=True)
    if not a.list:
        print(f"{noticed} of {noticed + survived} noticed, {same} that change nothing left out")
    return 1 if survived else 0


if __name__ == "__main__":
    sys.exit(main())
