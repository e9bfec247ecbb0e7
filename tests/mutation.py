#!/usr/bin/env python3
"""Makes small faults in src one at a time and looks whether a test notices. Takes an hour or two; not part of the tests.

    tests/mutation.py BUILD --count 200 --seed 1 [--from 1] [--files 'src/study/*.c'] [--list]
    tests/mutation.py BUILD --faults FILE

BUILD is a folder configured for the tests. A fault is an operator or a constant that is another, or a statement that is gone; it is
built, and what covers its file is run until one fails: the file's own test, those of its room, published checks of what they try, and
the command-line tests of the command. Every fault is told as in tests/mutation.txt, with what noticed it; that file holds those that
change nothing, which do not count, and why. Which faults a seed draws hangs on their own text alone, not on the rest of src.
The working tree is put back after each fault, and must have no changes in src when it begins.
"""
import argparse
import collections
import fnmatch
import hashlib
import json
import os
import pathlib
import re
import resource
import signal
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
KNOWN = ROOT / "tests" / "mutation.txt"
SWAPS = [(r" < ", " <= "), (r" <= ", " < "), (r" > ", " >= "), (r" >= ", " > "), (r" == ", " != "), (r" != ", " == "), (r" && ", " || "),
         (r" \|\| ", " && "), (r" \+ ", " - "), (r" - ", " + "), (r" \* ", " / "), (r" / ", " * "), (r" \+= ", " -= "), (r"\btrue\b", "false"),
         (r"\bfalse\b", "true"), (r"\b0\.5\b", "0.6"), (r"\b1\.0\b", "1.1"), (r"\b2\.0\b", "2.1"), (r"\b0\b(?!\.)", "1"), (r"\b1\b(?!\.)", "2"),
         (r"\bfmin\(", "fmax("), (r"\bfmax\(", "fmin(")]
STATEMENT = re.compile(r"^    +(?!return|break|continue|static|const|struct|enum|double|int|size_t|bool|char|case|default|else|\}|\{|#|/\*|\*)[\w(*&].*;\s*$")
TEST_WAIT, STEP_WAIT = 120, 600  # s; a test that needs so long has noticed
MEMORY = 8 << 30  # bytes of a process; what wants more has noticed

# A line of a file, the which of those that read the same, and how it reads with the fault; blanks around it do not count.
Fault = collections.namedtuple("Fault", "path nth before after")


def told(fault, verdict):
    """A fault as tests/mutation.txt has it."""
    nth = f" {fault.nth}" if fault.nth > 1 else ""
    return f"{fault.path}{nth}\n- {fault.before}\n+ {fault.after}\n= {verdict}\n"


def faults_in(file):
    """Faults of such a file with what is said of them."""
    found = {}
    text = "\n".join(line for line in file.read_text(encoding="utf-8").splitlines() if not line.startswith("#"))
    for block in text.split("\n\n"):
        lines = block.strip().splitlines()
        if len(lines) == 4:
            path, _, nth = lines[0].partition(" ")
            found[Fault(path, int(nth or 1), lines[1][2:], lines[2][2:])] = lines[3][2:]
    return found


def code_lines(path):
    """What is code: no comment, no directive, no table of texts."""
    inside = False
    for line in path.read_text(encoding="utf-8").splitlines():
        bare = line.strip()
        if inside or bare.startswith("/*"):
            inside = "*/" not in bare
            continue
        if bare and not bare.startswith(("#", "//", '"')):
            yield line


def faulty(line):
    body = line.split("/*")[0]
    for pattern, other in SWAPS:
        for found in re.finditer(pattern, body):
            if body[:found.start()].count('"') % 2 == 0:
                yield (line[:found.start()] + other + line[found.end():]).strip()
    if STATEMENT.match(line):
        yield ";"


def faults_of(path):
    name, seen = str(path.relative_to(ROOT)), collections.Counter()
    for line in code_lines(path):
        seen[line.strip()] += 1
        for after in faulty(line):
            yield Fault(name, seen[line.strip()], line.strip(), after)


def drawn(paths, count, seed):
    """So many of all faults. Each has its place in the draw by itself, so that an edit of src hardly moves the others."""
    def place(fault):
        return hashlib.sha256(f"{seed}\n{fault}".encode()).digest()
    return sorted((fault for path in paths for fault in faults_of(path)), key=place)[:count]


