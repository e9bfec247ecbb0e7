#!/usr/bin/env python3
"""Makes small faults in src one at a time and looks whether a test notices. Takes an hour; not part of the tests.

    tests/mutation.py BUILD --count 200 --seed 1 [--from 1] [--files 'src/study/*.c'] [--own] [--list]
    tests/mutation.py BUILD --faults FILE

BUILD is a folder in which the tests are built. A fault is an operator or a constant that is another, or a statement that is gone; its
file is compiled aside and linked before the library, and what covers the file is run until one fails: its own test, those of its room,
published checks of what they try, and the command-line tests of the command. Neither src nor BUILD is touched. Every fault is told as in tests/mutation.txt, with what noticed it; that file holds those that
change nothing, which do not count, and why. Which faults a seed draws hangs on their own text alone, not on the rest of src.
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
import shlex
import shutil
import signal
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
KNOWN = ROOT / "tests" / "mutation.txt"
SWAPS = [(r" < ", " <= "), (r" <= ", " < "), (r" > ", " >= "), (r" >= ", " > "), (r" == ", " != "), (r" != ", " == "), (r" && ", " || "),
         (r" \|\| ", " && "), (r" \+ ", " - "), (r" - ", " + "), (r" \* ", " / "), (r" / ", " * "), (r" \+= ", " -= "), (r"\btrue\b", "false"),
         (r"\bfalse\b", "true"), (r"\b0\.5\b", "0.6"), (r"\b1\.0\b", "1.1"), (r"\b2\.0\b", "2.1"), (r"\b0\b(?!\.)", "1"), (r"\b1\b(?!\.)", "2"),
         (r"\bfmin\(", "fmax("), (r"\bfmax\(", "fmin(")]
STATEMENT = re.compile(r"^    +(?!return|break|continue|static|const|struct|enum|double|int|size_t|bool|char|case|default|else|\}|\{|#|/\*|\*)[\w(*&].*;\s*$")
WAIT = 120  # s; a test that needs so long has noticed
MEMORY = 8 << 30  # bytes of a process; what wants more has noticed
NOT_LINKED = "published/validation$"  # runs other programs of BUILD

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
        for after in dict.fromkeys(faulty(line)):
            yield Fault(name, seen[line.strip()], line.strip(), after)


def drawn(paths, count, seed):
    """So many of all faults. Each has its place in the draw by itself, so that an edit of src hardly moves the others."""
    def place(fault):
        return hashlib.sha256(f"{seed}\n{fault}".encode()).digest()
    return sorted((fault for path in paths for fault in faults_of(path)), key=place)[:count]


def with_fault(fault):
    """The text of the file with the fault, or None if there is no such line."""
    path = ROOT / fault.path
    lines, nth = path.read_text(encoding="utf-8").splitlines(keepends=True) if path.exists() else [], 0
    for i, line in enumerate(lines):
        nth += line.strip() == fault.before
        if line.strip() == fault.before and nth == fault.nth:
            lines[i] = line.replace(fault.before, fault.after)
            return "".join(lines)
    return None


ABOVE = {"model": "published/|cli/(run|point)$", "study": "docs/|cli/(check|run)$", "fit": "published/|cli/fit$", "plan": "cli/plan$",
         "certainty": "cli/sure$", "report": "docs/|cli/(run|point|plan|sure|report)$", "sweep": "cli/(run|journal)$"}


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


def run(command, folder, wait=WAIT, environment=None):
    """How it ended; after too long a time it is killed with all that it started."""
    with subprocess.Popen(command, cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                          env=environment, start_new_session=True, preexec_fn=limited) as child:
        try:
            return child.wait(wait)
        except subprocess.TimeoutExpired:
            return -1
        finally:
            try:
                os.killpg(child.pid, signal.SIGKILL)
            except ProcessLookupError:
                pass


class Build:
    """What a folder builds and tests, and how the same is made with another object of one file."""

    def __init__(self, folder):
        self.folder = pathlib.Path(folder).resolve()
        asked = subprocess.run(["ninja", "-C", self.folder, "-t", "compdb"], capture_output=True, check=True)
        self.edges = {edge["output"]: edge["command"] for edge in json.loads(asked.stdout)}
        asked = subprocess.run(["ctest", "--test-dir", self.folder, "--show-only=json-v1"], capture_output=True, check=True)
        self.tests = {test["name"]: test["command"] for test in json.loads(asked.stdout)["tests"] if not re.search(NOT_LINKED, test["name"])}

    def compile(self, path, text, into):
        """The object, or None."""
        output = next(name for name in self.edges if name.endswith(f"/{path}.o"))
        words = shlex.split(self.edges[output])
        words = words[:words.index("-MD")] + ["-iquote", str((ROOT / path).parent), "-x", "c", "-c", "-", "-o", str(into)]
        return subprocess.run(words, cwd=self.folder, input=text.encode(), capture_output=True, check=False).returncode == 0

    def link(self, program, path, other, into):
        """A program with the object in place of the file's own, or before the library that has it."""
        words = shlex.split(self.edges[program])[2:-2]
        if words.count("libsheave.a") == 0:
            return False
        own = [i for i, word in enumerate(words) if word.endswith(f"/{path}.o")]
        words[own[0] if own else words.index("libsheave.a")] = str(other) if own else f"{other} libsheave.a"
        words[words.index("-o") + 1] = str(into)
        return subprocess.run(" ".join(words), shell=True, cwd=self.folder, capture_output=True, check=False).returncode == 0


