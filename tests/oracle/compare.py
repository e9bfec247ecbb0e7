"""The library against its independent twin, number by number.

    compare.py SHEAVE_DUMP [SEED]

For every study in studies/ some 200 kits, real ones and ideal ones drawn at random, are evaluated by the
library (fast and plain) and by twin.py. Every field of every point, the flags, and the verdict have to agree
to 1e-6; belt, bearing and the cruise point (cruise.py) to 1e-8. Two of the studies carry corrections, and once
more with those of blowers' own entries. Of the studies with hardware a slice of the space goes through the
library's own sweep as well. Prints the largest deviation of each and `N passed, N failed`. Studies
with the closed cycle are compared by compare_cycle.py.
"""
import csv
import glob
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections import Counter

sys.dont_write_bytecode = True
import numpy as np
from scipy.interpolate import PchipInterpolator

import cruise
import scalar
import twin

HERE = os.path.dirname(os.path.abspath(__file__))
TOLERANCE = 1e-6
HARDWARE_TOLERANCE = 1e-8  # what follows from the match by closed forms, and the cruise point
KITS = 200         # of each study
OWN_KITS = 24      # of those drawn, for blowers with corrections of their own: nested brackets take long
SCALAR_POINTS = 63  # of all studies, by scalar root finding
CYCLE_STUDIES = ("cycle_choked", "cycle_direct", "cycle_port", "stock_cycle")  # by compare_cycle.py
SURE_STUDIES = ("sure",)  # by compare_sure.py
OF_CYCLE = ("phasing_retard", "peak_pressure", "exhaust_temperature", "injector_duty", "pump_flow")  # likewise
STUDIES = ("bare", "bleed_atmosphere", "bleed_inlet", "constant", "losses", "maps", "strangled")
# With the group `corrections`; the scalar check does not know them.
CORRECTED = ("corrected", "corrected_maps")
# The same once more with entries of blowers that hold corrections of their own.
OWN = {"lossy": {"leakage": 0.7, "filling_loss": 0.6, "blower_friction": 1.2}, "straight": {"leakage": 1.3},
       "screw": {"blower_friction": 0.7}, "by power": {"leakage": 1.2}}
# With belt, duty, cruise and prices.
HARDWARE = ("hardware_spring", "hardware_fixed", "hardware_cheap", "hardware_worth")
SWEPT = 96  # combinations of the air side of each of them, by the library's own sweep

# Below this size a deviation is judged as absolute.
FLOOR = {"pressure": 1.0, "drop": 1.0, "boost": 1.0, "power": 1.0, "heat": 1.0, "flow": 1e-6,
         "leakage_flow": 1e-4,  # goes with the root of p2 - p1, so its last digits are lost near none
         "temperature": 1e-2, "efficiency": 1e-4, "torque": 0.1, "bmep": 10.0, "bsfc": 1e-9,
         "effectiveness": 1e-4, "speed": 1e-3, "ratio": 1e-3, "left": 1e-3, "iso1585": 1.0, "j1349": 1.0,
         "ca50": 1.0, "retard": 1.0, "integral": 1e-3, "duty": 1e-3, "pump_flow": 1e-3, "fuel_volume_flow": 1e-9,
         "slip": 1e-3, "tension": 1.0, "load": 1.0, "price": 1.0, "mass": 1e-2, "diameter": 1e-3, "length": 1e-3,
         "wrap": 1e-2, "width": 1e-3, "life": 1.0, "continuous": 1e-3, "drag": 1.0,
         "recirculated": 1e-3,  # the small difference of flows, judged by their size
         "hour": 1e-3, "km": 1e-3}


