"""Called by run.sh: times sheave_bench, the NumPy twin and a scalar SciPy script in turns.

    bench.py BUILD REPEATS

One core is judged by processor seconds, which other users of the machine disturb least; two threads by the
clock on the wall. Contenders take turns, and of each the best of the repeats counts: whatever disturbs makes
a run longer, never shorter. docs/speed.md says what the figures mean.
"""
import json
import os
import re
import shutil
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

BUILD, REPEATS = os.path.abspath(sys.argv[1]), int(sys.argv[2])
BENCH, DUMP = (os.path.join(BUILD, "tests", "oracle", name) for name in ("sheave_bench", "sheave_dump"))
CACHE = os.path.join(BUILD, "bench")  # tables in a folder that the program itself would look in, and results
TABLES = os.path.join(CACHE, "sheave")
CORES = sorted(os.sched_getaffinity(0))[:2]
CHUNKS = (1024, 2048, 4096)  # of the twin; the fastest counts
SCRIPT_POINTS = 120
SHARDS = 64  # of the large study one is run
# Runs a program and prints its largest resident set in kB. A process of its own, because a child begins with the size
# of the one that it was forked from, and this one is large.
MEMORY = """
import os, sys
quiet = [(os.POSIX_SPAWN_OPEN, fd, os.devnull, os.O_WRONLY, 0) for fd in (1, 2)]
_, status, usage = os.wait4(os.posix_spawn(sys.argv[1], sys.argv[1:], os.environ, file_actions=quiet), 0)
if status != 0:
    sys.exit(f"wait status {status}")
print(usage.ru_maxrss)
"""
FITS = 180.0  # s in which the large study is run whole


def path_of(study):
    return os.path.join(HERE, study + ".cfg")


