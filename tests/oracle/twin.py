"""The model of docs/model.md once more, in NumPy, written from that page alone.

Every function works on whole arrays, one element for each combination ("lane"); Python loops run only
over sites, engine speeds and groups of lanes of one kind. SI units, revolutions per second. A study
is the JSON that `sheave_dump study` prints.

    twin = Twin(study)
    points = twin.points(kits)               every number at every site and speed
    verdict = twin.verdict(points, kits)     objective, limits
    brief = twin.sweep(space slice)          what a sweep needs, as fast as NumPy allows

With the closed cycle its results are given to `points`, or looked up in the tables of docs/cycle-tables.md that
`sheave_dump tables` writes:

    twin = Twin(study, tables=read_tables(index, numbers))
"""
import numpy as np
from scipy.special import gammainc, gammaln

import hardware

OK, OUTSIDE_MAP, OUT_OF_RANGE, NO_MATCH, NO_CYCLE = range(5)
LIMITS = ("rotor_speed", "belt_speed", "piston_speed", "pressure_ratio", "pressure_rise", "boost",
          "discharge_temperature", "charge_temperature", "blower_power", "torque", "fuel_flow",
          "phasing_retard", "peak_pressure", "exhaust_temperature", "injector_duty", "pump_flow", "rotor_duty",
          "clearance_left", "manifold_pressure", "manifold_temperature", "coolant_temperature", "pulley_diameter",
          "belt_slip", "belt_tension", "hub_load", "bearing_life", "bypass_vacuum", "cruise_drag", "price", "mass",
          "power")
AT_LEAST = ("clearance_left", "pulley_diameter", "bearing_life", "power")  # lower bounds
OF_KIT = ("rotor_duty", "pulley_diameter", "bearing_life", "cruise_drag", "price", "mass", "power")
OF_BELT = ("belt_slip", "belt_tension", "hub_load")
TOUCHING = 0.001  # the most clearance that is left when rotors touch
# What the closed cycle tells of a point.
BURN = ("cycle_efficiency", "peak_pressure", "ca50", "phasing_retard", "knock_integral", "exhaust_temperature")
T_MIN, T_MAX = 200.0, 1000.0


# ---- roots -------------------------------------------------------------------------------------

PEAK_SHADE = 1e-8  # below a peak pressure, of its logarithm, that phasings are held at


def bracketed_root(f, lo, hi, iterations=120):
    """Roots of the elementwise f between lo and hi (Chandrupatla 1997), as near as doubles get."""
    x1, x2 = np.array(lo, float), np.array(hi, float)
    f1, f2 = f(x1), f(x2)
    t = np.full_like(x1, 0.5)
    best = np.where(np.abs(f2) < np.abs(f1), x2, x1)
    for _ in range(iterations):
        x = x1 + t * (x2 - x1)
        fx = f(x)
        same = np.sign(fx) == np.sign(f1)
        x3, f3 = np.where(same, x1, x2), np.where(same, f1, f2)
        x2, f2 = np.where(same, x2, x1), np.where(same, f2, f1)
        x1, f1 = x, fx
        best = np.where(np.abs(f2) < np.abs(f1), x2, x1)
        width = np.abs(x2 - x1)
        with np.errstate(all="ignore"):
            least = (2e-16 * np.abs(best) + 1e-300) / width
            done = (least > 0.5) | (f1 == 0.0) | (width == 0.0)
            if done.all():
                break
            xi, phi = (x1 - x2) / (x3 - x2), (f1 - f2) / (f3 - f2)
            inverse = (phi * phi < xi) & ((1 - phi) ** 2 < 1 - xi)
            t = f1 / (f2 - f1) * f3 / (f2 - f3) + (x3 - x1) / (x2 - x1) * f1 / (f3 - f1) * f2 / (f3 - f2)
        t = np.where(inverse & np.isfinite(t), t, 0.5)
        t = np.minimum(np.maximum(t, least), 1 - least)
        t = np.where(done, 0.0, t)
    return best


def around(f, x, low, high):
    """A narrower bracket around the root x of a neighbouring f, where that is one."""
    if x is None:
        return low, high
    a, b = np.maximum(x * (1 - 1e-4), low), np.minimum(x * (1 + 1e-4), high)
    has = f(a) * f(b) < 0
    return np.where(has, a, low), np.where(has, b, high)


# ---- appendix A --------------------------------------------------------------------------------

def monotone_slopes(x, y):
    """Slopes of the monotone cubic at its points."""
    x, y = np.asarray(x, float), np.asarray(y, float)
    if len(x) == 1:
        return np.zeros(1)
    h, d = np.diff(x), np.diff(y) / np.diff(x)
    if len(x) == 2:
        return np.array([d[0], d[0]])
    slope = np.zeros_like(x)
    inner = d[:-1] * d[1:] > 0
    w1, w2 = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
    with np.errstate(all="ignore"):
        slope[1:-1] = np.where(inner, (w1 + w2) / (w1 / d[:-1] + w2 / d[1:]), 0.0)

    def end(h0, h1, d0, d1):
        m = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
        if np.sign(m) != np.sign(d0):
            return 0.0
        if np.sign(d0) != np.sign(d1) and abs(m) > 3 * abs(d0):
            return 3 * d0
        return m

    slope[0] = end(h[0], h[1], d[0], d[1])
    slope[-1] = end(h[-1], h[-2], d[-1], d[-2])
    return slope


def hermite(t, h, y0, y1, s0, s1):
    """Cubic on an interval of width h at the share t of it."""
    u = 1 - t
    return y0 * u * u * (1 + 2 * t) + y1 * t * t * (3 - 2 * t) + h * t * u * (s0 * u - s1 * t)


def monotone_cubic(table, at):
    """Values of a curve; beyond its ends the end value."""
    x, y = np.asarray(table["x"], float), np.asarray(table["y"], float)
    if len(x) == 1:
        return np.full_like(np.asarray(at, float), y[0])
    slope = monotone_slopes(x, y)
    at = np.clip(at, x[0], x[-1])
    i = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
    h = x[i + 1] - x[i]
    return hermite((at - x[i]) / h, h, y[i], y[i + 1], slope[i], slope[i + 1])


# ---- 1. air ------------------------------------------------------------------------------------

AIR = (1.009950160e4, -1.968275610e2, 5.009155110, -5.761013730e-3, 1.066859930e-5,
       -7.940297970e-9, 2.185231910e-12)
WATER = (-3.947960830e4, 5.755731020e2, 9.317826530e-1, 7.222712860e-3, -7.342557370e-6,
         4.955043490e-9, -1.336933246e-12)
R_AIR, R_WATER = 8.314510 / 0.0289651159, 8.314510 / 0.01801528


def atmosphere(altitude):
    """Pressure and temperature of the standard atmosphere at a geometric altitude."""
    height = 6356766.0 * altitude / (6356766.0 + altitude)
    t = 288.15 - 0.0065 * height
    return 101325.0 * (t / 288.15) ** (9.80665 / (287.05287 * 0.0065)), t


def saturation_pressure(t):
    """Hyland and Wexler, over ice below 273.15 K and over water from there."""
    t = np.asarray(t)
    ice = 0.0 if np.all(t >= 273.15) else (-5.6745359e3 / t + 6.3925247 - 9.6778430e-3 * t + 6.2215701e-7 * t ** 2
           + 2.0747825e-9 * t ** 3 - 9.4840240e-13 * t ** 4 + 4.1635019 * np.log(t))
    water = (-5.8002206e3 / t + 1.3914993 - 4.8640239e-2 * t + 4.1764768e-5 * t ** 2
             - 1.4452093e-8 * t ** 3 + 6.5459673 * np.log(t))
    return np.exp(np.where(t < 273.15, ice, water))


def clamped(t):
    """t within the range of the polynomials; the very same object if it is all inside."""
    if np.min(t) >= T_MIN and np.max(t) <= T_MAX:
        return t
    return np.minimum(np.maximum(t, T_MIN), T_MAX)


class Gas:
    """Moist air of one site."""

    def __init__(self, air, ambient):
        p, t = ambient["pressure"], ambient["temperature"]
        self.vapour_pressure = float(ambient["relative_humidity"] * saturation_pressure(t))
        if air["model"] == "constant":
            self.humidity_ratio = self.vapour_pressure = 0.0
            self.b = np.zeros(7)
            self.b[2] = air["heat_capacity"]
            self.r = air["gas_constant"]
            self.r_isentropic = air["heat_capacity"] * (air["gamma"] - 1) / air["gamma"]
        else:
            self.humidity_ratio = 0.621945 * self.vapour_pressure / (p - self.vapour_pressure)
            y = self.humidity_ratio / (1 + self.humidity_ratio)
            self.b = (1 - y) * R_AIR * np.array(AIR) + y * R_WATER * np.array(WATER)
            self.r = self.r_isentropic = (1 - y) * R_AIR + y * R_WATER
        self.constant = air["model"] == "constant"
        b = self.b
        self._h = (-b[0], b[1], b[2], b[3] / 2, b[4] / 3, b[5] / 4, b[6] / 5)
        self._s = (-b[0] / 2, -b[1], b[2], b[3], b[4] / 2, b[5] / 3, b[6] / 4)

    def cp(self, t):
        if self.constant:
            return self.b[2] + 0.0 * t
        t = clamped(t)
        b0, b1, b2, b3, b4, b5, b6 = self.b
        x = 1.0 / t
        return (b0 * x + b1) * x + (b2 + t * (b3 + t * (b4 + t * (b5 + t * b6))))

    def gamma(self, t):
        cp = self.cp(t)
        return cp / (cp - self.r_isentropic)

    def h(self, t):
        if self.constant:
            return self.b[2] * t
        inside = clamped(t)
        c0, c1, c2, c3, c4, c5, c6 = self._h
        h = c0 / inside + c1 * np.log(inside) + inside * (
            c2 + inside * (c3 + inside * (c4 + inside * (c5 + inside * c6))))
        if inside is not t:
            h = h + self.cp(inside) * (t - inside)
        return h

    def s(self, t):
        if self.constant:
            return self.b[2] * np.log(t)
        inside = clamped(t)
        c0, c1, c2, c3, c4, c5, c6 = self._s
        x = 1.0 / inside
        s = (c0 * x + c1) * x + c2 * np.log(inside) + inside * (
            c3 + inside * (c4 + inside * (c5 + inside * c6)))
        if inside is not t:
            s = s + self.cp(inside) * np.log(t / inside)
        return s

    def temperature_at(self, h, guess):
        """Temperature of this enthalpy: Newton, which cannot fail as h is nearly straight."""
        t = guess + 0.0 * h
        for _ in range(40):
            step = (h - self.h(t)) / self.cp(t)
            t = t + step
            if np.all(np.abs(step) < 1e-11):
                break
        return t

    def isentropic_temperature(self, t1, ratio):
        """Temperature after an isentropic change by this ratio of pressures."""
        end = self.s(t1) + self.r_isentropic * np.log(ratio)
        log_t = np.log(t1) + self.r_isentropic / self.cp(t1) * np.log(ratio)
        for _ in range(40):
            t = np.exp(log_t)
            step = (end - self.s(t)) / self.cp(t)
            log_t = log_t + step
            if np.all(np.abs(step) < 1e-8):  # the next step would be below the last digit
                break
        return np.exp(log_t)


# ---- 2. intake ---------------------------------------------------------------------------------

class Site:
    """Ambient, gas, and the losses as p1 = p0 - intake m^2, p_e^2 = p0^2 + exhaust m^2 (T_x + T_m - T_s)/T_x."""

    def __init__(self, study, ambient, intake):
        self.p, self.t = ambient["pressure"], ambient["temperature"]
        self.gas = Gas(study["air"], ambient)
        self.rho = self.p / (self.gas.r * self.t)
        self.h = float(self.gas.h(self.t))
        loss = intake
        self.intake = (loss["pressure_drop"] / loss["flow"] ** 2 * loss["density"] / self.rho
                       if loss["pressure_drop"] > 0 else 0.0)
        loss = study["engine"]["exhaust"]
        self.exhaust = (((101325.0 + loss["pressure_drop"]) ** 2 - 101325.0 ** 2) / loss["flow"] ** 2
                        if loss["pressure_drop"] > 0 else 0.0)
        self.t_exhaust, self.t_stock = loss["temperature"], study["engine"]["stock"]["temperature"]

    def inlet_pressure(self, m):
        return np.maximum(self.p - self.intake * m * m, 0.1 * self.p)

    def exhaust_k(self, tm):
        return self.exhaust * np.maximum(1 + (tm - self.t_stock) / self.t_exhaust, 0.0)

    def exhaust_pressure(self, m, tm):
        return np.sqrt(self.p ** 2 + self.exhaust_k(tm) * m * m)