class Tally:
    def __init__(self):
        self.passed = self.failed = 0
        self.worst = {}

    def check(self, what, good):
        if good:
            self.passed += 1
        else:
            self.failed += 1
            print("FAILED", what)

    def close(self, where, name, ours, theirs, tolerance=TOLERANCE, floor=None):
        """Arrays agree; NaN and infinity in the same places. Remembers the largest deviation."""
        ours, theirs = np.broadcast_arrays(np.asarray(ours, float), np.asarray(theirs, float))
        if floor is None:
            floor = FLOOR[name] if name in FLOOR else FLOOR[name.split("_")[-1]]
        odd = ~(np.isfinite(ours) & np.isfinite(theirs))
        same = np.where(np.isnan(ours), np.isnan(theirs), ours == theirs)
        scale = np.maximum(np.maximum(np.abs(ours), np.abs(theirs)), floor)
        with np.errstate(invalid="ignore"):
            off = np.where(odd, np.where(same, 0.0, np.inf), np.abs(ours - theirs) / scale)
        most = float(off.max()) if off.size else 0.0
        self.worst[name] = max(self.worst.get(name, 0.0), most)
        bad = int((off > tolerance).sum())
        self.check(f"{where}: {name}: {bad} of {off.size} off, at most {most:.3g}"
                   + (f", e.g. {ours[off == most][:3]} and {theirs[off == most][:3]}" if bad else ""), not bad)

    def same(self, where, name, ours, theirs):
        ours, theirs = np.broadcast_arrays(ours, theirs)
        bad = np.flatnonzero((ours != theirs).ravel())
        self.check(f"{where}: {name}: {len(bad)} of {ours.size} differ, e.g. "
                   f"{ours.ravel()[bad][:5]} and {theirs.ravel()[bad][:5]} at {bad[:5]}", not len(bad))


def dump(program, *arguments, text=None):
    done = subprocess.run([program, *arguments], input=text, capture_output=True, text=True)
    if done.returncode != 0:
        raise SystemExit(f"{program} {' '.join(arguments)}: {done.stderr}")
    return done.stdout


def any_lambda(rng, lambdas):
    return rng.uniform(0.75, 1.2)


def draw(study, rng, count, lambda_of=any_lambda):
    """Kits at random: as lines for sheave_dump and as arrays. Every other one is ideal."""
    coolers, drive = study["coolers"], study["drive"]
    lambdas, margins, injectors = study["lambdas"], study["ignition_margins"], study["injectors"]
    choices = [(i, e) for i, c in enumerate(coolers) for e in c.get("effectiveness", [0.0])]
    sizes = [(i, q) for i, p in enumerate(injectors) for q in p["rated_flow"]]
    space = study["space"]
    ribs, wraps = (study["belt"]["ribs"], study["belt"]["wraps"]) if study["belt"]["given"] else ([0.0], [0.0])
    if (space[3], *space[7:]) != (len(choices), len(sizes), len(study["pumps"]), len(ribs), len(wraps)):
        raise SystemExit("the space does not count the parts as the page says")
    names = ("blower", "crank_diameter", "blower_diameter", "ratio", "cooler", "effectiveness", "fuel", "lambda",
             "ignition_margin", "injector", "injector_flow", "pump", "ribs", "wrap")
    rows, lines = [], []
    two = 2 * drive["line_offset"]
    for number in range(count):
        if number % 2 == 0:
            index = int(rng.integers(study["size"]))
            i, j, l, m, f, lam, margin, size, pump, rib, wrap = (int(x) for x in np.unravel_index(index, space))
            crank, pulley = drive["crank_pulleys"][j], drive["blower_pulleys"][l]
            rows.append((i, crank, pulley, (crank + two) / (pulley + two), *choices[m], f, lambdas[lam],
                         margins[margin], *sizes[size], pump, ribs[rib], wraps[wrap]))
            lines.append(f"index {index}")
        else:
            cooler, injector = int(rng.integers(len(coolers))), int(rng.integers(len(injectors)))
            e = coolers[cooler].get("effectiveness", [0.0, 0.0])
            q = injectors[injector]["rated_flow"]
            row = (int(rng.integers(space[0])), np.nan, np.nan, rng.uniform(0.7, 3.6), cooler,
                   float(rng.uniform(e[0], e[-1])), int(rng.integers(space[4])),
                   lambda_of(rng, lambdas), float(rng.uniform(0.0, margins[-1])), injector,
                   float(rng.uniform(q[0], q[-1])), int(rng.integers(space[8])),
                   ribs[int(rng.integers(len(ribs)))], wraps[int(rng.integers(len(wraps)))])
            rows.append(row)
            lines.append("kit " + " ".join(f"{x:.17g}" for x in row))
    kits = {n: np.array(v) for n, v in zip(names, zip(*rows))}
    return kits, "\n".join(lines) + "\n"


