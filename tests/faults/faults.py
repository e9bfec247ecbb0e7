#!/usr/bin/env python3
"""Fails one system call or allocation of a small run, plan, fit and report at a time, and looks what is left.

    faults.py PROGRAM SHIM                       a sample: some of each kind in each command
    faults.py PROGRAM SHIM --every               every call, and of allocations the first of each place that asks for memory
    faults.py PROGRAM SHIM --every --part 3/8     every eighth of them, from the third on
    faults.py PROGRAM SHIM --random 1000 --seed 1    so many, drawn from all of them, further allocations of a place included
    faults.py PROGRAM SHIM --kill ...            the program is killed there instead
    faults.py PROGRAM SHIM --only fit:malloc:17  one, with what the program said

After a fault the program ends with 3 and a message, or with 0 and the same results as without; it never ends by a signal, no file
is half there, what fails at the very end is said, and the same command goes on to the same results afterwards. So it does after it was killed.
"""
import argparse
import os
import pathlib
import random
import shutil
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
STUDIES = HERE.parent / "cli" / "studies"
KINDS = ("open", "read", "write", "sync", "rename", "unlink", "malloc")
TIMEOUT = 120  # s
LOGS = ["--log", "dyno=logs/dyno.csv", "--log", "bench=logs/bench.csv"]
# Name: command, and how it is given again after trouble.
COMMANDS = {
    "run": (["run", "fault.cfg", "--out", "out"], ["--resume"]),
    "search": (["run", "kit.cfg", "--out", "out"], ["--resume"]),
    "cache": (["run", "knock.cfg", "--out", "out"], ["--resume"]),
    "plan": (["plan", "range.cfg", "--out", "out"], ["--resume"]),
    "fit": (["fit", "measured.cfg", *LOGS, "--out", "out/fitted.cfg"], ["--replace"]),
    "report": (["report", "out", "--kit", "1"], []),
}
JOURNALS = ("run", "search", "cache", "plan")
# In place of gnuplot, which would be most of the time: a picture for each script.
GNUPLOT = """#!/bin/sh
name=${4%.gp}
[ "$name" = rows ] && name=row-1
printf '<svg width="10" height="10"></svg>\\n' > "$name.svg.part"
"""
OTHERWISE = ("manifest.cfg", "run.log", "journal.db", "journal.db-journal")  # times, or how far it came


class Place:
    """A folder with the studies and a cache, made anew for each trial."""

    def __init__(self, program, shim, command):
        self.program, self.shim, self.command = program, shim, command
        self.home = tempfile.TemporaryDirectory(prefix="sheave-faults-")
        self.base = os.path.join(self.home.name, "base")
        self.there = os.path.join(self.home.name, "there")
        shutil.copytree(STUDIES, self.base)
        with open(os.path.join(self.base, "single.cfg"), encoding="utf-8") as file:
            text = file.read()
        with open(os.path.join(self.base, "fault.cfg"), "w", encoding="utf-8") as file:
            file.write(text.replace("report = false", "report = true"))
        os.mkdir(os.path.join(self.base, "out"))
        if command == "report":
            os.mkdir(os.path.join(self.home.name, "bin"))
            stand_in = os.path.join(self.home.name, "bin", "gnuplot")
            with open(stand_in, "w", encoding="utf-8") as file:
                file.write(GNUPLOT)
            os.chmod(stand_in, 0o755)
        if command == "report":
            self.folder = self.base
            assert self.run(["run", "fault.cfg", "--out", "out"], {}).returncode == 0
            shutil.rmtree(os.path.join(self.base, "out", "plots"))
        self.again()

    def again(self):
        shutil.rmtree(self.there, ignore_errors=True)
        shutil.copytree(self.base, self.there, symlinks=True)
        self.folder = self.there

    def run(self, arguments, fault):
        environment = {"PATH": os.path.join(self.home.name, "bin"), "LC_ALL": "C", "OMP_NUM_THREADS": "1",
                       "XDG_CACHE_HOME": os.path.join(self.folder, "cache")} | fault
        command = [self.program, *arguments]
        try:
            return subprocess.run(command, cwd=self.folder, env=environment, stdin=subprocess.DEVNULL,
                                  capture_output=True, timeout=TIMEOUT, check=False)
        except subprocess.TimeoutExpired:
            return subprocess.CompletedProcess(command, f"nothing in {TIMEOUT} s", b"", b"")

    def results(self):
        """Whole files of the results by name."""
        out = os.path.join(self.there, "out")
        found = {}
        for top, _, names in os.walk(out):
            for name in names:
                path = os.path.join(top, name)
                if not name.startswith(OTHERWISE):
                    with open(path, "rb") as file:
                        found[os.path.relpath(path, out)] = file.read()
        return found

    def counts(self):
        path = os.path.join(self.home.name, "counts")
        done = self.run(COMMANDS[self.command][0], {"LD_PRELOAD": self.shim, "FAULT_COUNT": path})
        if done.returncode != 0:
            raise SystemExit(f"{self.command} without a fault: {done.returncode}\n{done.stderr.decode()}")
        with open(path, encoding="utf-8") as file:
            lines = [line.split() for line in file]
        places = {line[0]: [int(number) for number in line[2:]] for line in lines}
        return {line[0]: int(line[1]) for line in lines}, places, self.results(), done.stdout


