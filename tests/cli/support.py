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
FILES = ("ranked.csv", "curves.csv", "rejected.csv", "optimum.csv", "limit_worth.csv", "stock_engine.csv", "limits.csv", "parts.csv", "map.csv",
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


def same_line(expected, found):
    """Equal but for numbers off by one unit of their last digit; blanks move only where a number's width changed."""
    numbers, others = NUMBER.findall(expected), NUMBER.findall(found)
    left, right = NUMBER.sub("0", expected), NUMBER.sub("0", found)
    if [len(number) for number in numbers] != [len(other) for other in others]:
        left, right = left.split(), right.split()
    return left == right and all(map(same_number, numbers, others))


def same_text(expected, found):
    expected, found = expected.splitlines(keepends=True), found.splitlines(keepends=True)
    return len(expected) == len(found) and all(map(same_line, expected, found))


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


# ---- committed tables: a line a column, so that a new column is one line to accept ----

# Hang on the last bits of other libraries: differences of almost equal numbers, and where a search ended.
LOOSE = {"plain_difference", "evaluations"}
NEAR_ZERO = {"binding_share_pct": 1e-6}


def columns(rows):
    """Rows, header first, as {name: cells}."""
    header, *rows = rows
    if len(set(header)) != len(header) or any(len(row) != len(header) for row in rows):
        raise ValueError("the table is not one")
    return {name: [row[i] for row in rows] for i, name in enumerate(header)}


def line_of(name, cells):
    line = io.StringIO()
    csv.writer(line, lineterminator="\n").writerow([name, *cells])
    return line.getvalue()


def write_columns(path, data):
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "w", encoding="utf-8", newline="") as file:
        file.writelines(line_of(name, cells) for name, cells in columns(read_csv(data)).items())


def same_cell(column, expected, found):
    if expected == found:
        return True
    if not all(re.fullmatch(NUMBER.pattern, cell) for cell in (expected, found)):
        return False
    slack = NEAR_ZERO.get(column, 0.0)
    return abs(float(expected) - float(found)) <= slack or same_number(expected, found)


def compare_columns(test, wanted, got):
    """That a table has the columns of another, in its order, with its cells."""
    new = "".join(line_of(name, got[name]) for name in got if name not in wanted)
    test.assertEqual(new, "", "columns of which no committed line says what they hold")
    test.assertEqual(list(wanted), list(got))
    for column, cells in wanted.items():
        test.assertEqual(len(cells), len(got[column]), f"{column}: number of rows")
        for i, (a, b) in enumerate(zip(cells, got[column]), 1):
            test.assertTrue(column in LOOSE or same_cell(column, a, b), f"row {i}, {column}: expected {a}, found {b}")


def check_columns(test, path, data):
    """Compares a table with its committed columns, or writes these anew."""
    if redo:
        write_columns(path, data)
    wanted = {name: cells for name, *cells in read_csv(read_bytes(path))}
    compare_columns(test, wanted, columns(read_csv(data)))


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