def parse(text, columns, kits, points):
    """Points [kit, point, column] and verdicts [kit, column]."""
    lines = text.splitlines()
    if len(lines) != kits * (points + 1):
        raise SystemExit(f"{len(lines)} lines where {kits * (points + 1)} were to come")
    of_points = " ".join(l for i, l in enumerate(lines) if i % (points + 1) != points)
    of_verdicts = " ".join(lines[points::points + 1])
    return (np.array(of_points.split(), float).reshape(kits, points, len(columns[0])),
            np.array(of_verdicts.split(), float).reshape(kits, len(columns[1])))


def burn_of(columns, theirs, shape):
    """What the library's closed cycle says, for the twin."""
    return {k: theirs[:, :, columns[0].index(k)].reshape(shape) for k in twin.BURN}


def beyond_the_gas(tally, where, theirs, ours):
    """Few points whose flows would only meet beyond the gas data: no match, or out of range, as the solver comes by it."""
    beyond = (theirs == twin.NO_MATCH) & (ours == twin.OUT_OF_RANGE)
    tally.check(f"{where}: {beyond.sum()} of {beyond.size} without a match for out of range", beyond.mean() <= 0.02)
    return beyond


def with_own(folder):
    """Copies of the studies whose blowers hold corrections of their own; the twin reads those without."""
    shutil.copytree(os.path.join(HERE, "studies"), folder)
    for path in glob.glob(os.path.join(folder, "*.cfg")):
        with open(path) as file:
            text = file.read()
        for blower, of in OWN.items():
            group = " ".join(f"{k} = {v};" for k, v in of.items())
            text = text.replace(f'name = "{blower}";', f'name = "{blower}"; corrections = {{ {group} }};')
        with open(path, "w") as file:
            file.write(text)
    return folder