def output(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def library(command, study, threads, *more):
    """A run of sheave_bench, alone on the first core when it has one thread."""
    where = (TABLES,) if command == "sweep" else ()
    os.sched_setaffinity(0, CORES[:1] if threads == 1 else CORES)
    found = subprocess.run([BENCH, command, path_of(study), *where, str(threads), *map(str, more)], check=True,
                           capture_output=True, text=True, env=dict(os.environ, OMP_NUM_THREADS=str(threads))).stdout
    os.sched_setaffinity(0, CORES[:1])
    return json.loads(found)


class Peer:
    """The twin of a study, on the first core."""

    def __init__(self, name):
        self.study = json.loads(output(DUMP, "study", path_of(name)))
        numbers = os.path.join(CACHE, name + ".tables")
        index = json.loads(output(DUMP, "tables", path_of(name), TABLES, numbers))
        tables = twin.read_tables(index, numbers)
        os.remove(numbers)
        self.models = [twin.Twin(self.study, chunk, tables) for chunk in CHUNKS]
        self.least = dict.fromkeys(CHUNKS, np.inf)

    def run(self):
        """A sweep with each size of chunk."""
        for model in self.models:
            cpu = time.process_time()
            self.brief = model.sweep()
            self.least[model.chunk] = min(self.least[model.chunk], time.process_time() - cpu)


def same_result(found, brief):
    """Both have to have found the same, or timing them is idle."""
    good = brief["outcome"] == twin.OK
    ok = good & (brief["broken"] == 0) & ~brief["no_cycle"]
    counts = {"feasible": int(ok.sum()), "size": brief["objective"].size, "air_size": len(brief["outcome"])}
    theirs = {name: found[name] for name in counts}
    for name, code in (("outside_map", twin.OUTSIDE_MAP), ("out_of_range", twin.OUT_OF_RANGE)):
        counts[name], theirs[name] = int((brief["outcome"] == code).sum()), found["failed"][code]
    counts["no_cycle"], theirs["no_cycle"] = int((brief["no_cycle"] & good).sum()), found["failed"][twin.NO_CYCLE]
    for name, count in counts.items():
        if theirs[name] != count:
            raise SystemExit(f"{name}: {theirs[name]} by the library, {count} by the twin")
    value = np.where(ok, brief["objective"], -np.inf).ravel()
    for index, objective in found["ranked"]:
        if abs(value[index] - objective) > 1e-9 * abs(objective):
            raise SystemExit(f"combination {index}: {objective} by the library, {value[index]} by the twin")
    if len(found["ranked"]) == 0 or found["ranked"][0][1] < value.max() * (1 - 1e-9):
        raise SystemExit("the library missed the best combination")


def places_of(study):
    return len(study["sites"]) * len(study["engine"]["speeds"])


def compare(name):
    """Least processor seconds on one study of library and twin, and what they did."""
    peer = Peer(name)
    ours = []
    for _ in range(REPEATS):
        found = library("sweep", name, 1)
        ours.append(found["cpu"])
        peer.run()
        same_result(found, peer.brief)
    points = found["size"] * places_of(peer.study)
    chunk = min(peer.least, key=peer.least.get)
    print(f"{name}: {found['size']:,} combinations ({found['air_size']:,} of air) x {places_of(peer.study)} points, "
          f"{found['feasible']:,} feasible; nanoseconds for each distinct point: library "
          f"{1e9 * min(ours) / points:.0f}, twin {1e9 * peer.least[chunk] / points:.0f} (lanes in chunks of "
          f"{chunk})", flush=True)
    return {"peer": peer, "ours": min(ours), "twin": peer.least[chunk],
            "air": found["air_size"] * places_of(peer.study)}


def script(peer):
    """Processor seconds of a scalar script for the match of a point, and for the lookup of all its burns."""
    rng, study, model = np.random.default_rng(1), peer.study, peer.models[0]
    kits = model.air_kits()
    by_geometry = np.array([b["kind"] == "geometry" for b in study["blowers"]])[kits["blower"]]
    chosen = rng.permutation(np.flatnonzero(by_geometry))[:SCRIPT_POINTS // 8]
    kits = {k: v[chosen] for k, v in kits.items()}
    points = model.points(dict(kits, fuel=np.zeros(len(chosen), int),
                               **{"lambda": np.full(len(chosen), study["lambdas"][0])}))
    # The script leaves condensation out.
    shut = np.argwhere((points["bypass_open"] == 0) & (points["outcome"] == twin.OK) & (points["condensed_flow"] == 0))
    some = shut[rng.permutation(len(shut))[:SCRIPT_POINTS]]

    def match():
        return [scalar.by_hybrid(study, int(kits["blower"][k]), float(kits["ratio"][k]), int(kits["cooler"][k]),
                                 float(kits["effectiveness"][k]), int(i), int(j)) for k, i, j in some]

    def burn():
        for k, i, j in some:
            pm, tm = (points[name][k, i, j:j + 1] for name in ("manifold_pressure", "charge_temperature"))
            for (first, _, _), table in model.tables.items():
                if first == model.first_alike[i]:
                    begun = table.begin(int(j), pm, tm)
                    for margin in study["ignition_margins"]:
                        table.at(begun, margin)
    found = np.array(match())
    for column, name in enumerate(("blower_flow", "outlet_pressure", "discharge_temperature")):
        expected = points[name][tuple(some.T)]
        if np.abs(found[:, column] / expected - 1).max() > 1e-8:
            return None  # it knows nothing of what a fuel does to breathing with the closed cycle
    least = {}
    for part in (match, burn) * REPEATS:
        start = time.process_time()
        part()
        least[part] = min(least.get(part, np.inf), time.process_time() - start)
    return least[match] / len(some), least[burn] / len(some)


def threads(study):
    """Least wall seconds of the study with drawers, on one thread and on two, in turns. They are short, and another's
    moment on one of two cores halves what is measured: so there are more of them."""
    runs = {1: [], 2: []}
    for _ in range(max(10, REPEATS)):
        for count in runs:
            found = library("sweep", study, count)
            runs[count].append(found["wall"])
    return min(runs[1]), min(runs[2]), found


def scaling_limit():
    """How far the machine lets two threads scale: arithmetic in registers, as much on each, in turns."""
    least = {1: np.inf, 2: np.inf}
    for _ in range(REPEATS):
        for count in least:
            os.sched_setaffinity(0, CORES[:count])
            wall = json.loads(output(BENCH, "loop", str(count)))["wall"]
            least[count] = min(least[count], wall)
    os.sched_setaffinity(0, CORES[:1])
    return 2 * least[1] / least[2]


def answers():
    """Wall seconds of the demo study, whole program on two threads: without and with its tables there; and of its
    sweep, by the log's account."""
    demo = os.path.join(HERE, "..", "..", "configs", "hillclimb.cfg")
    folder, cache = os.path.join(CACHE, "answer"), os.path.join(CACHE, "answer-cache")
    least, sweep = {"cold": np.inf, "warm": np.inf}, np.inf
    os.sched_setaffinity(0, CORES)
    for _ in range(max(1, REPEATS // 2)):
        shutil.rmtree(cache, ignore_errors=True)
        for how in least:
            start = time.perf_counter()
            subprocess.run([os.path.join(BUILD, "sheave"), "run", demo, "--out", folder, "--anew", "--threads", "2",
                            "--quiet", "--cache", cache], check=True, capture_output=True,
                           env=dict(os.environ, OMP_NUM_THREADS="2"))
            least[how] = min(least[how], time.perf_counter() - start)
            with open(os.path.join(folder, "manifest.cfg"), encoding="utf-8") as file:
                sweep = min(sweep, float(re.search(r"seconds_sweep = ([0-9.e-]+)", file.read()).group(1)))
    shutil.rmtree(folder)
    shutil.rmtree(cache)
    os.sched_setaffinity(0, CORES[:1])
    return least["cold"], least["warm"], sweep


def thousand_million(study):
    """Wall seconds of the whole study on two threads, from a shard if it takes long, and megabytes of the program."""
    runs = [library("sweep", study, 2, 0, SHARDS) for _ in range(max(1, REPEATS // 2))]
    found = min(runs, key=lambda r: r["wall"])
    seconds = found["wall"] * found["size"] / found["total"]
    how = f"scaled up from shard 1/{SHARDS}, {found['total']:,} combinations in {found['wall']:.1f} s"
    whole = seconds < FITS
    folder = os.path.join(CACHE, study)
    os.sched_setaffinity(0, CORES)
    start = time.perf_counter()
    program = subprocess.run([sys.executable, "-I", "-S", "-c", MEMORY, os.path.join(BUILD, "sheave"), "run",
                              path_of(study), "--out", folder, "--anew", "--threads", "2"]
                             + ([] if whole else ["--shard", f"1/{SHARDS}"]), capture_output=True, text=True,
                             env=dict(os.environ, XDG_CACHE_HOME=CACHE))
    spent = time.perf_counter() - start
    os.sched_setaffinity(0, CORES[:1])
    if program.returncode != 0:
        raise SystemExit(f"sheave run {study}.cfg failed: {program.stderr}")
    shutil.rmtree(folder)
    if whole:
        seconds, how = spent, "run whole"
    print(f"{study}: {found['size']:,} combinations ({found['air_size']:,} of air, {found['burn_size']} burns): "
          f"{how}; the program itself took {spent:.1f} s for " + ("it" if whole else "the shard"))
    return seconds, int(program.stdout) / 1024, found["size"]


def instructions(study, points):
    """Instructions of a sweep for each distinct point, as Valgrind counts them; None without it."""
    if shutil.which("valgrind") is None:
        print("instructions: left out, Valgrind is not installed")
        return None
    out = os.path.join(CACHE, "callgrind.out")
    said = subprocess.run(["valgrind", "--tool=callgrind", "--toggle-collect=shv_sweep_run",
                           "--callgrind-out-file=" + out, BENCH, "sweep", path_of(study), TABLES, "1"], check=True,
                          capture_output=True, text=True).stderr
    total = int(re.search(r"Collected\s*:\s*(\d+)", said).group(1))
    print(f"instructions: {total:,} for {points:,} distinct points of study {study}, vector code as Valgrind "
          f"allows (no AVX-512); {out} tells them by function")
    return total / points


def main():
    with open("/proc/cpuinfo", encoding="ascii", errors="replace") as file:
        processor = next((l.split(":")[1].strip() for l in file if l.startswith("model name")), "unknown")
    print(f"{time.strftime('%Y-%m-%d')}, {processor}, {len(CORES)} cores used; load average before: "
          f"{os.getloadavg()[0]:.2f}")
    print(f"peer: tests/oracle/twin.py, NumPy {np.__version__}, one core; script: scipy.optimize.root (hybr), "
          f"SciPy {scipy.__version__}; best of {REPEATS} in turns", flush=True)
    if len(CORES) < 2:
        raise SystemExit("two cores are needed")
    np.seterr(all="ignore")  # of lanes that have no answer
    os.makedirs(TABLES, exist_ok=True)
    for study in ("mixed", "large"):  # the others need no more
        output(BENCH, "tables", path_of(study), TABLES)
    os.sched_setaffinity(0, CORES[:1])
    parts = {name: compare(name) for name in ("geometry", "loop", "map", "mixed")}
    mixed = parts["mixed"]
    scipy_seconds = script(mixed["peer"])
    burns = len(mixed["peer"].models[0].burn_choices()["fuel"])
    match, burn = scipy_seconds or (np.nan, np.nan)
    print(f"script: {1e6 * match:.0f} us for the match of a point (blowers by geometry), {1e6 * burn:.0f} us for the "
          f"lookups of its {burns} burns")
    places = places_of(mixed["peer"].study)
    one, two, wide = threads("wide")
    distinct = wide["air_size"] * wide["burn_size"] * places
    print(f"wide: {wide['size']:,} combinations ({wide['air_size']:,} of air, {wide['burn_size']} burns): "
          f"{one:.3f} s on one thread, {two:.3f} s on two", flush=True)
    tables = min((library("build", "mixed", 2) for _ in range(max(1, REPEATS // 2))), key=lambda r: r["wall"])
    print(f"tables: {tables['tables']} of one fuel and lambda in {tables['wall']:.2f} s on two threads, "
          f"{tables['cpu']:.2f} s of processor time", flush=True)
    limit = scaling_limit()
    cold, warm, swept = answers()
    print(f"answer: the demo study in {cold:.1f} s without tables, {warm:.1f} s with them, its sweep {swept:.2f} s; "
          f"arithmetic in registers scales {limit:.2f}", flush=True)
    seconds, megabytes, size = thousand_million("large")
    small = json.loads(output(BENCH, "sweep", path_of("small"), TABLES, "1"))
    count = instructions("small", small["air_size"] * small["burn_size"] * places)
    print(f"load average after: {os.getloadavg()[0]:.2f}")
    for name, part in parts.items():
        if name != "mixed":
            print(f"numpy_ratio_{name}={part['twin'] / part['ours']:.3g}")
    print(f"numpy_ratio_per_core={mixed['twin'] / mixed['ours']:.3g}")
    if scipy_seconds:
        print(f"scipy_ratio_match_only={match / (mixed['ours'] / mixed['air']):.3g}")
        print(f"scipy_ratio={(match + burn) / (mixed['ours'] / mixed['air']):.3g}")
    print(f"evaluated_points_per_second={distinct / two:.4g}")
    print(f"points_per_second={wide['size'] * places / two:.4g}")
    print(f"thread_scaling={one / two:.3g}")
    print(f"thread_scaling_limit={limit:.3g}")
    print(f"answer_seconds_cold={cold:.3g}")
    print(f"answer_seconds_warm={warm:.3g}")
    print(f"answer_over_sweep={warm / swept:.3g}")
    print(f"table_seconds={tables['wall']:.3g}")
    if count is not None:
        print(f"instructions_per_point={count:.4g}")
    print(f"rss_mb_1e9={megabytes:.1f}")
    print(f"seconds_1e9={seconds * 1e9 / size:.4g}")


if __name__ == "__main__":
    main()