# ---- 3. blower ---------------------------------------------------------------------------------

def nozzle(r, g):
    """psi(r, g), r not below the critical ratio."""
    e = 1.0 / g
    r = np.maximum(r, (2.0 / (g + 1.0)) ** (g / (g - 1.0)))
    u = r ** e
    return np.sqrt(np.maximum(2.0 * g / (g - 1.0) * u * (u - r), 0.0))


class Map:
    """Lines of a map, padded to one number of points."""

    def __init__(self, blower):
        lines = blower["lines"]
        self.speed = np.array([line["corrected_speed"] for line in lines])
        self.t_ref = blower["reference_temperature"]
        self.slip = 1.0  # factor on the share that is not delivered
        self.tables = {}
        for name in ("volumetric_efficiency", "isentropic_efficiency"):
            width = max(len(line[name]["x"]) for line in lines)
            x, y, s = (np.zeros((len(lines), width)) for _ in range(3))
            last = np.array([len(line[name]["x"]) - 1 for line in lines])
            for i, line in enumerate(lines):
                n = last[i] + 1
                x[i, :n], y[i, :n] = line[name]["x"], line[name]["y"]
                s[i, :n] = monotone_slopes(x[i, :n], y[i, :n])
                x[i, n:], y[i, n:] = np.inf, y[i, n - 1]
            if self.tables and not np.array_equal(x, self.tables["volumetric_efficiency"][0]):
                raise ValueError("the two tables of a line have different points")
            self.tables[name] = (x, y, s, last)
        x, _, _, last = self.tables["volumetric_efficiency"]
        self.lowest, self.highest = x[:, 0], x[np.arange(len(lines)), last]

    def _line(self, line, pr):
        """Both efficiencies along a line; beyond its ends the end value."""
        x, _, _, last = self.tables["volumetric_efficiency"]
        pr = np.minimum(np.maximum(pr, self.lowest[line]), self.highest[line])
        i = np.zeros(len(pr), int)
        for k in range(1, x.shape[1] - 1):
            i += x[line, k] <= pr
        i = np.minimum(i, last[line] - 1)
        at = line * x.shape[1] + i
        x = x.ravel()
        left = x[at]
        h = x[at + 1] - left
        t = (pr - left) / h
        out = []
        for name in ("volumetric_efficiency", "isentropic_efficiency"):
            y, s = self.tables[name][1].ravel(), self.tables[name][2].ravel()
            out.append(hermite(t, h, y[at], y[at + 1], s[at], s[at + 1]))
        return out

    def at(self, n, t1, pr):
        """Volumetric and isentropic efficiency; whether the point is outside the map."""
        nc = n * np.sqrt(self.t_ref / t1)
        low = np.clip(np.searchsorted(self.speed, nc, side="right") - 1, 0, len(self.speed) - 2)
        high = low + 1
        w = np.clip((nc - self.speed[low]) / (self.speed[high] - self.speed[low]), 0.0, 1.0)
        values = [(1 - w) * a + w * b for a, b in zip(self._line(low, pr), self._line(high, pr))]
        outside = (nc < self.speed[0]) | (nc > self.speed[-1])
        outside |= (w < 1) & ((pr < self.lowest[low]) | (pr > self.highest[low]))
        outside |= (w > 0) & ((pr < self.lowest[high]) | (pr > self.highest[high]))
        delivered = np.maximum(1 - self.slip * (1 - values[0]), 0.05) if self.slip != 1.0 else values[0]
        return delivered, values[1] * delivered / values[0], outside


# ---- 5. charge cooler --------------------------------------------------------------------------

def unmixed_sum(a, b):
    """Sum over n of Q(n, a) Q(n, b), from the far end, where both are next to nothing, backwards."""
    most = 60
    a, b = np.broadcast_arrays(np.asarray(a, float), np.asarray(b, float))
    qa, qb = gammainc(most + 1, a), gammainc(most + 1, b)
    ta = np.exp(-a + most * np.log(np.maximum(a, 1e-300)) - gammaln(most + 1))
    tb = np.exp(-b + most * np.log(np.maximum(b, 1e-300)) - gammaln(most + 1))
    total = qa * qb
    for n in range(most, 0, -1):
        qa, qb = qa + ta, qb + tb
        total = total + qa * qb
        ta, tb = ta * n / a, tb * n / b
    return total


def cooler_effectiveness(arrangement, ntu, rc):
    """Charge-side effectiveness P(NTU, R_c)."""
    single = -np.expm1(-ntu)
    if arrangement == "single_stream" or (np.ndim(rc) == 0 and rc == 0.0):
        return single
    r = np.where(rc > 0, rc, 1.0)
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        if arrangement == "counterflow":
            d = 1.0 - r
            z = -np.expm1(-ntu * d)
            p = np.where(d == 0.0, ntu / (1.0 + ntu), z / np.where(d == 0.0, 1.0, d + r * z))
        elif arrangement == "parallel":
            p = -np.expm1(-ntu * (1.0 + r)) / (1.0 + r)
        elif arrangement == "crossflow_unmixed":
            p = unmixed_sum(ntu, ntu * r) / (ntu * r)
        elif arrangement == "crossflow_charge_mixed":
            p = -np.expm1(np.expm1(-r * ntu) / r)
        elif arrangement == "crossflow_coolant_mixed":
            p = -np.expm1(r * np.expm1(-ntu)) / r
        else:
            raise ValueError(arrangement)
    return np.where(rc > 0, p, single)


def cooler_ntu(arrangement, effectiveness, rc):
    """NTU that gives this effectiveness."""
    effectiveness = np.asarray(effectiveness, float)
    return np.exp(bracketed_root(
        lambda x: cooler_effectiveness(arrangement, np.exp(x), rc) - effectiveness,
        np.full_like(effectiveness, np.log(1e-4)), np.full_like(effectiveness, np.log(
            700.0 if arrangement != "crossflow_unmixed" or rc <= 0 else 10.5 / min(rc, 1.0)))))


# ---- 8. fuel -----------------------------------------------------------------------------------

def mixture(lam):
    lam = np.minimum(lam, 1.12)
    return -1.6082 + 4.6509 * lam - 2.0764 * lam * lam


def spline_weights(s):
    """Of the four coefficients round a cell of a uniform cubic B-spline, at the share s of it."""
    r = 1 - s
    return np.array([r ** 3, 3 * s ** 3 - 6 * s ** 2 + 4, 3 * r ** 3 - 6 * r ** 2 + 4, s ** 3]) / 6


class CycleTable:
    """One table of cycle-tables.md: spline coefficients, `motored` [speed, p, T] of the logarithm of the peak without
    fire, `volumes` [speed, p, T, CA50, 4] of efficiency, logarithm of the fired peak, exhaust temperature and logarithm of
    the knock integral, with one outer row on each side; over CA50 then two rows of values, at the best and the last."""

    def __init__(self, index, motored, volumes):
        self.axes = index["axes"]
        self.place = index["site"], index["fuel"], index["lambda"]
        self.best, self.allowed = index["best_ca50"], index["log_allowed"]
        self.rows = [int(a["nodes"]) + more for a, more in zip(self.axes, (2, 2, 4))]
        self.motored = motored
        self.volumes = volumes.reshape(-1, self.rows[2], 4)
        four = np.arange(4)
        self.plane = (four[:, None] * self.rows[1] + four)[:, :, None]

    @staticmethod
    def spot(axis, x):
        last = axis["nodes"] - 1
        u = np.clip((x - axis["origin"]) * axis["per_unit"], 0.0, last)
        cell = np.minimum(u, last - 1).astype(int)
        return cell, u - cell

    # Points side by side: so many that what is worked on stays in the cache.
    BLOCK = 512

    def begin(self, speed, pm, tm):
        """What does not depend on retard."""
        return [self._begin(speed, pm[i:i + self.BLOCK], tm[i:i + self.BLOCK])
                for i in range(0, len(pm), self.BLOCK)]

    def at(self, begun, retard, most):
        """Numbers of BURN, NaN where there is no answer. `retard` is a number or an array; `most` the peak pressure that
        the phasing gives way to."""
        retard = np.asarray(retard, float)
        aim = np.log(most) - PEAK_SHADE
        parts = [self._at(part, retard if retard.ndim == 0 else retard[i * self.BLOCK:(i + 1) * self.BLOCK], aim)
                 for i, part in enumerate(begun)]
        return {k: np.concatenate([part[k] for part in parts]) for k in BURN}

    def _begin(self, speed, pm, tm):
        ap, at, _ = self.axes
        within = (pm >= ap["least"]) & (pm <= ap["most"]) & (tm >= at["least"]) & (tm <= at["most"])
        p, share_p = self.spot(ap, np.log(np.where(within, pm, ap["least"])))
        t, share_t = self.spot(at, np.where(within, tm, at["least"]))
        first = self.plane + (speed * self.rows[0] + p) * self.rows[1] + t
        weight = spline_weights(share_p)[:, None] * spline_weights(share_t)
        motored = (weight * self.motored[first]).sum(axis=(0, 1))
        column = np.einsum("ptn,ptncf->cfn", weight, self.volumes[first])
        return column, motored, within & ~np.isnan(motored)

    def _spline(self, column, ca50):
        """The fields of a column over phasing, at one phasing of each point."""
        cell, share = self.spot(self.axes[2], ca50)
        points = np.arange(len(cell))
        return sum(w * column[cell + k, :, points].T for k, w in enumerate(spline_weights(share)))

    def _root(self, column, early):
        """The phasing, not before `early`, at which the knock integral is what is allowed."""
        last = self.axes[2]["most"]
        gap = column[:, 3:] - self.allowed
        beyond = gap[-1, 0]
        cell = int(self.axes[2]["nodes"]) - 2
        falls = (gap[cell + 1, 0] - gap[cell + 3, 0]) / 2 * self.axes[2]["per_unit"]
        far = last + np.minimum(beyond / np.maximum(falls, 4e-3), 400.0)
        free = self._spline(gap, early)[0] <= 0
        some = ~free & (beyond <= 0)
        root = np.where(free, early, far)
        if some.any():
            inner = gap[:, :, some]
            root[some] = bracketed_root(lambda x: self._spline(inner, x)[0], early[some], np.full(some.sum(), last))
        return root

    def _give_way(self, column, motored, ca50, v, aim):
        """Phasings that are later where the peak pressure would be above `aim`: where it falls to that, or the last."""
        last = self.axes[2]["most"]
        over = (np.maximum(v[1], motored) > aim) & (ca50 < last)
        reached = over & (np.maximum(column[-1][1], motored) <= aim)
        held = np.where(over, last, ca50)
        if reached.any():
            inner = column[:, 1:2, reached] - aim
            held[reached] = bracketed_root(lambda x: self._spline(inner, x)[0], ca50[reached],
                                           np.full(reached.sum(), last))
        return held, over

    def _at(self, begun, retard, aim):
        column, motored, answered = begun
        last, known = self.axes[2]["most"], np.where(answered, column, 0.0)
        early = np.broadcast_to(np.maximum(self.best - retard, self.axes[2]["least"]), motored.shape)
        wanted = np.maximum(self._root(known, early) + retard, self.best)
        ca50 = np.minimum(wanted, last)
        v = np.where(ca50 == last, known[-1], self._spline(known, ca50))
        held, over = self._give_way(known, motored, ca50, v, aim)
        if over.any():
            wanted, ca50 = np.where(over, held, wanted), held
            v = np.where(ca50 == last, known[-1], self._spline(known, ca50))
        peak, knock = np.exp(np.maximum(v[1], motored)), np.exp(v[3])
        values = v[0], peak, ca50, wanted - self.best, knock, v[2]
        if not answered.all():
            values = [np.where(answered, x, np.nan) for x in values]
        return dict(zip(BURN, values))