def compare_study(tally, seen, program, columns, name, rng, folder=None, tables=(), lambda_of=any_lambda, own_in=None):
    path = os.path.join(HERE, "studies", name + ".cfg")
    study = json.loads(dump(program, "study", path))
    model = twin.Twin(study, tables=tables, own=OWN if own_in else None)
    if own_in:
        path, name = os.path.join(own_in, name + ".cfg"), name + " with its blowers' own"
    count = OWN_KITS if own_in else KITS
    kits, lines = draw(study, rng, KITS, lambda_of)
    kits, lines = {name: column[:count] for name, column in kits.items()}, "".join(lines.splitlines(True)[:count])
    sites, speeds = len(study["sites"]), len(study["engine"]["speeds"])
    if study["engine"]["efficiency"] != "free_air":
        tally.close(name, "tied_efficiency", model.tied, study["tied_efficiency"])
    points = verdict = None
    for how in ("fast", "plain"):
        text = dump(program, how, path, *([folder] if folder else []), text=lines)
        theirs, judged = parse(text, columns, count, sites * speeds)
        where = f"{name} {how}"
        if points is None:
            burn = burn_of(columns, theirs, (count, sites, speeds)) if model.by_cycle else None
            points = model.points(kits, burn)
            verdict, cruises = model.verdict(points, kits), cruises_of(model, kits)
        ok = None
        for i, field in enumerate(columns[0]):
            column = theirs[:, :, i].reshape(count, sites, speeds)
            if field in ("site", "speed"):
                expected = np.arange(sites)[None, :, None] if field == "site" else np.arange(speeds)
                tally.same(where, field, column, expected)
            elif field == "outcome":
                beyond = beyond_the_gas(tally, where, column, points["outcome"])
                tally.same(where, field, np.where(beyond, points["outcome"], column), points["outcome"])
                ok = (column == points["outcome"]) & np.isin(column, (twin.OK, twin.NO_CYCLE))
            elif field in ("bypass_open", "bleeding"):
                tally.same(where, field, column[ok] != 0, points[field][ok] != 0)
            elif field.endswith("_balance"):
                tally.close(where, field, np.abs(column[points["outcome"] == twin.OK]), 0.0, 1e-9, 1.0)
            elif field in twin.OF_BELT:  # of whole kits: static tension is that of the hardest point
                whole = ok.all(axis=(1, 2))
                tally.close(where, field, column[whole], points[field][whole], HARDWARE_TOLERANCE)
            else:
                tally.close(where, field, column[ok], points[field][ok])
        compare_hardware(tally, seen, where, columns[1], judged, study, kits, verdict, cruises)
        judge(tally, where, columns[1], judged, verdict, speeds)
    seen["kits"] += count
    seen["points"] += int(ok.sum())
    seen["water condenses"] += int((points["condensed_flow"][ok] > 0).sum())
    seen["bypass open"] += int((points["bypass_open"][ok] != 0).sum())
    seen["bleeding to " + study["bypass"]["bleed_to"]] += int((points["bleeding"][ok] != 0).sum())
    for code, what in ((twin.OUTSIDE_MAP, "outside map"), (twin.OUT_OF_RANGE, "out of range"),
                       (twin.NO_CYCLE, "no cycle")):
        seen[what] += int((points["outcome"] == code).sum())
    for i, b in enumerate(study["blowers"]):
        seen["blower " + b["kind"]] += int(ok[kits["blower"] == i].sum())
    for i, c in enumerate(study["coolers"]):
        some = ok[kits["cooler"] == i] & (points["effectiveness"][kits["cooler"] == i] > 0)
        seen["cooler " + c["arrangement"]] += int(some.sum() if i else ok[kits["cooler"] == 0].sum())
        if i and model.loop_resistance(c) > 0:
            seen["coolant loop"] += int(some.sum())
    seen["friction " + study["engine"]["friction"]] += 1
    seen["efficiency " + study["engine"]["efficiency"]] += 1
    if study["belt"]["given"]:
        seen["tensioner " + study["belt"]["tensioner"]] += 1
        seen["tension given" if not np.isnan(study["belt"]["static_tension"]) else "tension as needed"] += 1
        seen["wrap by an idler"] += int((kits["wrap"] > 0).sum())
        seen["wrap by the layout"] += int((kits["wrap"] == 0).sum())
        seen["belt without grip"] += int(np.isinf(points["belt_slip"]).sum())
    seen["objective " + study["objective"]["kind"]] += 1
    seen["over sites " + study["objective"]["over_sites"]] += 1
    seen["air " + study["air"]["model"]] += 1
    seen["feasible"] += int(verdict["feasible"].sum())
    judged_kits = verdict["outcome"] == twin.OK
    for i, limit in enumerate(twin.LIMITS):
        seen["over " + limit] += int((verdict["broken"][judged_kits] >> i & 1).sum())
    seen["silent"] += int((verdict["outcome"] == twin.NO_CYCLE).sum())
    sweep_agrees(tally, name, model, rng)
    return study, model, kits, points


def cruises_of(model, kits):
    """Cruise points of kits by how the valve stands."""
    study = model.study
    area = study["valve"]["area"]
    if not study["use"]["cruises"]:
        return {}
    return {valve: cruise.of_kits(model, kits, by)
            for valve, by in (("shut", 0.0),) + ((("open", area),) if area > 0 else ())}


def compare_hardware(tally, seen, where, columns, theirs, study, kits, verdict, cruises):
    """Belt, bearing, price, mass and cruise of kits whose every point has an answer."""
    get = {c: theirs[:, i] for i, c in enumerate(columns)}
    ok = verdict["outcome"] == twin.OK
    for name, value in verdict["hardware"].items():
        tally.close(where, name, get["hardware." + name][ok], value[ok], HARDWARE_TOLERANCE)
    for valve in ("open", "shut"):
        if valve not in cruises:
            tally.close(where, f"no cruise, {valve}", get[valve + ".shaft_power"], np.nan, floor=1.0)
            continue
        ours, outcome = cruises[valve], get[valve + ".outcome"]
        tally.same(where, f"outcome of cruise, {valve}", outcome, ours["outcome"])
        solved = (outcome == cruise.SOLVED) & (ours["outcome"] == cruise.SOLVED)
        for name in cruise.FIELDS:
            tally.close(where, f"cruise {valve} {name}", get[f"{valve}.{name}"][solved], ours[name][solved],
                        HARDWARE_TOLERANCE, FLOOR.get(name, FLOOR[name.split("_")[-1]]))
        for code, what in enumerate(("solved", "starved", "outside map", "out of range")):
            seen[f"cruise {valve}, {what}"] += int((ours["outcome"] == code).sum())
        seen[f"cruise {valve}, past the rotors"] += int((ours["pressure_drop"][solved] < 0).sum())
    density = np.array([f["density"] for f in study["fuels"]])[kits["fuel"]]
    for name, value in cruise.cost(study, verdict["hardware"]["cruise_drag"], density).items():
        tally.close(where, "cruise cost " + name, get["cost." + name], value, HARDWARE_TOLERANCE,
                    FLOOR[name.split("_")[-1]])


