"""Called by run.sh: times sheave_bench, the NumPy twin and a scalar SciPy script in turns.

One core is judged by processor seconds, which other users of the machine disturb least; two threads by the
clock on the wall. Every figure is the median of the repeats.
"""
import json
import os
import statistics
import subprocess
import sys
import time

sys.dont_write_bytecode = True
HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "oracle"))
import numpy as np
import scipy

import scalar
import twin

PROGRAMS, REPEATS = sys.argv[1], int(sys.argv[2])
CORES = sorted(os.sched_getaffinity(0))
SCALAR_POINTS = 240


def output(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def library(study, threads):
    """One sweep of the library; alone on the first core when it has one thread."""
    os.sched_setaffinity(0, CORES[:1] if threads == 1 else CORES)
    environment = dict(os.environ, OMP_NUM_THREADS=str(threads))
    found = subprocess.run([os.path.join(PROGRAMS, "sheave_bench"), study, str(threads)], check=True,
                           capture_output=True, text=True, env=environment).stdout
    os.sched_setaffinity(0, CORES[:1])
    return json.loads(found)


def peer(model):
    """One sweep of the twin on the first core: processor seconds, wall seconds, results."""
    wall, cpu = time.perf_counter(), time.process_time()
    brief = model.sweep()
    return time.process_time() - cpu, time.perf_counter() - wall, brief


def same_result(found, brief):
    """Both have to have found the same, or timing them is idle."""
    choices = brief["objective"].shape[1]
    ok = (brief["outcome"] == twin.OK)[:, None] & (brief["broken"] == 0)
    counts = {"feasible": int(ok.sum()), "outside_map": choices * int((brief["outcome"] == twin.OUTSIDE_MAP).sum()),
              "out_of_range": choices * int((brief["outcome"] == twin.OUT_OF_RANGE).sum()),
              "size": brief["objective"].size, "air_size": brief["objective"].shape[0]}
    for name, count in counts.items():
        if found[name] != count:
            raise SystemExit(f"{name}: {found[name]} by the library, {count} by the twin")
    value = np.where(ok, brief["objective"], -np.inf).ravel()
    for index, objective in found["ranked"]:
        if abs(value[index] - objective) > 1e-9 * abs(objective):
            raise SystemExit(f"combination {index}: {objective} by the library, {value[index]} by the twin")
    if len(found["ranked"]) == 0 or found["ranked"][0][1] < value.max() * (1 - 1e-9):
        raise SystemExit("the library missed the best combination")


def compare(name, repeats, two_threads):
    """Median seconds on one study: by name."""
    path = os.path.join(HERE, name + ".cfg")
    study = json.loads(output(os.path.join(PROGRAMS, "sheave_dump"), "study", path))
    os.sched_setaffinity(0, CORES[:1])
    models = [twin.Twin(study, chunk) for chunk in (1024, 2048, 4096, 8192, 16384)]
    for model in models:
        peer(model)  # warm
    model = min(models, key=lambda m: min(peer(m)[0] for _ in range(3)))
    runs = {"one": [], "one_wall": [], "two_wall": [], "twin": [], "twin_wall": []}
    for _ in range(repeats):
        found = library(path, 1)
        runs["one"].append(found["cpu"])
        runs["one_wall"].append(found["wall"])
        cpu, wall, brief = peer(model)
        runs["twin"].append(cpu)
        runs["twin_wall"].append(wall)
        if two_threads:
            runs["two_wall"].append(library(path, 2)["wall"])
        same_result(found, brief)
    medians = {k: statistics.median(v) for k, v in runs.items() if v}
    places = len(study["sites"]) * len(study["engine"]["speeds"])
    medians.update(air=found["air_size"] * places, all=found["size"] * places, study=study, model=model)
    print(f"{name}: {found['size']} combinations ({found['air_size']} of air) x {len(study['sites'])} sites x "
          f"{len(study['engine']['speeds'])} speeds, {found['feasible']} feasible; per air-side point: library "
          f"{1e9 * medians['one'] / medians['air']:.0f} ns, twin {1e9 * medians['twin'] / medians['air']:.0f} ns "
          f"(lanes in chunks of {model.chunk})")
    return medians


def script(study, model):
    """Processor seconds for one point by a scalar script, on points of blowers by geometry."""
    rng = np.random.default_rng(1)
    kits = model.air_kits()
    by_geometry = np.array([b["kind"] == "geometry" for b in study["blowers"]])[kits["blower"]]
    chosen = rng.permutation(np.flatnonzero(by_geometry))[:SCALAR_POINTS // 8]
    kits = {k: v[chosen] for k, v in kits.items()}
    points = model.points(dict(kits, fuel=np.zeros(len(chosen), int), **{"lambda": np.full(len(chosen), 0.85)}))
    shut = np.argwhere((points["bypass_open"] == 0) & (points["outcome"] == twin.OK))
    some = shut[rng.permutation(len(shut))[:SCALAR_POINTS]]

    def all_of_them():
        return [scalar.by_hybrid(study, int(kits["blower"][k]), float(kits["ratio"][k]), int(kits["cooler"][k]),
                                 float(kits["effectiveness"][k]), int(i), int(j)) for k, i, j in some]
    found = np.array(all_of_them())
    for column, name in enumerate(("blower_flow", "outlet_pressure", "discharge_temperature")):
        expected = points[name][tuple(some.T)]
        if np.abs(found[:, column] / expected - 1).max() > 1e-8:
            raise SystemExit(f"the script finds another {name}")
    times = []
    for _ in range(3):
        start = time.process_time()
        all_of_them()
        times.append(time.process_time() - start)
    return statistics.median(times) / len(some), len(some)


def main():
    with open("/proc/cpuinfo", encoding="ascii", errors="replace") as file:
        processor = next((l.split(":")[1].strip() for l in file if l.startswith("model name")), "unknown")
    print(f"processor: {processor}, {len(CORES)} cores to use; load average before: {os.getloadavg()[0]:.2f}")
    print(f"peer: tests/oracle/twin.py, NumPy {np.__version__}, one core; script: scipy.optimize.root (hybr), "
          f"SciPy {scipy.__version__}; {REPEATS} repeats in turns, medians")
    if len(CORES) < 2:
        raise SystemExit("two cores are needed")
    mixed = compare("mixed", REPEATS, True)
    parts = {name: compare(name, max(3, REPEATS // 2), False) for name in ("geometry", "loop", "map")}
    seconds, points = script(mixed["study"], mixed["model"])
    print(f"script: {1e6 * seconds:.0f} us for each of {points} points (match only, blowers by geometry)")
    print(f"wall seconds of one sweep: library one thread {mixed['one_wall']:.4f}, two {mixed['two_wall']:.4f}, "
          f"twin {mixed['twin_wall']:.4f}; load average after: {os.getloadavg()[0]:.2f}")
    for name, part in parts.items():
        print(f"numpy_ratio_{name}={part['twin'] / part['one']:.3g}")
    print(f"numpy_ratio_per_core={mixed['twin'] / mixed['one']:.3g}")
    print(f"scipy_ratio={seconds / (mixed['one'] / mixed['air']):.3g}")
    print(f"points_per_second={mixed['all'] / mixed['two_wall']:.4g}")
    print(f"points_per_second_one_core={mixed['all'] / mixed['one']:.4g}")
    print(f"thread_scaling={mixed['one_wall'] / mixed['two_wall']:.3g}")
    print(f"match_points_per_second={mixed['air'] / mixed['two_wall']:.4g}")


if __name__ == "__main__":
    main()