def read_tables(index, numbers):
    """From what `sheave_dump tables` prints (as read from JSON) and the file of doubles it writes."""
    tables, start = [], 0
    numbers = np.fromfile(numbers) if isinstance(numbers, str) else numbers
    for one in index["tables"]:
        p, t, c = (int(a["nodes"]) + more for a, more in zip(one["axes"], (2, 2, 4)))
        records = len(one["speeds"]) * p * t
        middle, end = start + records, start + records + 4 * records * c
        tables.append(CycleTable(one, numbers[start:middle], numbers[middle:end]))
        start = end
    if start != len(numbers):
        raise ValueError("the file of tables is not as long as its index says")
    return tables


# ---- 7. match ----------------------------------------------------------------------------------

class Lanes:
    """Named values of a group of combinations: arrays where they differ, plain numbers if not."""

    def __init__(self, values):
        self.__dict__.update(values)

    def take(self, which):
        return Lanes({k: v[which] if isinstance(v, np.ndarray) else v
                      for k, v in self.__dict__.items()})


def plain_if_equal(values):
    values = np.asarray(values, float)
    first = values[0]
    return float(first) if np.all(values == first) or np.all(np.isnan(values)) else values


class Path:
    """From outside air to the engine at one site and speed, for given blower flow m and discharge
    temperature T2: whatever follows from these two without iteration (but for the coolant loop)."""

    def __init__(self, twin, site, speed, lanes, held=None):
        self.twin, self.site, self.lanes, self.held = twin, site, lanes, held
        self.engine_speed = twin.speeds[speed]
        engine = twin.engine
        self.swept = twin.ve[speed] * engine["displacement"] * self.engine_speed / 2
        self.a, self.b = twin.residual[speed]
        b = lanes
        n = b.n_over_engine * self.engine_speed
        taken, cooled = twin.charges(site)
        values = dict(b.__dict__, n=n, volume_flow=b.displacement * n,
                      taken=plain_if_equal(taken[b.fuel]), chilled=plain_if_equal(cooled[b.fuel]),
                      windage=2 * np.pi * n * b.windage_torque * (n / b.windage_reference) ** 2,
                      bearing=2 * np.pi * n * b.friction_torque)
        if b.map is None:
            values["filled"] = values["volume_flow"] * np.maximum(
                0.05, 1 - b.filling_loss * (n / b.reference_speed) ** 2)
        if b.arrangement != "none":
            ts = site.t + b.coolant_rise
            values["coolant_source"] = np.where(np.isnan(b.coolant_temperature), ts,
                                                b.coolant_temperature)
            if np.ndim(values["coolant_source"]) == 0:
                values["coolant_source"] = float(values["coolant_source"])
        self.l = Lanes(values)

    def take(self, which):
        other = object.__new__(Path)
        other.__dict__.update(self.__dict__)
        other.l = self.l.take(which)
        return other

    def holding(self, held):
        other = object.__new__(Path)
        other.__dict__.update(self.__dict__)
        other.held = held
        return other

    # 5
    def cooled(self, m, t2):
        """T_m, effectiveness, coolant temperature, factor of the pressure drop."""
        l, gas = self.l, self.site.gas
        if l.arrangement == "none":
            return t2, 0.0, np.nan, 0.0
        rel = m / l.rated_flow
        power = rel ** -l.ntu_exponent if np.ndim(l.ntu_exponent) or l.ntu_exponent else 1.0
        rc = m * (1006.0 / l.coolant_capacity)
        p = cooler_effectiveness(l.arrangement, l.ntu * power, rc if l.finite_coolant else 0.0)
        source = l.coolant_source
        if l.has_loop:
            # T_m - T2 + P (T2 - T_s - L m (h(T2) - h(T_m))) = 0, nearly straight in T_m
            h2, loop = gas.h(t2), l.loop * m
            cp = gas.cp(t2)
            tm = t2 - p * (t2 - source) / (1 + p * loop * cp)
            for _ in range(20):
                step = ((tm - t2 + p * (t2 - source - loop * (h2 - gas.h(tm))))
                        / (1 + p * loop * gas.cp(tm)))
                tm = tm - step
                if np.all(np.abs(step) < 1e-6):  # quadratic: the error left is far below 1e-12
                    break
            source = source + loop * (h2 - gas.h(tm))
        else:
            tm = t2 - p * (t2 - source)
        return tm, p, source, l.drop * rel * rel * gas.r * t2

    def breathing(self, tm, r=None):
        """m_e over (a p_m - b p_e)."""
        r = self.site.gas.r if r is None else r
        return self.twin.filled(self.swept, r, self.l.taken, self.l.chilled, tm)

    def engine_flow(self, tm, pm, r=None):
        """m_e, with the exhaust pressure it makes: the lesser root of (1 - q) m^2 - 2 g A m + g^2 (A^2 - B^2) = 0,
        A = a p_m, B = b p_0, q = (g b)^2 K."""
        g, site = self.breathing(tm, r), self.site
        a, b = self.a * pm, self.b * site.p
        q = (g * self.b) ** 2 * site.exhaust_k(tm)
        root = np.sqrt(np.maximum(a * a * q + (1 - q) * b * b, 0.0))
        return np.where(a > b, g * (a * a - b * b) / (a + root), 0.0)

    def manifold(self, m, tm, r=None):
        """p_m that makes the engine draw m."""
        return (m / self.breathing(tm, r) + self.b * self.site.exhaust_pressure(m, tm)) / self.a

    # 5, water
    def condensed(self, m, t2, share, pm):
        """T_m, humidity ratio behind the core, water and p_m where the dry outlet is below the dew point."""
        l, site, gas, held = self.l, self.site, self.site.gas, self.held is not None
        w0 = gas.humidity_ratio
        w1 = np.full(len(m), w0)
        loop = l.loop if l.has_loop else 0.0
        tm = last = None
        for _ in range(100):
            vapour = pm * w1 / (0.621945 + w1)
            dew = 300.0 + 0.0 * m
            for _ in range(12):  # ln p_s is nearly straight over 1/T
                here = np.log(saturation_pressure(dew))
                slope = -dew * dew * (np.log(saturation_pressure(dew + 1e-3)) - here) / 1e-3
                off = np.log(vapour) - here
                dew = 1 / (1 / dew + off / slope)
                if np.all(np.abs(off) < 1e-14):
                    break
            dew = np.minimum(dew, t2)

            def full(t):
                ps = saturation_pressure(t)
                return np.where(ps < pm, np.minimum(0.621945 * ps / np.where(ps < pm, pm - ps, 1.0), w1), w1)

            def i(t):
                return (1 + w1) * gas.h(t) - (w1 - full(t)) * (2501e3 - 2326.0 * (t - 273.15))

            at_dew, in_front = i(dew), (1 + w1) * gas.h(t2)

            def gap(t):
                at_t = i(t)
                cold = np.minimum(l.coolant_source + loop * m / (1 + w1) * (in_front - at_t), dew - 1e-7)
                at_cold = i(cold)
                return (at_t - at_cold) * (dew - cold) - (1 - share) * (t2 - cold) * (at_dew - at_cold)
            tm = bracketed_root(gap, *around(gap, tm, l.coolant_source + 0.0 * m, dew))
            w = full(tm)
            water = m / (1 + w1) * (w1 - w)
            r = (R_AIR + w * R_WATER) / (1 + w)
            new_pm, new_w1 = pm, w1
            if not held:
                new_pm = self.manifold(m - water, tm, r)
            elif self.twin.bleed_to_inlet:
                drawn = self.engine_flow(tm, pm, r) + water
                fresh, back = drawn / (1 + w0), (m - drawn) / (1 + w)
                new_w1 = (fresh * w0 + back * w) / (fresh + back)
            still = np.all(np.abs(new_pm / pm - 1) < 1e-13) and np.all(np.abs(new_w1 - w1) < 1e-14)
            moved = new_pm - pm
            if still:
                break
            with np.errstate(all="ignore"):  # p_m goes on by the slope between the last two
                step = moved / (1 - (new_pm - last[0]) / (pm - last[1])) if last else moved
            last = new_pm, pm
            pm, w1 = pm + np.where(np.isfinite(step) & (np.abs(step) < 2 * np.abs(moved)), step, moved), new_w1
        return tm, w, water, new_pm, r

    def front(self, m, t2):
        """p1, T1, h1, T_m, p_m, p2, flow drawn, effectiveness, humidity ratio at the engine and water for blower flow
        m at discharge temperature t2."""
        site, w0 = self.site, self.site.gas.humidity_ratio
        tm, p, _, drop = self.cooled(m, t2)
        p1, t1, h1 = site.inlet_pressure(m), site.t, site.h
        pm = self.manifold(m, tm) if self.held is None else self.held
        w, water, r = w0, 0.0, site.gas.r
        if w0 > 0 and self.l.arrangement != "none":
            with np.errstate(all="ignore"):
                wet = (saturation_pressure(tm) < pm * w0 / (0.621945 + w0)) & (tm > 200.0)
            if np.any(wet):
                tm, w, water, pm, r = (np.array(x * np.ones(len(m)), float) for x in (tm, w, water, pm, r))
                some = self.take(wet)
                tm[wet], w[wet], water[wet], pm[wet], r[wet] = some.condensed(
                    m[wet], t2[wet], (p * np.ones(len(m)))[wet], pm[wet])
        if self.held is None:
            me = m
        else:
            me = self.engine_flow(tm, pm, r) + water
            if self.twin.bleed_to_inlet:
                p1 = site.inlet_pressure(me)
                share = me / m
                h1 = share * site.h + (1 - share) * site.gas.h(tm)
                t1 = site.gas.temperature_at(h1, share * site.t + (1 - share) * tm)
        p2 = pm if np.ndim(drop) == 0 and drop == 0.0 else 0.5 * (pm + np.sqrt(pm * pm + 4 * drop))
        return p1, t1, h1, tm, pm, p2, me, p, w, water

    # 3
    def blower(self, p1, t1, p2, t2):
        """Flow at this state and power into the gas by compression (for a map per flow)."""
        l, gas = self.l, self.site.gas
        rho1 = p1 / (gas.r * t1)
        if l.map is not None:
            eta_v, eta_is, _ = l.map.at(l.n + 0.0 * p2, t1, p2 / p1)
            t2s = gas.isentropic_temperature(t1 + 0.0 * p2, p2 / p1)
            flow = eta_v * rho1 * l.volume_flow
            return flow, flow * (gas.h(t2s) - gas.h(t1)) / eta_is
        leak = self.leakage(p1, p2, t2)
        hot = leak * (1 + (gas.h(t2) - gas.h(t1)) / (gas.cp(t1) * t1))
        return rho1 * l.filled - hot, self.gas_power(p1, t1, p2)

    def clearance(self, t2):
        l = self.l
        if np.ndim(l.closing_rate) == 0 and l.closing_rate == 0.0:
            return 1.0
        return np.maximum(0.0, 1 - l.closing_rate * (t2 - l.assembly_temperature))

    def leakage(self, p1, p2, t2):
        gas = self.site.gas
        return (self.l.leakage_area * self.clearance(t2) * p2 / np.sqrt(gas.r * t2)
                * nozzle(np.minimum(p1 / p2, 1.0), gas.gamma(t2)))

    def gas_power(self, p1, t1, p2):
        l = self.l
        if np.ndim(l.volume_ratio) == 0 and l.volume_ratio == 1.0:
            return l.volume_flow * (p2 - p1)
        g = self.site.gas.gamma(t1) - 1
        return l.volume_flow * (p1 * ((l.volume_ratio ** g - 1) / g - 1) + p2 / l.volume_ratio)

    def residuals(self, m, t2):
        """Blower flow less m, and heat content less heat put in."""
        p1, t1, h1, _, _, p2 = self.front(m, t2)[:6]
        flow, power = self.blower(p1, t1, p2, t2)
        l, gas = self.l, self.site.gas
        if l.map is not None:  # power per kg follows from the pressure ratio
            power = power * (m / flow)
        return flow - m, m * (gas.h(t2) - h1) - l.heat_share * (power + l.windage)