def library_sweep(tally, seen, program, name, model, rng):
    """The library's own sweep of a slice of the space against the twin's."""
    size = len(model.air_kits()["ratio"])
    count = min(SWEPT, size)
    first = int(rng.integers(size - count + 1))
    path = os.path.join(HERE, "studies", name + ".cfg")
    found = np.array(dump(program, "sweep", path, str(first), str(count)).split(), float).reshape(-1, 3)
    brief = model.sweep(first, first + count)
    outcome = brief["outcome"].ravel()
    tally.same(name, "outcome, library's sweep", found[:, 0], outcome)
    ok = outcome == twin.OK
    ours, theirs = brief["broken"].ravel()[ok], found[ok, 1].astype(int)
    for i, limit in enumerate(twin.LIMITS):
        tally.same(name, f"{limit} broken, library's sweep", theirs >> i & 1, ours >> i & 1)
    tally.close(name, "objective, library's sweep", found[ok, 2], brief["objective"].ravel()[ok], floor=1e-3)
    seen["swept"] += int(ok.sum())


def judge(tally, where, columns, theirs, verdict, speeds):
    """Objective, feasibility, limits."""
    at = {c: i for i, c in enumerate(columns)}
    get = lambda c: theirs[:, at[c]]
    beyond = beyond_the_gas(tally, where, get("outcome"), verdict["outcome"])
    tally.same(where, "outcome of the whole", np.where(beyond, verdict["outcome"], get("outcome")), verdict["outcome"])
    ok = (get("outcome") == twin.OK) & (verdict["outcome"] == twin.OK)
    for c in ("feasible", "broken", "first_broken", "binding"):
        tally.same(where, c, get(c)[ok], verdict[c][ok] + 0)
    tally.same(where, "feasible of the failed", get("feasible")[~ok], 0)
    tally.close(where, "objective", get("objective")[ok], verdict["objective"][ok], floor=1.0)
    tally.close(where, "objective of the failed", get("objective")[~ok], np.nan, floor=1.0)
    for limit in twin.LIMITS:
        for c in ("bound", "value", "margin", "share"):
            value = verdict["limits"][limit]["value"]
            scale = np.max(np.abs(value[np.isfinite(value)]), initial=1e-3)
            # A margin is the small difference of large values: judged by their size.
            floor = {"bound": 1e-9, "value": 1e-9, "margin": scale, "share": 1.0}[c]
            bound = verdict["limits"][limit]["bound"][ok]
            some = np.isfinite(bound) | (c == "bound")
            tally.close(where, f"{limit}.{c}", get(f"{limit}.{c}")[ok][some],
                        verdict["limits"][limit][c][ok][some], floor=floor)
        # Where it is tightest: held boost ties at many points, so the share there tells.
        some = np.flatnonzero(ok & np.isfinite(verdict["limits"][limit]["share"]))
        place = (get(f"{limit}.site") * speeds + get(f"{limit}.speed")).astype(int)
        tally.close(where, f"{limit}.place", verdict["limits"][limit]["all_shares"][some, place[some]],
                    verdict["limits"][limit]["share"][some], 1e-9, 1.0)


