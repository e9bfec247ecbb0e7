#!/usr/bin/env python3
"""Makes the demo's logs: what the model gives with known corrections, noise, and two rows spoilt.

    make_logs.py DUMP STUDY CACHE FOLDER [--seed N] [--compare OTHER]

DUMP is the program of fit_dump.c. The logs in configs/logs were made so with the default seed from
configs/hillclimb-fit.cfg. Everything in them is invented. --compare fails when the logs in OTHER are not the
same, but for the last digit of a number.
"""
import argparse
import os
import random
import subprocess
import tempfile

# What went in, by correction; noise is that of the study's columns.
TRUTH = {"volumetric_efficiency": 0.968, "volumetric_efficiency_tilt": -0.018, "leakage": 1.22,
         "filling_loss": 1.3, "blower_friction": 1.12, "creep": 0.004, "cooler_effectiveness": 0.90,
         "exhaust_loss": 1.12, "knock": 0.95, "efficiency": 0.985}
FREE = list(TRUTH)

DYNO_HEAD = ["logger of the control unit;dyno cell;invented for a demonstration", "",
             "time [s];engine speed [1/min];throttle [%];MAP [kPa];T blower out [\u00b0C];T charge [\u00b0C];"
             "brake power [kW];air flow [kg/h];fuel flow [kg/h];CA50 [deg];note"]
BENCH_HEAD = ["# Blower bench, invented for a demonstration.", "rpm,p1,T1,p2/p1,m,T2,P",
              "1/min,kPa,degC,-,kg/h,degC,kW"]


def dyno_rows(rng):
    """(time, speed, throttle, phase): two pulls, each let go at the top and caught at the bottom."""
    rows, time = [], 0.0
    for first in (1780.0, 1830.0):
        for part in range(3):
            rows.append((time, first - 240 + 20 * part, 35.0 + 20 * part, "tip-in"))
            time += 0.2
        speed = first
        while speed < 7200:
            rows.append((time, speed + rng.uniform(-15, 15), 100.0, "pull"))
            time += 0.2
            speed += 155.0
        for _ in range(5):
            speed -= 900
            rows.append((time, speed, 1.5, "coast"))
            time += 0.2
    return rows


def bench_rows():
    return [(speed, ratio) for speed in (4000, 8000, 12000, 16000) for ratio in (1.2, 1.5, 1.8, 2.1)]


def comma(value, digits):
    return f"{value:.{digits}f}".replace(".", ",")


def write_dyno(path, rows, cells):
    """cells[i]: seven numbers of row i, None where there is none."""
    digits = (1, 1, 1, 2, 1, 2, 1)
    with open(path, "w", encoding="utf-8", newline="") as out:
        out.write("\r\n".join(DYNO_HEAD) + "\r\n")
        for (time, speed, throttle, _), values in zip(rows, cells):
            texts = ["" if v is None else comma(v, d) for v, d in zip(values, digits)]
            out.write(";".join([comma(time, 1), comma(speed, 0), comma(throttle, 1)] + texts + [""]) + "\r\n")


def write_bench(path, rows, cells):
    with open(path, "w", encoding="utf-8", newline="") as out:
        out.write("\n".join(BENCH_HEAD) + "\n")
        for (speed, ratio), (flow, temperature, power) in zip(rows, cells):
            out.write(f"{speed},99.2,23.5,{ratio:.2f},{flow:.2f},{temperature:.2f},{power:.3f}\n")


def ask(options, dyno, bench):
    """What the model gives at TRUTH: {(log, line, column): (value, deviation) in the log's units}."""
    truth = " ".join(repr(TRUTH[name]) for name in FREE)
    done = subprocess.run([options.dump, options.study, options.cache, "ask", f"dyno={dyno}", f"bench={bench}"],
                          input=truth + "\n", capture_output=True, text=True, check=True).stdout.split("\n")
    count = int(done[0])
    readings = [line.split() for line in done[1:1 + count]]
    values = [float(v) for v in done[1 + count].split()]
    answer = {}
    for (log, line, column, _, _, deviation, factor, origin), value in zip(readings, values):
        factor, origin = float(factor), float(origin)
        answer[int(log), int(line), int(column)] = ((value - origin) / factor, float(deviation) / factor)
    return answer