def passes(build, name, path, other, home):
    """Whether a test passes with another object of a file."""
    command = list(build.tests[name])
    inside = [word.removeprefix(f"{build.folder}/") for word in command]
    program = next((word for word in inside if word in build.edges), None)
    if program is None:
        return True
    made = home / pathlib.Path(program).name
    if not made.exists() and not build.link(program, path, other, made):
        return False
    command = [str(made) if word == str(build.folder / program) else word for word in command]
    if "--cache" in command:  # tables of a faulty cycle are nothing for the next
        shutil.copytree(command[command.index("--cache") + 1], home / "cache", dirs_exist_ok=True)
        command[command.index("--cache") + 1] = str(home / "cache")
    return run(command, home, environment=os.environ | {"TMPDIR": str(home)}) in (0, 77)


def tried(build, fault, own):
    """What is said of a fault after it was tried."""
    text = with_fault(fault)
    if text is None:
        return "no such line"
    with tempfile.TemporaryDirectory(prefix="sheave-mutation-") as folder:
        home = pathlib.Path(folder)
        other = home / "other.o"
        if not build.compile(fault.path, text, other):
            return "does not compile"
        for tests, but in steps_of(fault.path)[:1 if own else None]:
            for name in build.tests:
                if re.search(tests, name) and not re.search(but, name) and not passes(build, name, fault.path, other, home):
                    return f"noticed by {name}"
    return "SURVIVED"


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("build")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--from", type=int, default=1, dest="first", help="go on with this fault of them")
    parser.add_argument("--files", default="src/*")
    parser.add_argument("--faults", type=pathlib.Path, help="those of this file instead of drawn ones")
    parser.add_argument("--own", action="store_true", help="run nothing but the file's own test")
    parser.add_argument("--list", action="store_true", help="only say which faults would be made")
    a = parser.parse_args()
    paths = sorted(p for p in (ROOT / "src").rglob("*.c") if fnmatch.fnmatch(str(p.relative_to(ROOT)), a.files))
    chosen = list(faults_in(a.faults)) if a.faults else drawn(paths, a.count, a.seed)
    build = None if a.list else Build(a.build)
    known = {} if a.faults or not KNOWN.exists() else faults_in(KNOWN)
    ends = collections.Counter()
    for number, fault in enumerate(chosen[a.first - 1:], a.first):
        verdict = known.get(fault) or ("not tried" if a.list else tried(build, fault, a.own))
        ends[verdict.split(" by ")[0].split(":")[0]] += 1
        print(f"# {number}\n{told(fault, verdict)}", flush=True)
    print("# " + ", ".join(f"{count} {end}" for end, count in ends.most_common()))
    return 1 if ends["SURVIVED"] else 0


if __name__ == "__main__":
    sys.exit(main())