def sweep_agrees(tally, name, model, rng):
    """The twin's quick way through a space, used by tests/bench, tells the same as its long way."""
    size = len(model.air_kits()["ratio"])
    first = int(rng.integers(max(1, size - 40)))
    brief = model.sweep(first, first + 40)
    air, fuel = model.air_kits(first, first + 40), model.fuel_choices()
    choices = len(fuel["fuel"])
    kits = {k: np.repeat(v, choices) for k, v in air.items()}
    kits.update({k: np.tile(v, len(air["ratio"])) for k, v in fuel.items()})
    verdict = model.verdict(model.points(kits), kits)
    ok = verdict["outcome"] == twin.OK
    outcome = brief["outcome"].ravel()
    outcome = np.where((outcome == twin.OK) & brief["no_cycle"].ravel(), twin.NO_CYCLE, outcome)
    tally.same(name + " sweep", "outcome", outcome, verdict["outcome"])
    tally.same(name + " sweep", "broken", brief["broken"].ravel()[ok], verdict["broken"][ok])
    tally.close(name + " sweep", "objective of the sweep", brief["objective"].ravel()[ok],
                verdict["objective"][ok], floor=1.0)


def check_maps(tally, study, folder):
    """The maps as read: points of the files, and shaft power turned into efficiency."""
    files = {"by efficiency": "efficiency.csv", "by power": "power.csv"}
    dry = twin.Gas({"model": "nasa"}, dict(pressure=1e5, temperature=300.0, relative_humidity=0.0))
    for blower in study["blowers"]:
        with open(os.path.join(folder, files[blower["name"]])) as file:
            rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
        speeds = sorted({float(r["rotor_speed_rpm"]) for r in rows})
        tally.same("maps", "lines of " + blower["name"], len(blower["lines"]), len(speeds))
        for speed, line in zip(speeds, blower["lines"]):
            mine = [r for r in rows if float(r["rotor_speed_rpm"]) == speed]
            pr = np.array([float(r["pressure_ratio"]) for r in mine])
            eta_v = np.array([float(r["volumetric_efficiency"]) for r in mine])
            if "isentropic_efficiency" in mine[0]:
                eta = np.array([float(r["isentropic_efficiency"]) for r in mine])
            else:
                t, p = blower["reference_temperature"], blower["reference_pressure"]
                flow = eta_v * p / (dry.r * t) * blower["displacement"] * speed / 60
                power = np.array([1000 * float(r["shaft_power_kW"]) for r in mine])
                eta = flow * (dry.h(dry.isentropic_temperature(t + 0 * pr, pr)) - dry.h(t)) / power
            tally.close("maps", "map_speed", line["corrected_speed"], speed / 60)
            tally.close("maps", "map_ratio", line["volumetric_efficiency"]["x"], pr)
            tally.close("maps", "map_volumetric_efficiency", line["volumetric_efficiency"]["y"], eta_v)
            tally.close("maps", "map_isentropic_efficiency", line["isentropic_efficiency"]["y"], eta)


def check_cubic(tally, rng):
    """Appendix A against SciPy's own."""
    for count in list(range(2, 12)) * 5:
        x = np.cumsum(rng.uniform(0.1, 3.0, count))
        y = np.round(rng.normal(size=count), 1)  # rounded: equal neighbours occur
        at = np.linspace(x[0], x[-1], 301)
        tally.close("appendix A", "monotone cubic", twin.monotone_cubic({"x": x, "y": y}, at),
                    PchipInterpolator(x, y)(at), 1e-12, 1.0)


