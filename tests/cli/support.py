"""What the command-line tests share: running the program, comparing texts with numbers in them, CSV, manifests."""
import csv
import io
import os
import re
import shutil
import subprocess
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
STUDIES = os.path.join(HERE, "studies")
EXPECTED = os.path.join(HERE, "expected")
FILES = ("ranked.csv", "curves.csv", "rejected.csv", "optimum.csv", "prices.csv", "stock_engine.csv", "limits.csv", "parts.csv", "map.csv",
         "islands.csv", "study.txt", "manifest.cfg")
KEPT = ("journal.db", "run.log")  # beside them
TIMEOUT = 120  # s; a test that needs so long has hung

# Set by run.py.
program = None
redo = False
cache = None  # XDG_CACHE_HOME of every run


def workspace():
    """A temporary folder with a copy of the studies, as a context manager."""
    folder = tempfile.TemporaryDirectory(prefix="sheave-test-")
    shutil.copytree(STUDIES, folder.name, dirs_exist_ok=True)
    return folder


def environment(**more):
    """The environment of a run; a value of None takes a name out."""
    names = {"PATH": "/usr/bin:/bin", "LC_ALL": "C", "XDG_CACHE_HOME": cache} | more
    return {name: value for name, value in names.items() if value is not None}


def run(arguments, folder, **more):
    """Runs the program in the folder; stdout and stderr are caught as bytes unless told otherwise."""
    how = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE,
           "timeout": TIMEOUT, "cwd": folder, "env": environment()}
    how.update(more)
    return subprocess.run([program, *arguments], check=False, **how)


# ---- texts that are the same but for the last digit of a number ----

# Libraries of other machines may round elementary functions the other way, and a printed digit can show it.
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?")


def last_place(text):
    """One unit of the last digit of a number as printed."""
    mantissa, _, exponent = text.partition("e")
    decimals = len(mantissa.partition(".")[2])
    return 10.0 ** (int(exponent or 0) - decimals)


def same_number(expected, found):
    if expected == found:
        return True
    a, b = float(expected), float(found)
    if a == b:
        return False  # one number printed in two ways is a change of format
    unit = min(last_place(expected), last_place(found))
    whole = "." not in expected + found and "e" not in expected + found
    return not whole and abs(a - b) <= 1.01 * unit


def same_text(expected, found):
    """Equal but for numbers off by one unit of their last digit; blanks may move with them."""
    if expected == found:
        return True
    if [" ".join(NUMBER.sub("0", line).split()) for line in expected.splitlines()] != \
       [" ".join(NUMBER.sub("0", line).split()) for line in found.splitlines()]:
        return False
    return all(map(same_number, NUMBER.findall(expected), NUMBER.findall(found)))


# ---- CSV ----

def read_bytes(*path):
    with open(os.path.join(*path), "rb") as file:
        return file.read()


def read_csv(data):
    """The rows of CSV bytes as lists of texts, header first."""
    return list(csv.reader(io.StringIO(data.decode("utf-8"), newline=""), strict=True))


def records(data):
    """The rows of CSV bytes as dictionaries."""
    header, *rows = read_csv(data)
    return [dict(zip(header, row)) for row in rows]


# ---- manifest.cfg ----

TOKEN = re.compile(r'\s*(?:(?P<name>[A-Za-z_][A-Za-z0-9_]*)\s*[:=]|(?P<open>\{)|(?P<close>\}\s*[;,]?)|'
                   r'(?P<list>\()|(?P<end>\)\s*;)|(?P<array>\[[^\]]*\])\s*;|'
                   r'(?P<text>"(?:[^"\\]|\\.)*")\s*;|(?P<number>-?[0-9.eE+-]+)L?\s*;|(?P<bad>\S))')

ESCAPES = {"n": "\n", "r": "\r", "t": "\t", "f": "\f"}


def put(into, name, value):
    """A member of a group, or an entry of a list."""
    if isinstance(into, list):
        into.append(value)
    elif name in into:
        raise ValueError(f"manifest: {name} stands there twice")
    else:
        into[name] = value


def read_manifest(text):
    """Groups of libconfig text as dictionaries, lists of groups as lists. Knows what manifests are made of, and
    nothing more."""
    top = {}
    stack, name = [top], None
    for token in TOKEN.finditer(text.rstrip()):
        kind = token.lastgroup
        if kind == "bad":
            raise ValueError(f"manifest: cannot read from {text[token.start():token.start() + 40]!r}")
        if kind == "name":
            name = token["name"]
        elif kind == "array":
            put(stack[-1], name, [float(number) for number in token["array"].strip("[]").split(",")])
        elif kind in ("open", "list"):
            inner = {} if kind == "open" else []
            put(stack[-1], name, inner)
            stack.append(inner)
        elif kind in ("close", "end"):
            stack.pop()
        elif kind == "text":
            put(stack[-1], name, re.sub(r"\\(.)", lambda m: ESCAPES.get(m[1], m[1]), token["text"][1:-1]))
        else:
            put(stack[-1], name, float(token["number"]))
    if len(stack) != 1:
        raise ValueError("manifest: a group is not closed")
    return top