def same_page(name, left, right):
    """Pages say when they were made and how."""
    return name.endswith(".html") and all(page.endswith(b"</html>\n") for page in (left, right))


def judge(place, kind, number, whole, printed, killed=False, is_last=False):
    """What is wrong after the n-th call failed or the program was killed there, a line each."""
    command, more = COMMANDS[place.command]
    place.again()
    before = place.results()
    done = place.run(command, {"LD_PRELOAD": place.shim, "FAULT": f"{'kill:' if killed else ''}{kind}:{number}"})
    said = done.stderr.decode(errors="replace")
    found = []
    if killed:
        found += [] if done.returncode == -9 else [f"was not killed: {done.returncode}"]
    elif done.returncode not in (0, 3):
        found.append(f"ended with {done.returncode}: {said.strip()[-200:]}")
    if is_last and done.returncode != 3:
        found.append(f"the last one, and ended with {done.returncode}")
    if done.returncode == 3 and not said.startswith("sheave"):
        found.append(f"ended with 3 and no message: {said[:100]!r}")
    left = place.results()
    if done.returncode == 0:
        found += [f"done, but {name} is missing" for name in whole if name not in left]
        if done.stdout != printed:
            found.append("done, but printed something else")
    for name, data in left.items():
        if ".part" in name:
            if kind != "unlink" and not killed:
                found.append(f"left {name}")
        elif data not in (whole.get(name), before.get(name)) and not same_page(name, data, whole.get(name, b"")):
            found.append(f"{name} is neither old nor new")
    if not found:
        again = place.run(command, {})
        if again.returncode == 2:  # what is there is not written over unasked
            again = place.run(command + more, {})
        after = place.results()
        if again.returncode != 0:
            found.append(f"afterwards: {again.returncode}: {again.stderr.decode()[-200:]}")
        else:
            found += [f"afterwards {name} differs" for name in whole
                      if after.get(name) != whole[name] and not same_page(name, after.get(name, b""), whole[name])]
    return found, done


def numbers(count, sample):
    """Which calls fail: all, or some spread over them, the first and the last among them."""
    if sample is None or count <= sample:
        return list(range(1, count + 1))
    if sample == 1:
        return [(count + 1) // 2]
    return sorted({1 + round(i * (count - 1) / (sample - 1)) for i in range(sample)})


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("shim")
    parser.add_argument("--every", action="store_true")
    parser.add_argument("--part", default="1/1", metavar="I/N", help="every N-th of them, from the I-th on")
    parser.add_argument("--sample", type=int, default=4, help="calls of each kind and command (default: 4)")
    parser.add_argument("--commands", default=",".join(COMMANDS))
    parser.add_argument("--kinds", default=",".join(KINDS))
    parser.add_argument("--only")
    parser.add_argument("--random", type=int, help="so many of all, drawn by the seed")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kill", action="store_true")
    a = parser.parse_args()
    program, shim = os.path.abspath(a.program), os.path.abspath(a.shim)
    if a.only:
        command, kind, number = a.only.split(":")
        place = Place(program, shim, command)
        _, _, whole, printed = place.counts()
        found, done = judge(place, kind, int(number), whole, printed, a.kill)
        print("\n".join(found), done.returncode, done.stderr.decode(), sep="\n")
        return 1 if found else 0
    tried = bad = 0
    dice, commands = random.Random(a.seed), a.commands.split(",")
    for command in commands:
        place = Place(program, shim, command)
        counts, places, whole, printed = place.counts()
        cases = [(kind, number) for kind in a.kinds.split(",")
                 for number in (a.every and places[kind]) or numbers(counts[kind], None if a.every or a.random else a.sample)]
        if a.random:
            cases = dice.sample(cases, min(len(cases), -(-a.random // len(commands))))
        first, of = (int(number) for number in a.part.split("/"))
        for kind, number in cases[first - 1::of]:
            # With these the journal is put away; there is nothing that could make good for it.
            is_last = not a.kill and command in JOURNALS and kind in ("sync", "unlink") and number == counts[kind]
            found, _ = judge(place, kind, number, whole, printed, a.kill, is_last)
            tried += 1
            bad += bool(found)
            for line in found:
                print(f"{command}:{kind}:{number}: {line}", flush=True)
    print(f"{tried} {'kills' if a.kill else 'faults'}, {bad} with something wrong")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