def check_scalar(tally, rng, runs):
    """Points of the twin, but those where water condenses, against plain scalar root finding by scipy.optimize.brentq."""
    done = 0
    for study, model, kits, points in runs:
        ok = np.argwhere((points["outcome"] == twin.OK) & (points["condensed_flow"] == 0))
        some = ok[rng.permutation(len(ok))[:SCALAR_POINTS // len(runs)]]
        for kit, site, speed in some:
            found = scalar.match(study, int(kits["blower"][kit]), kits["ratio"][kit], int(kits["cooler"][kit]),
                                 kits["effectiveness"][kit], int(site), int(speed))
            for name, value in found.items():
                tally.close("scalar", name + " (scalar)", points[name][kit, site, speed], value, 1e-8,
                            FLOOR[name.split("_")[-1]])
            done += 1
    tally.same("scalar", "number of points", done, SCALAR_POINTS)


def check_stock(tally, program, columns, name="stock"):
    """At its own conditions the stock engine gives its own torque."""
    path = os.path.join(HERE, "studies", name + ".cfg")
    study = json.loads(dump(program, "study", path))
    speeds = len(study["engine"]["speeds"])
    theirs, _ = parse(dump(program, "stock", path), columns, 1, speeds)
    torque = twin.monotone_cubic(study["engine"]["stock_torque"], np.array(study["engine"]["speeds"]))
    tally.close("stock", "torque", theirs[0, :, columns[0].index("torque")], torque, 1e-9)


def conclude(tally, seen, models, wanted):
    """Prints what was found; the exit code."""
    for name, most in sorted(tally.worst.items(), key=lambda item: -item[1]):
        print(f"{most:10.2e}  {name}")
    print(", ".join(f"{name} {count}" for name, count in seen.items()))
    print("lanes that needed nested brackets:", sum(model.fallbacks for model in models))
    tally.same("twin", "points it could not solve", sum(model.unsolved for model in models), 0)
    for name in wanted:
        tally.check(f"coverage: {name}", seen[name] > 0)
    print(f"{tally.passed} passed, {tally.failed} failed")
    return 1 if tally.failed else 0


def main():
    program = sys.argv[1]
    rng = np.random.default_rng(int(sys.argv[2]) if len(sys.argv) > 2 else 20240611)
    tally = Tally()
    columns = [line.split() for line in dump(program, "fields").splitlines()]
    seen = dict.fromkeys(
        ["kits", "points", "feasible", "bypass open", "water condenses", "bleeding to inlet", "bleeding to atmosphere", "outside map",
         "blower geometry", "blower map", "cooler none", "cooler single_stream", "cooler counterflow",
         "cooler parallel", "cooler crossflow_unmixed", "cooler crossflow_charge_mixed",
         "cooler crossflow_coolant_mixed", "coolant loop", "friction chen_flynn",
         "friction mechanical_efficiency", "efficiency stock_torque", "efficiency constant",
         "efficiency free_air", "objective peak_power", "objective mean_power", "objective torque",
         "over sites mean", "over sites worst", "air nasa", "air constant", "objective least_price",
         "objective power_per_price", "objective least_charge_temperature", "objective weighted", "tensioner spring",
         "tensioner fixed", "tension given", "tension as needed", "wrap by an idler", "wrap by the layout",
         "belt without grip", "cruise open, solved", "cruise shut, solved", "cruise shut, out of range",
         "cruise shut, outside map", "cruise shut, starved", "cruise open, past the rotors",
         "cruise shut, past the rotors", "swept"], 0)
    seen.update({"out of range": 0}, **{"over " + limit: 0 for limit in twin.LIMITS if limit not in OF_CYCLE})
    wanted, seen = tuple(seen), Counter(seen)
    found = sorted(os.path.basename(p)[:-4] for p in glob.glob(os.path.join(HERE, "studies", "*.cfg")))
    tally.same("studies", "files", np.array(found), np.array(sorted(STUDIES + CORRECTED + HARDWARE + ("stock",) + CYCLE_STUDIES + SURE_STUDIES)))
    runs = [compare_study(tally, seen, program, columns, name, rng) for name in STUDIES]
    more = [compare_study(tally, seen, program, columns, name, rng) for name in HARDWARE]
    corrected = [compare_study(tally, seen, program, columns, name, rng) for name in CORRECTED]
    with tempfile.TemporaryDirectory() as scratch:
        own_in = with_own(os.path.join(scratch, "studies"))
        corrected += [compare_study(tally, seen, program, columns, name, rng, own_in=own_in) for name in CORRECTED]
    for name, (_, model, _, _) in zip(HARDWARE, more):
        library_sweep(tally, seen, program, name, model, rng)
    check_maps(tally, runs[STUDIES.index("maps")][0], os.path.join(HERE, "studies"))
    check_cubic(tally, rng)
    check_scalar(tally, rng, runs)
    check_stock(tally, program, columns)
    tally.check("coverage: 1000 kits", seen["kits"] >= 1000)
    return conclude(tally, seen, [model for _, model, _, _ in runs + more + corrected], wanted)


if __name__ == "__main__":
    sys.exit(main())