def broyden(path, u, v, inverse, rounds=14):
    """Solves path.residuals from (u, v) = (m / scale, T2 / T0). `inverse` holds the four elements of the
    inverse Jacobian, or None. Returns u, v, inverse and where it converged."""
    site, gas = path.site, path.site.gas
    m_scale = site.rho * path.l.volume_flow * np.ones_like(u)
    e_scale = m_scale * float(gas.cp(site.t)) * site.t

    def f(path, u, v, m_scale, e_scale):
        r1, r2 = path.residuals(u * m_scale, v * site.t)
        return r1 / m_scale, r2 / e_scale

    f1, f2 = f(path, u, v, m_scale, e_scale)
    if inverse is None:
        a1, a2 = f(path, u * (1 + 1e-7), v, m_scale, e_scale)
        b1, b2 = f(path, u, v * (1 + 1e-7), m_scale, e_scale)
        du, dv = u * 1e-7, v * 1e-7
        j11, j21, j12, j22 = (a1 - f1) / du, (a2 - f2) / du, (b1 - f1) / dv, (b2 - f2) / dv
        det = j11 * j22 - j12 * j21
        with np.errstate(all="ignore"):
            inverse = np.array([j22 / det, -j12 / det, -j21 / det, j11 / det])
    out_u, out_v, out_h = u.copy(), v.copy(), inverse.copy()
    converged = np.zeros(len(u), bool)
    where = np.arange(len(u))
    h11, h12, h21, h22 = inverse
    for left in range(rounds, -1, -1):
        with np.errstate(invalid="ignore"):
            there = (np.abs(f1) < 1e-12) & (np.abs(f2) < 1e-12)
        if there.any() or left == 0:
            at = where if left == 0 else where[there]
            pick = slice(None) if left == 0 else there
            out_u[at], out_v[at] = u[pick], v[pick]
            out_h[0, at], out_h[1, at] = h11[pick], h12[pick]
            out_h[2, at], out_h[3, at] = h21[pick], h22[pick]
            converged[where[there]] = True
            if left == 0 or there.all():
                break
            stay = ~there
            where, u, v, f1, f2 = where[stay], u[stay], v[stay], f1[stay], f2[stay]
            h11, h12, h21, h22 = h11[stay], h12[stay], h21[stay], h22[stay]
            m_scale, e_scale, path = m_scale[stay], e_scale[stay], path.take(stay)
        du, dv = -(h11 * f1 + h12 * f2), -(h21 * f1 + h22 * f2)
        du = np.minimum(np.maximum(du, -0.5 * u), 0.5 * u + 0.05)
        dv = np.minimum(np.maximum(dv, -0.25 * v), 0.25 * v)
        u, v = u + du, v + dv
        g1, g2 = f(path, u, v, m_scale, e_scale)
        d1, d2 = g1 - f1, g2 - f2
        f1, f2 = g1, g2
        y1, y2 = h11 * d1 + h12 * d2, h21 * d1 + h22 * d2  # H df
        with np.errstate(all="ignore"):
            q = 1.0 / (du * y1 + dv * y2)
            w1, w2 = (du * h11 + dv * h21) * q, (du * h12 + dv * h22) * q
            e1, e2 = du - y1, dv - y2
            h11, h12, h21, h22 = h11 + e1 * w1, h12 + e1 * w2, h21 + e2 * w1, h22 + e2 * w2
    return out_u, out_v, out_h, converged


def nested(path, count):
    """The same by a bracket within a bracket: flow, and the temperature at which heat balances. Slow and sure."""
    ones = np.ones(count)
    top = path.site.rho * path.l.volume_flow * ones * 1.5

    t2 = None

    def temperature_at(m):
        nonlocal t2
        def heat(t2):
            return path.residuals(m, t2)[1]
        t2 = bracketed_root(heat, *around(heat, t2, 120.0 * ones, 20000.0 * ones), 80)
        return t2

    def excess(m):
        return path.residuals(m, temperature_at(m))[0]

    high, low = top, top  # of two answers the larger flow counts
    for _ in range(70):
        below = excess(low) < 0
        if not below.any():
            break
        high, low = np.where(below, low, high), np.where(below, 0.8 * low, low)
    m = bracketed_root(excess, low, high, 80)
    return m, temperature_at(m)


class Match:
    """Solutions for one group of lanes at one site, speed after speed, each from the one before."""

    def __init__(self, twin, site, lanes, count):
        self.twin, self.site, self.lanes, self.count = twin, site, lanes, count
        self.u = self.v = self.inverse = self.before = None
        self.fallbacks = self.unsolved = 0
        self.lost = np.zeros(count, bool)  # no answer without an open bypass

    def _solve(self, path, u, v, inverse):
        self.lost = np.zeros(len(u), bool)
        u, v, inverse, good = broyden(path, u, v, inverse)
        for attempt in range(6):  # from a guess, then from where that ended with slopes of there: kinks
            if good.all():
                break
            again = ~good
            fresh = path.take(again)
            start = (u[again], v[again]) if attempt else self._guess(fresh, int(again.sum()))
            u[again], v[again], inverse[:, again], good[again] = broyden(fresh, *start, None, rounds=10 if attempt else 40)
        if not good.all():
            again = ~good
            rest = path.take(again)
            n = int(again.sum())
            self.fallbacks += n
            m, t2 = nested(rest, n)
            with np.errstate(invalid="ignore"):
                scale = self.site.rho * rest.l.volume_flow
                r1, r2 = rest.residuals(m, t2)
                self.lost[again] = ~((np.abs(r1) < 1e-8 * scale) & (np.abs(r2) < 1e-8 * scale * 1005 * self.site.t))
            u[again] = m / (self.site.rho * rest.l.volume_flow)
            v[again] = t2 / self.site.t
            inverse[:, again] = np.array([[-1.0], [0.0], [0.0], [1.0]])
        return u, v, inverse

    def _guess(self, path, count):
        site = self.site
        pull = path.breathing(site.t) * (path.a - path.b) * site.p
        rise = np.clip(site.rho * path.l.volume_flow / pull * np.ones(count), 0.5, 3.0)
        return np.full(count, 0.85), 1 + 0.4 * (rise - 1)

    def at(self, speed):
        """State of all lanes at a speed."""
        twin, site = self.twin, self.site
        path = Path(twin, site, speed, self.lanes)
        if self.u is None:
            self.u, self.v = self._guess(path, self.count)
        # Start where the last two speeds point to.
        u, v = self.u.copy(), self.v.copy()
        if self.before is not None:
            n = twin.speeds
            step = (n[speed] - n[speed - 1]) / (n[speed - 1] - n[speed - 2])
            u, v = u + step * (u - self.before[0]), v + step * (v - self.before[1])
            u, v = np.where(u > 0.02, u, self.u), np.where(np.abs(v - self.v) < 0.2, v, self.v)
        previous = (self.u, self.v) if self.inverse is not None else None
        self.u, self.v, self.inverse = self._solve(path, u, v, self.inverse)
        self.before = previous
        scale = site.rho * path.l.volume_flow
        m, t2 = self.u * scale, self.v * site.t
        p1, t1, h1, tm, pm, p2, me, p, w, water = path.front(m, t2)
        ones = np.ones(self.count)
        state = dict(m=m, t2=t2, p1=p1 * ones, t1=t1 * ones, tm=tm * ones, pm=pm * ones, p2=p2 * ones,
                     me=me - water, p=p * ones, w=w * ones, water=water * ones)
        state["bypass"] = (state["pm"] < state["p1"]) | self._gasping(path)
        state["bleeding"] = state["pm"] > site.p + twin.bleed_above
        if state["bleeding"].any():
            which = state["bleeding"]
            held = path.holding(site.p + twin.bleed_above).take(which)
            u, v = self.u[which], self.v[which]
            u, v, _ = self._solve(held, u, v, None)
            self.unsolved += int(self.lost.sum())
            m = u * (scale[which] if np.ndim(scale) else scale)
            t2 = v * site.t
            p1, t1, h1, tm, pm, p2, me, p, w, water = held.front(m, t2)
            for key, value in dict(m=m, t2=t2, p1=p1, t1=t1, tm=tm, pm=pm, p2=p2, me=me - water, p=p, w=w,
                                   water=water).items():
                state[key] = state[key].copy()
                state[key][which] = value
        if state["bypass"].any():
            which = state["bypass"]
            m, tm = self._bypassed(path.take(which), int(which.sum()))
            p1 = site.inlet_pressure(m)
            for key, value in dict(m=m, t2=tm, p1=p1, t1=site.t, tm=tm, pm=p1, p2=p1, me=m, p=0.0, water=0.0,
                                   w=site.gas.humidity_ratio).items():
                state[key] = state[key].copy()
                state[key][which] = value
        return path, state

    def _gasping(self, path):
        """Lost lanes whose blower delivers less with no pressure across it than the engine asks. Others have no
        answer, which shows as a temperature out of range."""
        open_ = self.lost.copy()
        if open_.any():
            rest = path.take(open_)
            m, tm = self._bypassed(rest, int(open_.sum()))
            p1 = self.site.inlet_pressure(m)
            open_[open_] = rest.blower(p1, self.site.t, p1, tm)[0] < m
            self.unsolved += int((self.lost & ~open_ & (self.v * self.site.t <= T_MAX)).sum())
        return open_

    def _bypassed(self, path, count):
        site, gas = self.site, self.site.gas
        tm = np.full(count, site.t)
        for _ in range(200):
            g = path.breathing(tm) * np.ones(count)

            def excess(m):
                return g * (path.a * site.inlet_pressure(m) - path.b * site.exhaust_pressure(m, tm)) - m
            m = bracketed_root(excess, 0.0 * g, g * path.a * site.p)
            heat = path.l.heat_share * path.l.windage
            if not np.any(heat):
                break
            new = gas.temperature_at(site.h + heat / m, tm)
            change = np.abs(new - tm)
            tm = new
            if np.all(change < 1e-12 * site.t):
                break
        return m, tm


# ---- the whole ---------------------------------------------------------------------------------