def put(fault):
    """Puts a fault in; the text before, or None if there is no such line."""
    path = ROOT / fault.path
    text = path.read_text(encoding="utf-8") if path.exists() else ""
    lines, nth = text.splitlines(keepends=True), 0
    for i, line in enumerate(lines):
        nth += line.strip() == fault.before
        if line.strip() == fault.before and nth == fault.nth:
            lines[i] = line.replace(fault.before, fault.after)
            path.write_text("".join(lines), encoding="utf-8")
            return text
    return None


ABOVE = {"model": "published/|cli/(run|point)$", "study": "cli/(check|run)$", "fit": "published/|cli/fit$", "plan": "cli/plan$",
         "certainty": "cli/sure$", "report": "cli/(run|point|plan|sure|report)$", "sweep": "cli/(run|journal)$"}


def steps_of(path):
    """Names of tests that cover a source file, as pairs of regular expressions for ctest: these, but not those that ran before."""
    folder, stem = os.path.split(path[len("src/"):])[0], pathlib.Path(path).stem
    if folder == "cli":
        own = rf"^(cli|package)/{stem}$"
        return [(own, "^$"), ("^cli/(run|trouble|sure|estimate)$", own)]
    own = rf"^{folder}/{stem}$"
    return [(own, "^$"), (rf"^{folder}/", own), (rf"^({ABOVE.get(folder.split('/')[0], 'cli/run$')})", "^$")]


def limited():
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


def run(command):
    """How it ended; after too long a time it is killed with all that it started."""
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True, preexec_fn=limited) as child:
        try:
            return child.wait(STEP_WAIT)
        except subprocess.TimeoutExpired:
            return -1
        finally:
            try:
                os.killpg(child.pid, signal.SIGKILL)
            except ProcessLookupError:
                pass


def targets_of(build, tests, but):
    """What has to be built for these tests: programs of their own, else the program that scripts run."""
    shown = subprocess.run(["ctest", "--test-dir", build, "-R", tests, "-E", but, "--show-only=json-v1"], cwd=ROOT, capture_output=True, check=True)
    commands = [test.get("command", [""]) for test in json.loads(shown.stdout)["tests"]]
    names = {pathlib.Path(command[0]).name for command in commands}
    return sorted({name if name.startswith("test_") else "sheave" for name in names})


def noticed_by(build, path):
    """What notices: "compiler", a step of the tests, or None."""
    for tests, but in steps_of(path):
        targets = targets_of(build, tests, but)
        if not targets:
            continue
        if run(["cmake", "--build", build, "--target", *targets]) != 0:
            return "compiler"
        if run(["ctest", "--test-dir", build, "-R", tests, "-E", but, "--stop-on-failure", "--timeout", str(TEST_WAIT)]) != 0:
            return tests
    return None


def tried(build, fault):
    """What is said of a fault after it was tried."""
    before = put(fault)
    if before is None:
        return "no such line"
    try:
        by = noticed_by(build, fault.path)
    finally:
        (ROOT / fault.path).write_text(before, encoding="utf-8")
    return "SURVIVED" if by is None else "does not compile" if by == "compiler" else f"noticed by {by}"


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("build")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--from", type=int, default=1, dest="first", help="go on with this fault of them")
    parser.add_argument("--files", default="src/*")
    parser.add_argument("--faults", type=pathlib.Path, help="those of this file instead of drawn ones")
    parser.add_argument("--list", action="store_true", help="only say which faults would be made")
    a = parser.parse_args()
    if subprocess.run(["git", "diff", "--quiet", "--", "src"], cwd=ROOT, check=False).returncode != 0:
        sys.exit("src has changes of its own")
    paths = sorted(p for p in (ROOT / "src").rglob("*.c") if fnmatch.fnmatch(str(p.relative_to(ROOT)), a.files))
    chosen = list(faults_in(a.faults)) if a.faults else drawn(paths, a.count, a.seed)
    known = {} if a.faults or not KNOWN.exists() else faults_in(KNOWN)
    ends = collections.Counter()
    for number, fault in enumerate(chosen[a.first - 1:], a.first):
        verdict = known.get(fault) or ("not tried" if a.list else tried(a.build, fault))
        ends[verdict.split(" by ")[0].split(":")[0]] += 1
        print(f"# {number}\n{told(fault, verdict)}", flush=True)
    print("# " + ", ".join(f"{count} {end}" for end, count in ends.most_common()))
    return 1 if ends["SURVIVED"] else 0


if __name__ == "__main__":
    sys.exit(main())
