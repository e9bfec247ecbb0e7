#!/usr/bin/env python3
"""Feeds every reader of the program with what was made to break it.

    fuzz.py PROGRAM REPLAY                   seeds and single bytes changed, a tenth of a second each; in the suite
    fuzz.py PROGRAM FUZZER --seconds 600     clang's libFuzzer from the same seeds, so long each (configure with
                                             -DCMAKE_C_COMPILER=clang -DCMAKE_BUILD_TYPE=Fuzz, target sheave_fuzz)
    fuzz.py PROGRAM FUZZER --runs 1000000    so many inputs each; with --seconds what comes first

Seeds are the studies, maps and logs of the tests and what a run leaves. Inputs that end a fuzzer are kept in the folder --keep.
"""
import argparse
import glob
import os
import pathlib
import re
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
STUDIES = HERE.parent / "cli" / "studies"
RESULTS = ("manifest.cfg", "ranked.csv", "curves.csv", "limits.csv", "optimum.csv", "rejected.csv", "limit_worth.csv", "parts.csv", "map.csv",
           "islands.csv", "stock_engine.csv")  # as in targets.c
UNITS = ("8 psi", "1.5 bar", "-40 degF", "14.7:1", "0.3 g/(kW.h)", "12 L/min at 20 degC", "1e308 mm", "10 deg 5'", "5 %", "")
QUANTITIES = 36  # the first byte of a unit's seed says which
PICKS = ("blower=short", "blower_pulley=80 mm\nfuel=plain", "cooler=grille\neffectiveness=0.7\nlambda=0.9", "ribs=6\nwrap=170 deg", "=\n==\na=")


def files(pattern):
    return sorted(glob.glob(str(pattern)))


def make_seeds(program, folder):
    """{target: paths}, and the folder of whole results."""
    environment = {"PATH": "/usr/bin:/bin", "LC_ALL": "C", "XDG_CACHE_HOME": os.path.join(folder, "cache")}
    whole = os.path.join(folder, "whole")
    runs = (["run", "kit.cfg", "--out", whole, "--no-report"], ["point", "knock.cfg", "--combination", "0"])
    for arguments in runs:
        done = subprocess.run([program, *arguments], cwd=STUDIES, env=environment, check=False, capture_output=True)
        if done.returncode not in (0, 1):  # 1: nothing that holds every limit
            sys.exit(done.stderr.decode())
    made = {}

    def put(target, name, data):
        path = os.path.join(folder, target, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        pathlib.Path(path).write_bytes(data)
        made.setdefault(target, []).append(path)
    for i, name in enumerate(RESULTS):
        put("results", name, bytes([i]) + pathlib.Path(whole, name).read_bytes())
    put("journal", "whole.db", pathlib.Path(whole, "journal.db").read_bytes())
    database = pathlib.Path(folder, "cache", "sheave", "cycle-tables.db").read_bytes()
    key = re.search(rb"[0-9a-f]{64}", database)
    put("cache", "whole.db", key.group() + database)
    for i, text in enumerate(UNITS):
        for quantity in range(QUANTITIES):
            put("units", f"{i}-{quantity}", bytes([quantity]) + text.encode())
    for i, text in enumerate(PICKS):
        put("pick", str(i), text.encode())
    ranges = set(files(STUDIES / "range*.cfg"))
    for path in files(STUDIES / "*.cfg"):
        put("range" if path in ranges else "study", os.path.basename(path), pathlib.Path(path).read_bytes())
    for target, pattern in (("map", "maps/*.csv"), ("log", "logs/*.csv")):
        for path in files(STUDIES / pattern):
            put(target, os.path.basename(path), pathlib.Path(path).read_bytes())
    return made, whole


def run(command, environment, folder):
    done = subprocess.run(command, env=environment, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
    return done.returncode, done.stdout.decode(errors="replace")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("feeder")
    parser.add_argument("--seconds", type=int)
    parser.add_argument("--runs", type=int)
    parser.add_argument("--keep", default=".", help="folder for what ends a fuzzer (default: here)")
    parser.add_argument("--targets", help="default: all")
    a = parser.parse_args()
    program, feeder, keep = os.path.abspath(a.program), os.path.abspath(a.feeder), os.path.abspath(a.keep)
    bad = executions = 0
    with tempfile.TemporaryDirectory(prefix="sheave-seeds-") as folder:
        seeds, whole = make_seeds(program, folder)
        # Studies name maps and parts beside them.
        for name in ("parts.cfg", "car.cfg", "maps"):
            os.symlink(STUDIES / name, os.path.join(folder, name))
        for target in a.targets.split(",") if a.targets else sorted(seeds):
            environment = {"PATH": "/usr/bin:/bin", "LC_ALL": "C", "TMPDIR": folder, "FUZZ": target, "FUZZ_RESULTS": whole,
                           "ASAN_OPTIONS": "detect_leaks=1:allocator_may_return_null=1", "UBSAN_OPTIONS": "print_stacktrace=1"}
            command = [feeder, target, *seeds[target]]
            if a.seconds or a.runs:
                limits = [f"-{name}={most}" for name, most in (("max_total_time", a.seconds), ("runs", a.runs)) if most]
                command = [feeder, *limits, "-max_len=16384", "-timeout=20", "-rss_limit_mb=2048", "-close_fd_mask=1", "-print_final_stats=1",
                           f"-artifact_prefix={keep}/{target}-", os.path.join(folder, target)]
            code, said = run(command, environment, folder)
            count = re.search(r"number_of_executed_units: (\d+)|: (\d+) inputs", said)
            number = int(count[1] or count[2]) if count else 0
            executions += number
            bad += code != 0
            print(f"{target}: {number} inputs" if code == 0 else f"{target}: ended with {code}\n{said[-3000:]}", flush=True)
    print(f"{executions} inputs, {bad} of the readers with something wrong")
    return 1 if bad or executions == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