class Twin:
    one_fuel = None  # of a sweep

    def __init__(self, study, chunk=4096, tables=(), own=None):
        """`own` are the corrections that blowers' entries hold, by name of the blower."""
        self.study, self.chunk = study, chunk
        engine = self.engine = study["engine"]
        self.speeds = np.array(engine["speeds"])
        self.sites = [Site(study, s["ambient"], study["intake"]) for s in study["sites"]]
        self.ve = monotone_cubic(engine["volumetric_efficiency"], self.speeds)
        self.bleed_above = study["bypass"]["bleed_above"]
        self.bleed_to_inlet = study["bypass"]["bleed_to"] == "inlet"
        self.maps = [Map(b) if b["kind"] == "map" else None for b in study["blowers"]]
        self.fallbacks = self.unsolved = 0
        self.by_cycle = engine["efficiency"] == "cycle"
        self.best_ca50, self.limit_ca50 = engine["knock"]["best_ca50"], engine["knock"]["limit_ca50"]
        self.peak_most = study["limits"]["peak_pressure"]
        self.retard_less = np.zeros(len(self.speeds))  # what phasing retard may be less at a speed than at the best one
        if len(study["retard_curve"]["x"]) > 0:
            room = self.limit_ca50 - self.best_ca50
            self.retard_less = (min(study["limits"]["phasing_retard"], room)
                                - np.minimum(monotone_cubic(study["retard_curve"], self.speeds), room))
        self.work_factor = self.friction_factor = self.ntu_factor = 1.0
        self.more_heating = 0.0
        self._tie()
        self._correct_blowers(study["corrections"], own or {})
        self._correct(study["corrections"])
        # Sites that the cycle cannot tell apart share the table of the first of them.
        alike = [(s.p, s.gas.humidity_ratio) for s in self.sites]
        self.first_alike = [alike.index(a) for a in alike]
        self.tables = {t.place: t for t in tables}

    # 13
    def _correct_blowers(self, by, own):
        """The study's corrections and each blower's own, by their product, in a copy of the study."""
        self.study = dict(self.study, blowers=[dict(b) for b in self.study["blowers"]])
        for b, m in zip(self.study["blowers"], self.maps):
            mine = own.get(b["name"], {})
            factor = {name: by.get(name, 1.0) * mine.get(name, 1.0) for name in ("leakage", "filling_loss", "blower_friction")}
            for name, which in (("leakage_area", "leakage"), ("filling_loss", "filling_loss"),
                                ("friction_torque", "blower_friction"), ("windage_torque", "blower_friction")):
                if name in b:
                    b[name] = b[name] * factor[which]
            if m is not None:
                m.slip = factor["leakage"]

    def _correct(self, by):
        """Corrections act on the kit, after the tie: what was read of it is changed in a copy of the study."""
        if "leakage" not in by:
            return
        study = self.study = dict(self.study)
        n = self.speeds
        tilt = (n - (n[0] + n[-1]) / 2) / ((n[-1] - n[0]) / 2) if len(n) > 1 else 0 * n
        self.ve = self.ve * by["volumetric_efficiency"] * (1 + by["volumetric_efficiency_tilt"] * tilt)
        study["drive"] = dict(study["drive"], creep=max(0.0, study["drive"]["creep"] + by["creep"]))
        for s in self.sites:
            s.intake, s.exhaust = s.intake * by["intake_loss"], s.exhaust * by["exhaust_loss"]
        self.work_factor, self.friction_factor = by["efficiency"], by["friction"]
        self.ntu_factor = by["cooler_effectiveness"]
        self.more_heating = by["charge_heating"]

    # 6
    def charges(self, site):
        """Of each fuel: volume of air and vapour over that of the air, and K that evaporation cools."""
        fuels, e = self.study["fuels"], self.engine
        if not self.by_cycle:
            return np.ones(len(fuels)), np.zeros(len(fuels))
        if not hasattr(site, "charges"):
            import cycle_twin  # only here, and it asks for SciPy
            w = site.gas.humidity_ratio
            cases = {"fuel." + k: np.array([f[k] for f in fuels])
                     for k in ("stoichiometric", "hydrogen_carbon", "oxygen_carbon", "molar_mass")}
            fresh = cycle_twin.Cycles({**cases, "at.lambda": e["stock_lambda"], "at.humidity_ratio": w}).fresh
            cp = cycle_twin.heat_capacity(fresh.at(298.15), 298.15, 1 / 298.15)
            share = 1 / ((1 + w) * e["stock_lambda"] * cases["fuel.stoichiometric"])
            vapour = share * e["cycle"]["evaporated_share"]
            latent = np.array([f["vaporisation"] for f in fuels])
            site.charges = (1 + vapour * 8.314510 / (cases["fuel.molar_mass"] * site.gas.r),
                            vapour * latent / ((1 + share) * cp))
        return site.charges

    def filled(self, swept, r, taken, chilled, t):
        """Air in the volume that a charge of t fills, per pressure; the curve holds for the stock fuel at t_ref."""
        e = self.engine
        f, wall, ref = e["cycle"]["charge_heating"], e["cycle"]["charge_wall_temperature"], e["reference_temperature"]
        stock_taken, stock_chilled = (x[int(e["stock_fuel"])] for x in self.charges(self.stock_site))
        valve = lambda f, at, less: (1 - f) * at + f * wall - less
        with_kit = min(max(f + self.more_heating, 0.0), 1.0)
        return swept / (r * ref) * valve(f, ref, stock_chilled) * stock_taken / (valve(with_kit, t, chilled) * taken)

    # 6 and 8
    def _tie(self):
        """The stock engine: residual-gas factors and efficiency at each speed."""
        e, n = self.engine, self.speeds
        stock = self.stock_site = Site(self.study, e["stock"], e["intake"])
        half = e["displacement"] * n / 2
        own = (x[int(e["stock_fuel"])] for x in self.charges(stock))
        c = self.filled(self.ve * half, stock.gas.r, *own, stock.t)
        p_ms = 2 * stock.p / (1 + np.sqrt(1 + 4 * stock.intake * c * c * stock.p))
        m_s = c * p_ms
        p_es = stock.exhaust_pressure(m_s, stock.t)
        if e["residual_correction"]:
            r, g = e["compression_ratio"], e["residual_gamma"]
            phi = r / (r - 1) - (p_es / p_ms + g - 1) / (g * (r - 1))
            self.residual = list(zip((r / (r - 1) - (g - 1) / (g * (r - 1))) / phi,
                                     1 / (g * (r - 1)) / phi))
        else:
            self.residual = [(1.0, 0.0)] * len(n)
        fuel, lam = self.study["fuels"][int(e["stock_fuel"])], e["stock_lambda"]
        self.stock_lambda = lam
        self.stock_state = dict(air=2 * m_s / (n * e["cylinders"]), exhaust=p_es, temperature=stock.t,
                                humidity_ratio=stock.gas.humidity_ratio)

        def tied(p_max):
            """Efficiency that explains the stock torque with friction at this peak pressure."""
            p_is = 2 * np.pi * n * monotone_cubic(e["stock_torque"], n)
            if e["friction"] == "chen_flynn":
                p_is = p_is + self.friction(p_max, n)
            else:
                p_is = p_is / e["mechanical_efficiency"]
            p_is = p_is - e["pumping_share"] * (p_ms - p_es) * half
            return (p_is * lam * fuel["stoichiometric"] * (1 + stock.gas.humidity_ratio)
                    / (m_s * fuel["heating_value"]))

        self._tied = tied
        if self.by_cycle:
            cycles = self.study["stock_cycle"]
            self.tie_to(*(np.array([c[k] for c in cycles]) for k in ("gross_efficiency", "peak_pressure")))
        elif e["efficiency"] == "stock_torque":
            self.tied = tied(e["peak_pressure_ratio"] * p_ms)
        else:
            self.tied = np.full(len(n), e["indicated_efficiency"])

    def tie_to(self, efficiency, peak_pressure):
        """Ties the closed cycle to the stock torque, given what it says of the stock engine."""
        self.tied = efficiency
        if len(self.engine["stock_torque"]["x"]) > 0:
            self.tied = self._tied(peak_pressure)
        self.tie = self.tied / efficiency

    # 9
    def friction(self, p_max, n):
        e = self.engine
        sp = 2 * e["stroke"] * n
        fmep = (e["fmep_at_rest"] + e["per_peak_pressure"] * p_max
                + e["per_piston_speed"] * sp + e["per_piston_speed_squared"] * sp * sp)
        return self.friction_factor * fmep * e["displacement"] * n / 2

    # 10
    def injector_duty(self, site, speed, kits, fuel_flow, pm):
        """Share of the time that the injectors are open; NaN where none are named."""
        rail, parts = self.study["rail"], self.study["injectors"]
        count = self.engine["cylinders"] * rail["injectors_per_cylinder"]
        reference = pm if rail["reference"] == "manifold" else site.p
        dp = reference + rail["pressure"] - pm

        def of(name):
            return np.array([p[name] for p in parts])[kits["injector"]]
        density = np.array([f["density"] for f in self.study["fuels"]])[kits["fuel"]]
        with np.errstate(all="ignore"):
            static = (kits["injector_flow"] * np.sqrt(of("test_density") * density)
                      * np.sqrt(dp / of("rated_pressure")))
            duty = of("dead_time") * self.speeds[speed] / 2 + fuel_flow / (count * static)
            duty = np.where(dp <= 0, np.inf, duty)
        return np.where(of("unlimited") != 0, np.nan, duty)

    def pump_share(self, site, kits, fuel_flow, pm):
        """Fuel burnt over what the pump gives; NaN where none is named."""
        rail, out = self.study["rail"], np.full(np.shape(fuel_flow), np.nan)
        reference = pm if rail["reference"] == "manifold" else site.p + 0.0 * pm
        for i, pump in enumerate(self.study["pumps"]):
            which = kits["pump"] == i
            if pump["unlimited"] or not which.any():
                continue
            dp = reference[which] + rail["pressure"] + pump["line_loss"] - site.p
            density = np.array([f["density"] for f in self.study["fuels"]])[kits["fuel"][which]]
            with np.errstate(all="ignore"):
                share = fuel_flow[which] / (density * monotone_cubic(pump["flow"], dp))
            out[which] = np.where(dp > pump["flow"]["x"][-1], np.inf, share)
        return out

    # 8
    def burn(self, site, speed, fuel, lam, retard, pm, tm):
        """Numbers of BURN from the tables, for arrays of all arguments but the first two."""
        out = {k: np.full(len(pm), np.nan) for k in BURN}
        lambdas = self.study["lambdas"]
        for (first, f, l), table in self.tables.items():
            which = np.flatnonzero((first == self.first_alike[site]) & (fuel == f) & (lam == lambdas[l]))
            if len(which):
                found = table.at(table.begin(speed, pm[which], tm[which]), retard[which], self.peak_most)
                for name, value in found.items():
                    out[name][which] = value
        return out

    def heat_factor(self, speed, fuel, lam):
        """Indicated power per dry air, for arrays of fuels and lambdas (not for free air)."""
        e = self.engine
        stoichiometric = np.array([f["stoichiometric"] for f in self.study["fuels"]])[fuel]
        heating = np.array([f["heating_value"] for f in self.study["fuels"]])[fuel]
        eta = self.work_factor * self.tied[speed] * np.ones(np.shape(lam))
        if e["efficiency"] == "stock_torque":
            eta = eta * mixture(lam) / mixture(self.stock_lambda)
        per_air = 1 / (lam * stoichiometric)
        return eta, per_air, eta * per_air * heating, heating

    def lanes(self, blower, ratio, cooler, effectiveness, fuel):
        """Groups of lanes of one kind: (which combinations, Lanes)."""
        study = self.study
        kind = np.array([-1 if m is None else i for i, m in enumerate(self.maps)])[blower]
        names = [c["arrangement"] for c in study["coolers"]]
        arrangement = np.array([names.index(a) for a in names])[cooler]
        finite = np.array([a["arrangement"] != "none" and np.isfinite(a["coolant_capacity"])
                           for a in study["coolers"]])
        loop = np.array([self.loop_resistance(c) for c in study["coolers"]])
        key = np.stack([kind, arrangement, finite[cooler], loop[cooler] > 0])
        groups, member = np.unique(key, axis=1, return_inverse=True)
        for g in range(groups.shape[1]):
            all_of_it = np.flatnonzero(member == g)
            for start in range(0, len(all_of_it), self.chunk):
                which = all_of_it[start:start + self.chunk]
                lanes = self._group(groups[:, g], blower[which], ratio[which], cooler[which], effectiveness[which], loop)
                lanes.fuel = fuel[which]
                yield which, lanes

    def loop_resistance(self, cooler):
        if cooler["arrangement"] == "none" or not (
                cooler["radiator_effectiveness"] * cooler["radiator_capacity"] > 0):
            return 0.0
        steady = max(0.0, 1 / (cooler["radiator_effectiveness"] * cooler["radiator_capacity"])
                     - 1 / cooler["coolant_capacity"])
        heat, time = cooler["loop_heat"], self.study["use"]["full_throttle_time"]
        if heat > 0 and steady > 0 and 0 < time < np.inf:  # not warmed up yet: 11.6; 0 is not given
            return steady * -np.expm1(-time / (heat * steady))
        return steady

    def _group(self, key, blower, ratio, cooler, effectiveness, loop):
        study = self.study
        map_index, arrangement, finite, has_loop = (int(k) for k in key)
        blowers = study["blowers"]

        def of_blower(name):
            return plain_if_equal(np.array([b.get(name, np.nan) for b in blowers])[blower])

        values = dict(
            map=None if map_index < 0 else self.maps[map_index],
            displacement=of_blower("displacement"), friction_torque=of_blower("friction_torque"),
            windage_torque=of_blower("windage_torque"),
            windage_reference=of_blower("windage_reference_speed"))
        values["n_over_engine"] = (ratio * (1 - study["drive"]["creep"])
                                   * np.array([b["step_up"] for b in blowers])[blower])
        if map_index < 0:
            for name in ("leakage_area", "closing_rate", "assembly_temperature", "volume_ratio",
                         "filling_loss", "reference_speed"):
                values[name] = of_blower(name)
            values["heat_share"] = plain_if_equal(
                1 - np.array([b.get("case_loss", np.nan) for b in blowers])[blower])
        else:
            values["heat_share"] = 1.0
        if not np.any(values["windage_torque"]):
            values["windage_reference"] = 1.0
        name = study["coolers"][arrangement]["arrangement"]
        values.update(arrangement=name, finite_coolant=bool(finite), has_loop=bool(has_loop))
        if name != "none":
            def of_cooler(key):
                return plain_if_equal(np.array([c.get(key, np.nan) for c in study["coolers"]])[cooler])
            for key in ("rated_flow", "ntu_exponent", "coolant_rise", "coolant_temperature",
                        "coolant_capacity"):
                values[key] = of_cooler(key)
            values["loop"] = plain_if_equal(loop[cooler])
            ntu, drop = np.empty(len(cooler)), np.empty(len(cooler))
            pairs, of = np.unique(np.stack([cooler.astype(float), effectiveness]), axis=1,
                                  return_inverse=True)
            for i, (c, eff) in enumerate(pairs.T):
                c = study["coolers"][int(c)]
                rc = c["rated_flow"] * 1006.0 / c["coolant_capacity"]
                both = cooler_ntu(name, np.array([eff, c["pressure_drop_effectiveness"]]), rc)
                ntu[of == i] = both[0] * self.ntu_factor
                drop[of == i] = c["pressure_drop"] * both[0] / both[1] * c["rated_density"]
            values["ntu"], values["drop"] = ntu, plain_if_equal(drop)
        return Lanes(values)

    def _ratio(self, crank, blower):
        two = 2 * self.study["drive"]["line_offset"]
        return (crank + two) / (blower + two)

    # ---- every number of every point ----

    def points(self, kits, burn=None):
        """kits: arrays blower, crank_diameter, blower_diameter, ratio, cooler, effectiveness, fuel, lambda, and if not
        0 ignition_margin, injector, injector_flow, pump, ribs, wrap. Arrays [kit, site, speed] by name. `burn`: such
        arrays of the names of BURN; looked up in the tables if not given."""
        zero = np.zeros(len(kits["ratio"]), int)
        kits = dict(dict(ignition_margin=0.0 * zero, injector=zero, injector_flow=0.0 * zero, pump=zero,
                         ribs=0.0 * zero, wrap=0.0 * zero), **kits)
        shape = (len(kits["ratio"]), len(self.sites), len(self.speeds))
        out = {}
        for which, lanes in self.lanes(*(kits[k] for k in ("blower", "ratio", "cooler", "effectiveness", "fuel"))):
            for i, site in enumerate(self.sites):
                match = Match(self, site, lanes, len(which))
                for j in range(len(self.speeds)):
                    path, state = match.at(j)
                    values = self._describe(site, j, path, state, lanes)
                    some = {k: v[which] for k, v in kits.items()}
                    if burn is not None:
                        values.update({k: burn[k][which, i, j] for k in BURN})
                    else:
                        values.update(self.burn(i, j, some["fuel"], some["lambda"], some["ignition_margin"],
                                                values["manifold_pressure"], values["charge_temperature"]))
                    values.update(self._brake(site, j, values, some))
                    values["belt_speed"] = (np.pi * self.speeds[j] * (
                        kits["crank_diameter"][which] + 2 * self.study["drive"]["line_offset"]))
                    for name, value in values.items():
                        if name not in out:
                            out[name] = np.full(shape, np.nan)
                        out[name][which, i, j] = value
                self.fallbacks += match.fallbacks
                self.unsolved += match.unsolved
        out["bypass_vacuum"] = np.where(out["bypass_open"] != 0, np.nan,
                                        out["ambient_pressure"] - out["inlet_pressure"])
        out.update({k: np.full(shape, np.nan) for k in OF_BELT})
        belt, which = self.belt(kits, out["blower_power"])
        if belt:
            for k, v in zip(OF_BELT, (belt.slip, belt.tension, belt.hub)):
                out[k][which] = v
        return out

    # ---- 4 and 11: hardware of kits ----

    def belt(self, kits, shaft):
        """The belt of those kits that have pulleys, and which they are; None without one."""
        which = np.flatnonzero(~np.isnan(kits["crank_diameter"]))
        if not self.study["belt"]["given"] or not len(which):
            return None, which
        return hardware.Belt(self.study, {k: v[which] for k, v in kits.items()}, shaft[which]), which

    def ntu(self, kits):
        """Of the core of each kit at rated flow, 0 without one."""
        out = np.zeros(len(kits["ratio"]))
        for i, c in enumerate(self.study["coolers"]):
            which = kits["cooler"] == i
            if c["arrangement"] != "none" and which.any():
                rc = c["rated_flow"] * 1006.0 / c["coolant_capacity"]
                effectiveness, back = np.unique(kits["effectiveness"][which], return_inverse=True)
                out[which] = cooler_ntu(c["arrangement"], effectiveness, rc)[back]
        return out

    def cruise_drag(self, kits):
        import cruise  # which needs this module
        return (cruise.drag(self, kits) if self.study["use"]["cruises"] else np.full(len(kits["ratio"]), np.nan))

    def hardware(self, points, kits):
        """What is known of whole kits, by the names of the library's struct."""
        zero = np.zeros(len(kits["ratio"]))
        kits = dict(dict(ribs=zero, wrap=zero, injector=zero.astype(int), pump=zero.astype(int)), **kits)
        ntu = self.ntu(kits)
        out = {k: np.full(len(zero), np.nan) for k in ("belt_length", "crank_wrap", "blower_wrap", "belt_width",
                                                       "static_tension", "bearing_life", "highest_hub_load")}
        out.update({k: hardware.worth(self.study, kits, ntu, k) for k in ("price", "mass")})
        out["pulley_diameter"] = np.minimum(kits["crank_diameter"], kits["blower_diameter"])
        out["over_continuous"] = hardware.over_continuous(self.study, kits)
        out["cruise_drag"] = self.cruise_drag(kits)
        belt, which = self.belt(kits, points["blower_power"])
        if belt:
            life = belt.life({k: v[which] for k, v in kits.items()}, points["blower_power"][which])
            for k, v in (("belt_length", belt.length), ("crank_wrap", belt.crank_wrap), ("blower_wrap", belt.wrap),
                         ("belt_width", belt.width), ("static_tension", belt.static), ("bearing_life", life),
                         ("highest_hub_load", belt.highest_hub)):
                out[k][which] = v
        return out

    def _describe(self, site, speed, path, s, lanes):
        gas, l, n = site.gas, path.l, path.l.n
        open_ = s["bypass"]
        rho1 = s["p1"] / (gas.r * s["t1"])
        pr = s["p2"] / s["p1"]
        outcome = np.full(len(open_), OK)
        with np.errstate(invalid="ignore"):
            low = np.minimum(np.minimum(s["t1"], s["t2"]), s["tm"])
            high = np.maximum(np.maximum(s["t1"], s["t2"]), s["tm"])
            outcome[~((low >= T_MIN) & (high <= T_MAX))] = OUT_OF_RANGE
        leak, clearance = np.zeros(len(open_)), np.ones(len(open_))
        if l.map is None:
            leak = np.where(open_, 0.0, path.leakage(s["p1"], s["p2"], s["t2"]))
            clearance = np.where(open_, 1.0, path.clearance(s["t2"]))
            power = path.gas_power(s["p1"], s["t1"], s["p2"])
        else:
            _, eta_is, outside = l.map.at(n + 0.0 * pr, s["t1"], pr)
            t2s = gas.isentropic_temperature(s["t1"], pr)
            power = s["m"] * (gas.h(t2s) - gas.h(s["t1"])) / eta_is
            outcome[outside & ~open_] = OUTSIDE_MAP
        power = np.where(open_, 0.0, power)
        shaft = power + l.windage + l.bearing
        t2s = gas.isentropic_temperature(s["t1"], pr)
        _, _, coolant, _ = path.cooled(s["m"], s["t2"])
        me, pm = s["me"], s["pm"]
        through = np.where(open_, 0.0, s["m"])  # an open bypass carries all of it
        with np.errstate(all="ignore"):
            eta_v = np.where(open_, np.nan, s["m"] / (rho1 * l.volume_flow))
            eta_is = np.where(open_, np.nan, s["m"] * (gas.h(t2s) - gas.h(s["t1"])) / shaft)
        pe = site.exhaust_pressure(me, s["tm"])
        m_bleed = np.where(s["bleeding"], s["m"] - me - s["water"], 0.0)
        latent = s["water"] * (2501e3 - 2326.0 * (s["tm"] - 273.15))
        heat = s["m"] * (gas.h(s["t2"]) - gas.h(s["tm"])) + latent
        if l.arrangement != "none":
            coolant = np.where(s["water"] > 0, l.coolant_source + (l.loop if l.has_loop else 0.0) * heat, coolant)
        r = np.where(s["water"] > 0, (R_AIR + s["w"] * R_WATER) / (1 + s["w"]), gas.r)
        half = self.engine["displacement"] * self.speeds[speed] / 2
        return dict(
            outcome=outcome, bypass_open=open_, bleeding=s["bleeding"], engine_speed=self.speeds[speed],
            rotor_speed=n, ambient_pressure=site.p, ambient_temperature=site.t,
            inlet_pressure=s["p1"], inlet_temperature=s["t1"], outlet_pressure=s["p2"], pressure_ratio=pr,
            discharge_temperature=s["t2"], manifold_pressure=pm, boost=pm - site.p,
            charge_temperature=s["tm"], coolant_temperature=np.where(open_, np.nan, coolant),
            effectiveness=s["p"], cooler_drop=s["p2"] - pm,
            cooler_heat=heat, blower_flow=through, condensed_flow=s["water"],
            leakage_flow=leak, bleed_flow=m_bleed, air_flow=me,
            dry_air_flow=me / (1 + s["w"]), exhaust_pressure=pe,
            blower_volumetric_efficiency=eta_v, blower_isentropic_efficiency=eta_is,
            clearance_left=clearance, gas_power=power, windage_power=l.windage, bearing_power=l.bearing,
            case_heat=(1 - l.heat_share) * (power + l.windage), blower_power=shaft,
            drive_power=shaft / self.study["drive"]["efficiency"],
            volumetric_efficiency=me * r * s["tm"] / (pm * half))

    def _brake(self, site, speed, v, kits):
        e, n = self.engine, self.speeds[speed]
        half = e["displacement"] * n / 2
        pm = v["manifold_pressure"]
        eta, per_air, _, heating = self.heat_factor(speed, kits["fuel"], kits["lambda"])
        m_fuel = v["dry_air_flow"] * per_air
        p_max, outcome = e["peak_pressure_ratio"] * pm, v["outcome"]
        if self.by_cycle:
            eta, p_max = self.work_factor * self.tie[speed] * v["cycle_efficiency"], v["peak_pressure"]
            outcome = np.where((outcome == OK) & np.isnan(eta), NO_CYCLE, outcome)
        if e["efficiency"] == "free_air":
            air = v["dry_air_flow"] * (1 + site.gas.humidity_ratio)
            indicated = self.work_factor * e["power_per_free_air"] * air / site.rho
            eta = indicated / (m_fuel * heating)
        else:
            indicated = eta * m_fuel * heating
        pump = e["pumping_share"] * (pm - v["exhaust_pressure"]) * half
        if e["friction"] == "chen_flynn":
            friction = self.friction(p_max, n)
        else:
            friction = self.friction_factor * (1 - e["mechanical_efficiency"]) * (indicated + pump)
        brake = indicated + pump - friction - v["drive_power"]
        dry = site.p - site.gas.vapour_pressure
        with np.errstate(all="ignore"):
            bsfc = np.where(brake > 0, m_fuel / brake, np.nan)
        density = np.array([f["density"] for f in self.study["fuels"]])[kits["fuel"]]
        return dict(
            outcome=outcome, fuel_volume_flow=m_fuel / density,
            injector_duty=self.injector_duty(site, speed, kits, m_fuel, pm),
            pump_flow=self.pump_share(site, kits, m_fuel, pm),
            fuel_flow=m_fuel, indicated_efficiency=eta, indicated_power=indicated, pumping_power=pump,
            friction_power=friction, brake_power=brake, torque=brake / (2 * np.pi * n),
            bmep=brake / half, bsfc=bsfc,
            power_j1349=brake * (1.180 * (99000 / dry) * np.sqrt(site.t / 298) - 0.18),
            power_iso1585=brake * (99000 / dry) ** 1.2 * (site.t / 298) ** 0.6,
            piston_speed=2 * e["stroke"] * n)

    # ---- 12 ----

    def bounds(self, blower, injector=None, pump=None):
        """Bounds [limit, combination]: the stricter of the study's and those of parts and knock. Infinite for none, a
        lower bound too."""
        out = np.repeat(np.array([self.study["limits"][k] for k in LIMITS])[:, None], len(blower), axis=1)
        for limit, key in (("rotor_speed", "max_speed"), ("pressure_ratio", "max_pressure_ratio"),
                           ("pressure_rise", "max_pressure_rise"),
                           ("discharge_temperature", "max_discharge_temperature")):
            own = np.array([b[key] for b in self.study["blowers"]])[blower]
            row = LIMITS.index(limit)
            out[row] = np.minimum(out[row], own)
        if self.by_cycle:
            row = LIMITS.index("phasing_retard")
            out[row] = np.minimum(out[row], self.limit_ca50 - self.best_ca50)
        for limit, parts, chosen in (("injector_duty", self.study["injectors"], injector),
                                     ("pump_flow", self.study["pumps"], pump)):
            if chosen is not None:
                own = np.array([np.inf if p["unlimited"] else p.get("max_duty", 1.0) for p in parts])[chosen]
                row = LIMITS.index(limit)
                out[row] = np.minimum(out[row], own)
        study, belt = self.study, self.study["belt"]
        hub = np.array([b["max_hub_load"] or np.inf for b in study["blowers"]])[blower]
        own = dict(hub_load=hub, bypass_vacuum=study["valve"]["starts"],
                   manifold_pressure=study["base"]["manifold_pressure"] or np.inf,
                   manifold_temperature=study["base"]["manifold_temperature"] or np.inf)
        closes = np.array([b.get("closing_rate", 0.0) for b in study["blowers"]])[blower] > 0
        least = np.maximum(np.array([b["least_clearance"] for b in study["blowers"]])[blower], TOUCHING)
        floor = dict(clearance_left=np.where(closes, least, -np.inf))
        if belt["given"]:
            own["belt_tension"] = belt["allowed_tension"]
            if not np.isnan(belt["static_tension"]):  # as much as is needed never slips
                own["belt_slip"] = 1.0
            floor["pulley_diameter"] = belt["min_diameter"]
        for limit, bound in own.items():
            row = LIMITS.index(limit)
            out[row] = np.minimum(out[row], bound)
        for limit, bound in floor.items():
            row = LIMITS.index(limit)
            out[row] = np.maximum(np.where(np.isinf(out[row]), -np.inf, out[row]), bound)
        return out

    def verdict(self, points, kits):
        count = len(kits["ratio"])
        outcome = points["outcome"].reshape(count, -1)
        result = dict(outcome=np.zeros(count, int), broken=np.zeros(count, int),
                      first_broken=np.full(count, -1), binding=np.full(count, -1), limits={})
        for code in (NO_MATCH, OUT_OF_RANGE, OUTSIDE_MAP):
            result["outcome"][(outcome == code).any(axis=1)] = code
        least_of_all = np.full(count, np.inf)
        none = np.zeros(count, int)
        bounds = self.bounds(kits["blower"], kits.get("injector", none), kits.get("pump", none))
        known = result["hardware"] = self.hardware(points, kits)
        named = dict(points, **{k: v[:, None, None] for k, v in known.items()})
        named.update(pressure_rise=points["outlet_pressure"] - points["inlet_pressure"],
                     rotor_duty=named["over_continuous"], manifold_pressure=points["boost"],
                     manifold_temperature=points["discharge_temperature"],
                     power=self.peak(points["brake_power"])[:, None, None])
        for i, (limit, bound) in enumerate(zip(LIMITS, bounds)):
            value = named[limit]
            bound3 = bound[:, None, None]
            if limit == "phasing_retard":
                bound3 = bound3 - self.retard_less
            span = np.broadcast_to(bound3, value.shape)
            if limit == "pressure_ratio":
                span = np.maximum(span - 1, 0.01)
            elif limit == "clearance_left":
                span = np.maximum(1 - span, 0.01)
            elif limit.endswith("_temperature"):
                span = np.maximum(bound3 - points["ambient_temperature"], 1.0)
            with np.errstate(invalid="ignore"):
                margin = value - bound3 if limit in AT_LEAST else bound3 - value
                share = margin / span
                usable = np.isfinite(bound3) & ~np.isnan(value)
            share = np.where(usable, share, np.inf).reshape(count, -1)
            margin = margin.reshape(count, -1)
            at = share.argmin(axis=1)
            row = np.arange(count)
            some = share[row, at] < np.inf
            pick = lambda a: np.where(some, a.reshape(count, -1)[row, at], np.nan)
            result["limits"][limit] = dict(bound=np.where(some, pick(np.broadcast_to(bound3, value.shape)), bound), all_shares=share, value=pick(value), margin=pick(margin),
                                           share=pick(share), site=at // len(self.speeds),
                                           speed=at % len(self.speeds))
            broken = (np.where(usable.reshape(count, -1) if usable.shape == value.shape else
                               np.broadcast_to(usable, value.shape).reshape(count, -1), margin, 1.0)
                      < 0).any(axis=1)
            result["broken"] |= broken.astype(int) << i
            result["first_broken"] = np.where(broken & (result["first_broken"] < 0), i,
                                              result["first_broken"])
            less = some & (share[row, at] < least_of_all)
            result["binding"] = np.where(less, i, result["binding"])
            least_of_all = np.where(less, share[row, at], least_of_all)
        # A point without a cycle counts only where no limit is broken.
        silent = (outcome == NO_CYCLE).any(axis=1) & (result["outcome"] == OK) & (result["broken"] == 0)
        result["outcome"][silent] = NO_CYCLE
        result["feasible"] = (result["outcome"] == OK) & (result["broken"] == 0)
        result["objective"] = self.objective(points["brake_power"], known["price"], known["mass"],
                                             points["charge_temperature"].reshape(count, -1).max(axis=1))
        return result

    def peak(self, power):
        """Peak power of brake power [..., site, speed], over the sites."""
        return self._over_sites(power.max(axis=-1))

    def of_kit(self, power, price, mass, charge):
        """Objective of a whole kit; None when it is one of power or torque alone."""
        kind, w = self.study["objective"]["kind"], self.study["weights"]
        if kind == "least_price":
            return np.where(np.isnan(power), np.nan, -price)
        if kind == "power_per_price":
            return power / price
        if kind == "least_charge_temperature":
            return np.where(np.isnan(power), np.nan, -charge)
        if kind == "weighted":
            return (w["power"] * power - w["price"] * price - w["mass"] * mass
                    - w["charge_temperature"] * charge)
        return None

    def objective(self, power, price, mass, charge):
        """Objective of brake power [..., site, speed], price, mass and the highest charge temperature [...]."""
        o, n = self.study["objective"], self.speeds
        of_kit = self.of_kit(self.peak(power), price, mass, charge)
        if of_kit is not None:
            return of_kit
        if o["kind"] == "peak_power":
            return self.peak(power)
        if o["kind"] == "mean_power":
            within = np.flatnonzero((n >= o["from"] * (1 - 1e-12)) & (n <= o["to"] * (1 + 1e-12)))
            x, y = n[within], power[..., within]
            at_site = ((y[..., 1:] + y[..., :-1]) * np.diff(x) / 2).sum(axis=-1) / (x[-1] - x[0])
        else:
            j = np.abs(n - o["at"]).argmin()
            at_site = power[..., j] / (2 * np.pi * n[j])
        return self._over_sites(at_site)

    def _over_sites(self, at_site):
        if self.study["objective"]["over_sites"] == "worst":
            return at_site.min(axis=-1)
        w = np.array([s["weight"] for s in self.study["sites"]])
        return (at_site * w).sum(axis=-1) / w.sum()

    # ---- what a sweep needs ----

    def air_kits(self, first=0, last=None):
        """The combinations of the space that decide the flow of air, in the order of the sweep."""
        d, study = self.study["drive"], self.study
        choices = [(i, e) for i, c in enumerate(study["coolers"]) for e in c.get("effectiveness", [0.0])]
        crank, pulley = np.array(d["crank_pulleys"]), np.array(d["blower_pulleys"])
        shape = (len(study["blowers"]), len(crank), len(pulley), len(choices))
        size = int(np.prod(shape))
        index = np.arange(first, size if last is None else min(last, size))
        b, c, p, k = np.unravel_index(index, shape)
        return dict(blower=b, crank_diameter=crank[c], blower_diameter=pulley[p],
                    ratio=self._ratio(crank[c], pulley[p]),
                    cooler=np.array([x for x, _ in choices])[k],
                    effectiveness=np.array([x for _, x in choices])[k])

    def burn_choices(self):
        """Arrays fuel, lambda, ignition_margin in the order of the sweep."""
        fuels = np.arange(len(self.study["fuels"])) if self.one_fuel is None else [self.one_fuel]
        fuel, lam, margin = np.meshgrid(fuels, self.study["lambdas"], self.study["ignition_margins"], indexing="ij")
        return {"fuel": fuel.ravel(), "lambda": lam.ravel(), "ignition_margin": margin.ravel()}

    def supply_choices(self):
        """Arrays injector, injector_flow, pump, ribs, wrap in the order of the sweep."""
        sizes = [(i, q) for i, p in enumerate(self.study["injectors"]) for q in p["rated_flow"]]
        pumps, (ribs, wraps) = len(self.study["pumps"]), self.belt_choices()
        size, pump, rib, wrap = (a.ravel() for a in np.meshgrid(
            np.arange(len(sizes)), np.arange(pumps), ribs, wraps, indexing="ij"))
        return {"injector": np.array([i for i, _ in sizes])[size],
                "injector_flow": np.array([q for _, q in sizes])[size], "pump": pump, "ribs": rib, "wrap": wrap}

    def belt_choices(self):
        """Numbers of ribs and wraps; one of nothing without a belt."""
        belt = self.study["belt"]
        return (belt["ribs"], belt["wraps"]) if belt["given"] else ([0.0], [0.0])

    def fuel_choices(self):
        """All that the flow of air does not depend on: each burn with each supply."""
        burn, supply = self.burn_choices(), self.supply_choices()
        n, m = len(burn["fuel"]), len(supply["pump"])
        return {**{k: np.repeat(v, m) for k, v in burn.items()}, **{k: np.tile(v, n) for k, v in supply.items()}}

    def _burn_power(self, i, j, s, shaft, burn, worst):
        """Brake power and fuel flow [combination, burn choice] at a site and speed; raises `worst`. NaN without a
        cycle."""
        e, n, site = self.engine, self.speeds[j], self.sites[i]
        half = e["displacement"] * n / 2
        dry = s["me"] / (1 + s["w"])
        _, per_air, heat, heating = self.heat_factor(j, burn["fuel"], burn["lambda"])
        fuel_flow = dry[:, None] * per_air
        pump = e["pumping_share"] * (s["pm"] - site.exhaust_pressure(s["me"], s["tm"])) * half
        rest = (pump - shaft / self.study["drive"]["efficiency"])[:, None]
        if self.by_cycle:
            eta, p_max = np.empty(fuel_flow.shape), np.empty(fuel_flow.shape)
            for (first, f, l), table in self.tables.items():
                if first != self.first_alike[i]:
                    continue
                begun = table.begin(j, s["pm"], s["tm"])
                for b in np.flatnonzero((burn["fuel"] == f) & (burn["lambda"] == self.study["lambdas"][l])):
                    found = table.at(begun, burn["ignition_margin"][b], self.peak_most)
                    eta[:, b], p_max[:, b] = found["cycle_efficiency"], found["peak_pressure"]
                    found["phasing_retard"] = found["phasing_retard"] + self.retard_less[j]
                    for name in ("phasing_retard", "peak_pressure", "exhaust_temperature"):
                        np.fmax(worst[name][:, b], found[name], out=worst[name][:, b])
            p = fuel_flow * heating * self.work_factor * self.tie[j] * eta
        elif e["efficiency"] == "free_air":
            p = np.repeat((self.work_factor * e["power_per_free_air"] * dry
                           * (1 + site.gas.humidity_ratio) / site.rho)[:, None], len(burn["fuel"]), 1)
        else:
            p = dry[:, None] * heat
        if e["friction"] == "chen_flynn":
            p = p + rest - self.friction(p_max if self.by_cycle
                                         else (e["peak_pressure_ratio"] * s["pm"])[:, None], n)
        else:
            eta_m = 1 - self.friction_factor * (1 - e["mechanical_efficiency"])
            p = eta_m * p + (rest - (1 - eta_m) * pump[:, None])
        np.fmax(worst["torque"], p / (2 * np.pi * n), out=worst["torque"])
        np.fmax(worst["fuel_flow"], fuel_flow, out=worst["fuel_flow"])
        return p, fuel_flow

    def _supply_limits(self, i, j, pm, fuel_flow, choices, worst):
        """Raises duty and share of pump flow [combination, burn, supply]."""
        kits = {k: v for k, v in choices.items() if k in ("fuel", "injector", "injector_flow", "pump")}
        shape = worst["pump_flow"].shape
        flow = np.repeat(fuel_flow, shape[1] // fuel_flow.shape[1], axis=1)
        full = {k: np.broadcast_to(v, shape) for k, v in kits.items()}
        pm = np.broadcast_to(pm[:, None], shape)
        for name, value in (("injector_duty", self.injector_duty(self.sites[i], j, full, flow, pm)),
                            ("pump_flow", self.pump_share(self.sites[i], full, flow, pm))):
            np.fmax(worst[name], value, out=worst[name])

    def sweep(self, first=0, last=None):
        """Objective, broken limits, outcome [air combination, fuel choice] of a slice of the space, and no_cycle
        likewise: the closed cycle has no answer somewhere and no limit is broken. One match serves all mixtures of a
        fuel, and without the closed cycle all fuels."""
        if not self.by_cycle:
            return self._sweep(first, last)
        parts = []
        for self.one_fuel in range(len(self.study["fuels"])):
            parts.append(self._sweep(first, last))
        self.one_fuel = None
        return {k: np.concatenate([p[k] for p in parts], axis=1) for k in parts[0]}

    def _sweep(self, first, last):
        kits = self.air_kits(first, last)
        burn, choices, study = self.burn_choices(), self.fuel_choices(), self.study
        whole = study["objective"]["kind"] not in ("peak_power", "mean_power", "torque")
        count, burns, both = len(kits["ratio"]), len(burn["fuel"]), len(choices["fuel"])
        supplied = not all(p["unlimited"] for p in study["injectors"] + study["pumps"])
        objective = np.empty((count, both))
        broken, no_cycle = np.zeros((count, both), int), np.zeros((count, both), bool)
        outcome = np.zeros(count, int)
        bounds = self.bounds(kits["blower"])
        supply_bounds = self.bounds(np.zeros(both, int), choices["injector"], choices["pump"])
        offset = 2 * study["drive"]["line_offset"]
        top = self.speeds[-1]
        of_burn = ("torque", "fuel_flow") + (
            ("phasing_retard", "peak_pressure", "exhaust_temperature") if self.by_cycle else ())
        of_supply = ("injector_duty", "pump_flow") if supplied else ()
        fuel = np.full(count, self.one_fuel or 0)
        for which, lanes in self.lanes(*(kits[k] for k in ("blower", "ratio", "cooler", "effectiveness")), fuel):
            k = len(which)
            some = {name: v[which] for name, v in kits.items()}
            shafts = np.empty((k, len(self.sites), len(self.speeds)))
            lowest, coolest = np.full(k, np.inf), np.full(k, -np.inf)  # clearance; hottest coolant
            vacuum = np.full(k, -np.inf)
            peaks = np.empty((len(self.sites), k, burns))
            power = np.empty((len(self.speeds), k, burns))
            at_sites = np.empty((len(self.sites), k, burns))
            most = np.full((9, k), -np.inf)
            most[0] = lanes.n_over_engine * top
            most[1] = np.pi * top * (kits["crank_diameter"][which] + offset)
            most[2] = 2 * self.engine["stroke"] * top
            worst = {name: np.full((k, burns), -np.inf) for name in of_burn}
            worst.update({name: np.full((k, both), -np.inf) for name in of_supply})
            bad = np.zeros(k, int)
            silent = np.zeros((k, burns), bool)
            for i, site in enumerate(self.sites):
                match = Match(self, site, lanes, k)
                for j in range(len(self.speeds)):
                    path, s = match.at(j)
                    fail = self._failures(path, s)
                    bad = np.where((bad == 0) | ((fail > 0) & (fail < bad)), fail, bad)
                    shaft = shafts[:, i, j] = self._shaft(path, s)
                    np.maximum(vacuum, np.where(s["bypass"], -np.inf, site.p - s["p1"]), out=vacuum)
                    if path.l.map is None:
                        np.minimum(lowest, np.where(s["bypass"], 1.0, path.clearance(s["t2"])), out=lowest)
                    if np.isfinite(bounds[LIMITS.index("coolant_temperature"), 0]) and lanes.arrangement != "none":
                        coolant = path.cooled(s["m"], s["t2"])[2]
                        np.fmax(coolest, np.where(s["bypass"], np.nan, coolant), out=coolest)
                    np.maximum(most[3], s["p2"] / s["p1"], out=most[3])
                    np.maximum(most[4], s["p2"] - s["p1"], out=most[4])
                    np.maximum(most[5], s["pm"] - site.p, out=most[5])
                    np.maximum(most[6], s["t2"], out=most[6])
                    np.maximum(most[7], s["tm"], out=most[7])
                    np.maximum(most[8], shaft, out=most[8])
                    power[j], fuel_flow = self._burn_power(i, j, s, shaft, burn, worst)
                    if self.by_cycle:
                        silent |= np.isnan(power[j])
                    if supplied:
                        self._supply_limits(i, j, s["pm"], fuel_flow, choices, worst)
                peaks[i] = power.max(axis=0)
                at_sites[i] = peaks[i] if whole else self._at_site(power)
                self.fallbacks += match.fallbacks
                self.unsolved += match.unsolved
            over = np.zeros(k, int)
            for row in range(9):
                over |= (most[row] > bounds[row, which]).astype(int) << row
            over = over[:, None]
            for name in of_burn:
                row = LIMITS.index(name)
                over = over | (worst[name] > bounds[row, which][:, None]).astype(int) << row
            each = both // burns
            over = np.repeat(np.broadcast_to(over, (k, burns)), each, axis=1)
            for name in of_supply:
                row = LIMITS.index(name)
                over = over | (worst[name] > supply_bounds[row]).astype(int) << row
            peak = np.repeat(self._over_sites(np.moveaxis(peaks, 0, -1)), each, axis=1)
            price, mass = self._of_whole_kits(over, some, choices, bounds[:, which], shafts, peak, dict(
                clearance_left=lowest, coolant_temperature=coolest, bypass_vacuum=vacuum, manifold_pressure=most[5],
                manifold_temperature=most[6]))
            broken[which] = over
            no_cycle[which] = np.repeat(silent, each, axis=1) & (over == 0)
            value = np.repeat(self._over_sites(np.moveaxis(at_sites, 0, -1)), each, axis=1)
            objective[which] = self.of_kit(value, price, mass, most[7][:, None]) if whole else value
            outcome[which] = bad
        return dict(objective=objective, broken=broken, no_cycle=no_cycle, outcome=np.repeat(outcome[:, None], both, axis=1))

    def _of_whole_kits(self, over, air, choices, bounds, shafts, peak, worst):
        """Adds to `over` [combination, fuel choice] the limits of hardware that are broken; returns price and mass."""
        shape, study = over.shape, self.study

        def mark(limit, value):
            row = LIMITS.index(limit)
            bound = bounds[row][:, None]
            with np.errstate(invalid="ignore"):
                beyond = value < bound if limit in AT_LEAST else value > bound
            over[...] |= (beyond & np.isfinite(bound)).astype(int) << row

        for limit, value in worst.items():
            mark(limit, value[:, None])
        full = {k: np.repeat(v, shape[1]) for k, v in air.items()}
        full.update({k: np.tile(v, shape[0]) for k, v in choices.items()})
        mark("rotor_duty", hardware.over_continuous(study, air)[:, None])
        mark("pulley_diameter", np.minimum(air["crank_diameter"], air["blower_diameter"])[:, None])
        if np.isfinite(study["limits"]["cruise_drag"]):
            mark("cruise_drag", self.cruise_drag(air)[:, None])
        ntu = np.repeat(self.ntu(air), shape[1])
        price, mass = (hardware.worth(study, full, ntu, k).reshape(shape) for k in ("price", "mass"))
        mark("price", price)
        mark("mass", mass)
        mark("power", peak)
        if study["belt"]["given"]:
            found = {k: np.empty(shape) for k in OF_BELT + ("bearing_life",)}
            for rib, wrap in np.unique(np.stack([choices["ribs"], choices["wrap"]]), axis=1).T:
                at = (choices["ribs"] == rib) & (choices["wrap"] == wrap)
                one = dict(air, ribs=np.full(shape[0], rib), wrap=np.full(shape[0], wrap))
                belt = hardware.Belt(study, one, shafts)
                for k, v in zip(OF_BELT, (belt.slip, belt.tension, belt.hub)):
                    found[k][:, at] = v.reshape(shape[0], -1).max(axis=1)[:, None]
                found["bearing_life"][:, at] = belt.life(one, shafts)[:, None]
            for k, v in found.items():
                mark(k, v)
        return price, mass

    def _at_site(self, power):
        o, n = self.study["objective"], self.speeds
        if o["kind"] == "peak_power":
            return power.max(axis=0)
        if o["kind"] == "mean_power":
            within = np.flatnonzero((n >= o["from"] * (1 - 1e-12)) & (n <= o["to"] * (1 + 1e-12)))
            x = n[within]
            w = np.zeros(len(n))
            w[within[1:]] += np.diff(x) / 2
            w[within[:-1]] += np.diff(x) / 2
            return np.tensordot(w / (x[-1] - x[0]), power, 1)
        j = np.abs(n - o["at"]).argmin()
        return power[j] / (2 * np.pi * n[j])

    @staticmethod
    def _failures(path, s):
        out = np.zeros(len(s["m"]), int)
        low = np.minimum(np.minimum(s["t1"], s["t2"]), s["tm"])
        high = np.maximum(np.maximum(s["t1"], s["t2"]), s["tm"])
        out[~((low >= T_MIN) & (high <= T_MAX))] = OUT_OF_RANGE
        if path.l.map is not None:
            outside = path.l.map.at(path.l.n + 0.0 * s["p2"], s["t1"], s["p2"] / s["p1"])[2]
            out[outside & ~s["bypass"]] = OUTSIDE_MAP
        return out

    @staticmethod
    def _shaft(path, s):
        l, gas = path.l, path.site.gas
        if l.map is None:
            power = path.gas_power(s["p1"], s["t1"], s["p2"])
        else:  # the heat of the gas tells the power
            power = s["m"] * (gas.h(s["t2"]) - gas.h(s["t1"])) / l.heat_share - l.windage
        return np.where(s["bypass"], 0.0, power) + l.windage + l.bearing
