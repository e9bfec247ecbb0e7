#!/usr/bin/env python3
"""How surely kits hold, and which one to sell, against a plain Monte Carlo over the whole grid with the twin.

    compare_sure.py SHEAVE DUMP

The program samples with points of low discrepancy, the best kits first, and judges by its own model; here NumPy's random
numbers make corrections, and every kit of the study is looked at with each of them.
"""
import csv
import json
import os
import subprocess
import sys
import tempfile

import numpy as np

import twin
from compare import HERE, Tally, dump

DRAWS, SIGMAS = 160, 4.0
NEUTRAL = dict(volumetric_efficiency=1, volumetric_efficiency_tilt=0, leakage=1, filling_loss=1, friction=1, blower_friction=1,
               intake_loss=1, exhaust_loss=1, cooler_effectiveness=1, creep=0, knock=1, octane=0, efficiency=1,
               belt_friction=1, injector_flow=1, charge_heating=0)
HOLD = 0.9  # as in the study, like the tolerances


def run(program, study):
    with tempfile.TemporaryDirectory(prefix="sheave-sure-") as folder:
        subprocess.run([program, "run", study, "--quiet", "--no-report", "--out", folder], check=True,
                       stdout=subprocess.DEVNULL)
        tables = []
        for name in ("sure.csv", "ranked.csv"):
            with open(os.path.join(folder, name), newline="", encoding="utf-8") as file:
                tables.append(list(csv.DictReader(file)))
        return tables


def departures(rng):
    """One draw of what the study's tolerances say."""
    a, b = rng.multivariate_normal([0, 0], [[1, -0.6], [-0.6, 1]])
    return dict(volumetric_efficiency=0.02 * a, efficiency=0.02 * b, leakage=0.15 * rng.standard_normal(),
                cooler_effectiveness=rng.triangular(-0.2, 0, 0.2), creep=rng.uniform(-0.006, 0.006), charge_heating=rng.uniform(-0.15, 0.15))


def sample(study):
    """Objective and whether all limits hold, [draw, kit]."""
    rng = np.random.default_rng(7)
    objective, holds = [], []
    for _ in range(DRAWS):
        off = departures(rng)
        brief = twin.Twin(dict(study, corrections={k: v + off.get(k, 0.0) for k, v in NEUTRAL.items()})).sweep()
        objective.append(brief["objective"].ravel())
        holds.append(((brief["outcome"] == twin.OK) & (brief["broken"] == 0)).ravel())
    return np.array(objective), np.array(holds)


def main():
    program, dumper = sys.argv[1:]
    path = os.path.join(HERE, "studies", "sure.cfg")
    study = json.loads(dump(dumper, "study", path))
    sure, ranked = run(program, path)
    nominal = twin.Twin(study).sweep()
    feasible = ((nominal["outcome"] == twin.OK) & (nominal["broken"] == 0)).ravel()
    value = nominal["objective"].ravel()
    objective, holds = sample(study)
    share = holds.mean(axis=0)
    tally = Tally()
    between = 0
    for row in sure:
        kit, p = int(row["index"]), float(row["all_hold_pct"]) / 100
        error = np.hypot(float(row["all_hold_error_pct"]) / 100, np.sqrt(max(p * (1 - p), 0.01) / DRAWS))
        tally.check(f"kit {kit} holds with {share[kit]:.3f}, the program says {p:.3f}", abs(share[kit] - p) < SIGMAS * error)
        between += 0.2 < p < 0.98
        below = (objective[:, kit] < 1000 * float(row["objective_p5_power_kW"])).mean()
        tally.check(f"kit {kit}: {below:.3f} lie below the 5 % percentile", abs(below - 0.05) < SIGMAS * 0.0175)
    sell = next(int(row["index"]) for row in ranked if row["role"] in ("kit to sell", "both"))
    error = np.sqrt(HOLD * (1 - HOLD) * (1 / DRAWS + 1 / 512))
    better = np.flatnonzero(feasible & (value > value[sell]))
    tally.check(f"the kit to sell holds with {share[sell]:.3f}", share[sell] > HOLD - SIGMAS * error)
    tally.check(f"better ones hold with {share[better].max(initial=0):.3f} at the most",
                (share[better] < HOLD + SIGMAS * error).all())
    tally.check("there are some that hold about as often as asked, and better ones that do not",
                between >= 4 and (share[better] < HOLD - SIGMAS * error).any())
    print(f"{feasible.sum()} of {len(value)} kits are feasible, {len(better)} better than the one to sell, which holds with "
          f"{share[sell]:.3f}; {tally.passed} checks passed, {tally.failed} failed")
    sys.exit(tally.failed > 0)


if __name__ == "__main__":
    main()