def made_up(rng, phase):
    """Off full throttle the numbers only have to look like a log's."""
    flow = 90.0 if phase == "tip-in" else 25.0
    return [rng.uniform(40, 80), 60.0, 30.0, rng.uniform(-5, 15), flow, flow / 13, None]


def spoil(lines, cells, answer):
    """A belt that slipped for a moment, and a thermocouple that lost contact."""
    pulls = [i for i, row in enumerate(lines) if row[3] == "pull"]
    slipped, lost = pulls[len(pulls) // 4], pulls[3 * len(pulls) // 4]
    for k in (0, 3, 4, 5):
        cells[slipped][k] *= 0.8
    cells[lost][1] = 35.0


def numbers(path):
    """Cells of a log as numbers, others as they are."""
    with open(path, encoding="utf-8", newline="") as file:
        for line in file.read().splitlines():
            for cell in line.replace(",", ".").split(";") if ";" in line else line.split(","):
                try:
                    yield float(cell)
                except ValueError:
                    yield cell


def same_log(a, b):
    first, second = list(numbers(a)), list(numbers(b))
    return len(first) == len(second) and all(
        x == y or (isinstance(x, float) and isinstance(y, float) and abs(x - y) <= 0.11) for x, y in zip(first, second))


def main():
    parser = argparse.ArgumentParser()
    for name in ("dump", "study", "cache", "folder"):
        parser.add_argument(name)
    parser.add_argument("--seed", type=int, default=20)
    parser.add_argument("--compare")
    options = parser.parse_args()
    rng = random.Random(options.seed)
    dyno, bench = dyno_rows(rng), bench_rows()
    with tempfile.TemporaryDirectory() as folder:
        paths = [os.path.join(folder, name) for name in ("dyno.csv", "bench.csv")]
        # Something to stand in the cells while the model is asked. Shares need plausible sizes, so
        # the model is asked twice: the second time for what it said the first time.
        plain = [[150.0, 100.0, 50.0, 90.0, 400.0, 35.0, 15.0] if row[3] == "pull" else made_up(rng, row[3])
                 for row in dyno]
        blown = [[300.0, 80.0, 10.0] for _ in bench]
        for _ in range(2):
            write_dyno(paths[0], dyno, plain)
            write_bench(paths[1], bench, blown)
            answer = ask(options, *paths)
            for i, row in enumerate(dyno):
                if row[3] == "pull":
                    plain[i] = [answer[0, len(DYNO_HEAD) + 1 + i, 2 + k][0] for k in range(7)]
            blown = [[answer[1, len(BENCH_HEAD) + 1 + i, 4 + k][0] for k in range(3)] for i in range(len(bench))]
    for i, row in enumerate(dyno):
        for k in range(7):
            if row[3] == "pull":
                plain[i][k] += rng.gauss(0.0, answer[0, len(DYNO_HEAD) + 1 + i, 2 + k][1])
    for i in range(len(bench)):
        for k in range(3):
            blown[i][k] += rng.gauss(0.0, answer[1, len(BENCH_HEAD) + 1 + i, 4 + k][1])
    spoil(dyno, plain, answer)
    plain[10][4] = None  # a frame that the logger missed
    os.makedirs(options.folder, exist_ok=True)
    write_dyno(os.path.join(options.folder, "hillclimb-dyno.csv"), dyno, plain)
    write_bench(os.path.join(options.folder, "hillclimb-bench.csv"), bench, blown)
    for name in ("hillclimb-dyno.csv", "hillclimb-bench.csv") if options.compare else ():
        if not same_log(os.path.join(options.folder, name), os.path.join(options.compare, name)):
            raise SystemExit(f"{name} in {options.compare} is not what this script makes")


if __name__ == "__main__":
    main()
