"""The closed cycle of docs/model.md for many cases at once, in NumPy: what cycle_oracle.py does one by one with
SciPy. Fixed steps of Runge and Kutta in work, wall heat and the knock integral; temperature follows from energy
by Newton's method at every stage. compare.py checks it against the adaptive method of cycle_oracle.py.

    cycles = Cycles(cases)            cases: {"engine.bore": number or array, ...}, names of cycle_oracle.DEFAULTS
    cycles.solve(ca50)                results at a phasing
    cycles.knock_limit(best, limit)   the earliest phasing that knock allows, and the integral's logarithm beyond
"""
import numpy as np

import cycle_oracle

SPLIT = cycle_oracle.SPLIT
STEPS = (40, 24, 10, 20)  # before burning, to 95 % burned, to the end of burning, to exhaust opening


def enthalpy(c, t, log_t, x):
    return c[7] - c[0] * x + c[1] * log_t + t * (
        c[2] + t * (c[3] / 2 + t * (c[4] / 3 + t * (c[5] / 4 + t * (c[6] / 5)))))


def heat_capacity(c, t, x):
    return (c[0] * x + c[1]) * x + (c[2] + t * (c[3] + t * (c[4] + t * (c[5] + t * c[6]))))


def entropy(c, t, log_t, x):
    return c[8] - (c[0] / 2 * x + c[1]) * x + c[2] * log_t + t * (
        c[3] + t * (c[4] / 2 + t * (c[5] / 3 + t * (c[6] / 4))))


class Gases:
    """One gas for each case: rows are the coefficients of cp, the constants of h and s, and R; cold and hot."""

    def __init__(self, cold, hot):
        self.cold, self.hot = cold, hot

    @staticmethod
    def of(gases):
        """From cycle_oracle's."""
        cold, hot = np.empty((10, len(gases))), np.empty((10, len(gases)))
        for rows, name in ((cold, "cold"), (hot, "hot")):
            rows[:7] = np.array([getattr(g, name) for g in gases], float).T
            rows[7] = rows[8] = 0.0
            rows[9] = [g.r for g in gases]
        at, log_at = 298.15, np.log(298.15)
        cold[7], cold[8] = -enthalpy(cold, at, log_at, 1 / at), -entropy(cold, at, log_at, 1 / at)
        at, log_at = SPLIT, np.log(SPLIT)
        for row, f in ((7, enthalpy), (8, entropy)):
            hot[row] = f(cold, at, log_at, 1 / at) - f(hot, at, log_at, 1 / at)
        return Gases(cold, hot)

    def plus(self, share, other):
        """Rows of this gas and `share` of the other's; they add up by mass."""
        return Gases(self.cold + share * other.cold, self.hot + share * other.hot)

    def less(self, other):
        return Gases(self.cold - other.cold, self.hot - other.hot)

    @property
    def r(self):
        return self.cold[9]

    def at(self, t):
        return np.where(t < SPLIT, self.cold, self.hot)

    def h(self, t):
        return enthalpy(self.at(t), t, np.log(t), 1 / t)

    def s(self, t):
        return entropy(self.at(t), t, np.log(t), 1 / t)

    def u(self, t):
        return self.h(t) - self.r * t

    def temperature_of(self, h, t):
        """Newton: h is nearly straight."""
        for _ in range(30):
            c = self.at(t)
            change = (enthalpy(c, t, np.log(t), 1 / t) - h) / heat_capacity(c, t, 1 / t)
            t = np.clip(t - change, 50.0, 9000.0)
            if np.nanmax(np.abs(change), initial=0.0) < 1e-9:
                break
        return t

    def isentropic(self, t, log_ratio):
        target = self.s(t) + self.r * log_ratio
        t = t * np.exp(self.r / heat_capacity(self.at(t), t, 1 / t) * log_ratio)
        for _ in range(30):
            c = self.at(t)
            change = t * (entropy(c, t, np.log(t), 1 / t) - target) / heat_capacity(c, t, 1 / t)
            t = np.clip(t - change, 50.0, 9000.0)
            if np.nanmax(np.abs(change), initial=0.0) < 1e-9:
                break
        return t


class Cycles:
    def __init__(self, cases, steps=STEPS):
        self.steps = steps
        full = {**cycle_oracle.DEFAULTS, **cases}
        count = max(np.size(v) for v in full.values())
        self.count = count
        self.v = {k: np.broadcast_to(np.asarray(v, float), (count,)).copy() for k, v in full.items()}
        self._prepare()

    def take(self, which):
        return Cycles({k: v[which] for k, v in self.v.items()}, self.steps)

    # ---- what is fixed ----

    def _compositions(self):
        names = [k for k in self.v if k.startswith("fuel.")] + ["at.lambda", "at.humidity_ratio"]
        rows = np.stack([self.v[k] for k in names])
        unique, member = np.unique(rows, axis=1, return_inverse=True)
        member = np.ravel(member)
        fresh, burned, share = zip(*(cycle_oracle.compositions(dict(zip(names, map(float, column))))
                                     for column in unique.T))
        pick = lambda g: Gases(g.cold[:, member], g.hot[:, member])
        return pick(Gases.of(fresh)), pick(Gases.of(burned)), np.array(share)[member]

    def _prepare(self):
        v = self.v
        e = {k[7:]: x for k, x in v.items() if k.startswith("engine.")}
        self.e = e
        self.area = np.pi * e["bore"] ** 2 / 4
        self.swept = self.area * e["stroke"]
        self.clearance = self.swept / (e["compression_ratio"] - 1)
        self.n = v["at.speed"]
        self.pe = v["at.exhaust_pressure"]
        self.fresh, self.burned, self.fuel_share = self._compositions()
        self.nominal = e["burn_duration"] * (self.n / e["burn_reference_speed"]) ** e["burn_speed_exponent"]
        self.whole = -np.expm1(-e["wiebe_a"])
        away, d = v["at.lambda"] - v["knock.mixture_peak"], v["knock.mixture_rounding"]
        k = v["knock.octane_weight"]
        self.rated = ((1 - k) * v["fuel.ron"] + k * v["fuel.mon"]
                      + v["knock.mixture_slope"] * (np.hypot(away, d) - d)
                      + v["knock.humidity_slope"] * (v["at.humidity_ratio"] - 0.0053))
        self.ivc_volume = self.volume(e["inlet_closing"])[0]
        self.piston = 2.28 * 2 * e["stroke"] * self.n
        self.woschni = np.log(e["heat_factor"] + 1e-300) + np.log(3.26 / (360 * self.n)) - 0.2 * np.log(e["bore"])
        lam = np.minimum(v["at.lambda"], 1.12)
        given = v["at.combustion_efficiency"]
        self.combustion = np.where(given > 0, given, -1.6082 + 4.6509 * lam - 2.0764 * lam * lam)

    def volume(self, a):
        """Volume, its slope per degree and the piston's way."""
        e = self.e
        x = np.deg2rad(a)
        s, c = np.sin(x), np.cos(x)
        rod = np.sqrt(e["rod_ratio"] ** 2 - s * s)
        way = e["stroke"] / 2 * (1 - c + e["rod_ratio"] - rod)
        slope = self.area * e["stroke"] / 2 * (s + s * c / rod) * (np.pi / 180)
        return self.clearance + self.area * way, slope, way

    def share_at(self, burned):
        e = self.e
        return (-np.log(1 - burned * self.whole) / e["wiebe_a"]) ** (1 / (e["wiebe_m"] + 1))

    def wiebe(self, a, start):
        """Burned share and its slope per degree."""
        e = self.e
        s = np.clip((a - start) / self.duration, 1e-300, 1.0)
        power = np.exp((e["wiebe_m"] + 1) * np.log(s))
        left = np.exp(-e["wiebe_a"] * power)
        x = (1 - left) / self.whole
        slope = e["wiebe_a"] * (e["wiebe_m"] + 1) * power / s * left / (self.whole * self.duration)
        return x, slope

    # ---- state at inlet closing ----

    def charge(self, t_r):
        """What is trapped; pressure follows."""
        v, e = self.v, self.e
        warmed = (v["at.charge_temperature"] + e["charge_heating"]
                  * (e["charge_wall_temperature"] - v["at.charge_temperature"]))
        fresh = self.fresh.h(warmed) - self.fuel_share * e["evaporated_share"] * v["fuel.vaporisation"]
        mass = v["at.air_mass"] / (1 - self.fuel_share)
        kept = self.pe * self.clearance / (self.burned.r * t_r)
        given = v["at.residual_share"]
        x = np.where(given < 0, kept / (kept + mass), given)
        gas = self.fresh.plus(x, self.burned.less(self.fresh))
        t = gas.temperature_of((1 - x) * fresh + x * self.burned.h(t_r), v["at.charge_temperature"].copy())
        m = mass / (1 - x)
        self.unburned, self.t0, self.m, self.x_r, self.t_r = gas, t, m, x, t_r
        self.p0 = m * gas.r * t / self.ivc_volume
        self.change = self.burned.less(gas)
        self.fuel = mass * self.fuel_share
        self.heat = self.combustion * self.fuel * v["fuel.heating_value"]
        self.u0 = m * gas.u(t)
        self.s0 = gas.s(t) - gas.r * np.log(self.p0)
        self.velocity = 3.24e-3 * self.swept / (m * gas.r)
        lost = v["knock.weight_slope"] * (t * (15e5 / self.p0) ** 0.25 - v["fuel.rating_temperature"]) * (
            v["fuel.ron"] - v["fuel.mon"])
        self.octane = self.rated * np.exp(-lost / 100)
        self.log_delay = np.log(v["knock.scale"] * v["at.delay_factor"] * 17.68e-3 * (self.octane / 100) ** 3.402
                                * 360 * self.n) + 1.7 * np.log(101325.0)

    def flame(self, ca50):
        """Laminar velocity where half has burned, as without fire, over the root of the kinematic viscosity there."""
        v, e = self.v, self.e
        phi, y, z = 1 / v["at.lambda"], v["fuel.hydrogen_carbon"], v["fuel.oxygen_carbon"]
        c, h, o = cycle_oracle.C, cycle_oracle.H, cycle_oracle.O
        alcohol = np.minimum(1.0, z * o / (c + y * h + z * o) / (o / (c + 4 * h + o)))
        law = lambda most, bend, top: np.maximum(most + bend * (phi - top) ** 2, 0.1 * most)
        still = (1 - alcohol) * law(0.305, -0.549, 1.21) + alcohol * law(0.369, -1.405, 1.11)
        ratio, k = self.ivc_volume / self.volume(ca50)[0], e["motored_exponent"]
        return (still * (self.t0 * ratio ** (k - 1) / 298) ** (2.18 - 0.8 * (phi - 1))
                * (self.p0 * ratio**k / 101325) ** (-0.16 + 0.22 * (phi - 1))
                * (1 - 2.06 * np.minimum(self.x_r, 0.3) ** 0.77)
                / np.sqrt((self.t0 * ratio ** (k - 1) / 298) ** 1.7 / (self.p0 * ratio ** k / 101325)))

    # ---- integration ----

    def _state(self, a, work, wall, burning, rounds):
        """Pressure, temperature, slopes at an angle. `burning`: -1 before, 0 during, 1 after."""
        volume, volume_slope, way = self.volume(a)
        if burning < 0:
            x, x_slope, gas, r = 0.0, 0.0, self.unburned, self.unburned.r
        elif burning > 0:
            x, x_slope, gas, r = 1.0, 0.0, self.burned, self.burned.r
        else:
            x, x_slope = self.wiebe(a, self.start)
            gas = self.unburned.plus(x, self.change)
            r = gas.r
        energy = (self.u0 + self.heat * x - work - wall) / self.m
        t = self.t_last
        for _ in range(rounds):
            c, inverse, log_t = gas.at(t), 1 / t, np.log(t)
            cv = heat_capacity(c, t, inverse) - r
            t = t - (enthalpy(c, t, log_t, inverse) - r * t - energy) / cv
            t = np.minimum(np.maximum(t, 100.0), 9000.0)
        self.t_last = t
        log_t = np.log(t)
        p = self.m * r * t / volume
        work_slope = p * volume_slope
        wall_slope = self._wall_heat(volume, way, p, t, log_t)
        return p, t, x_slope, cv, r, volume, volume_slope, work_slope, wall_slope

    def _wall_heat(self, volume, way, p, t, log_t):
        e = self.e
        w = self.piston
        if self.p_s is not None:
            motored = self.p_s * np.exp(e["motored_exponent"] * np.log(self.v_s / volume))
            w = np.maximum(w + self.velocity * (p - motored), 0.1 * w)
        h = np.exp(self.woschni + 0.8 * np.log(p * 1e-3 * w) - 0.55 * log_t)
        return h * (self.area * (e["chamber_area"] * (t - e["chamber_temperature"])
                                 + e["crown_area"] * (t - e["crown_temperature"]))
                    + np.pi * e["bore"] * way * (t - e["bore_temperature"]))

    def _knock_rate(self, p):
        log_p, gas = np.log(p), self.unburned
        target = self.s0 + gas.r * log_p
        t = self.t_end_gas
        for _ in range(2):
            c, inverse = gas.at(t), 1 / t
            t = t - t * (entropy(c, t, np.log(t), inverse) - target) / heat_capacity(c, t, inverse)
        self.t_end_gas = t
        return np.exp(1.7 * log_p - 3800 / t - self.log_delay)

    def _note_peak(self, h, before, after):
        """Top of the cubic through pressures and slopes at both ends of a step."""
        (p0, d0), (p1, d1) = before, after
        d0, d1 = d0 * h, d1 * h
        top = np.maximum(p0, p1)
        rise = p1 - p0
        a, b = 3 * (d0 + d1 - 2 * rise), 2 * (3 * rise - 2 * d0 - d1)
        with np.errstate(all="ignore"):
            s = -2 * d0 / (b - np.sqrt(b * b - 4 * a * d0))
            inner = p0 + s * (d0 + s * (b / 2 + s * a / 3))
            top = np.where((d0 > 0) & (d1 < 0) & (s > 0) & (s < 1), np.maximum(inner, top), top)
        self.peak = np.fmax(self.peak, top)

    def _pressure_slope(self, state, burning):
        p, t, x_slope, cv, r, volume, volume_slope, work_slope, wall_slope = state
        heat = -work_slope - wall_slope
        r_slope = 0.0
        if burning == 0:
            c = self.change.at(t)
            lift = enthalpy(c, t, np.log(t), 1 / t) - c[9] * t
            heat = heat + x_slope * (self.heat - self.m * lift)
            r_slope = self.change.r * x_slope / r
        return p * (heat / (self.m * cv) / t + r_slope - volume_slope / volume)

    def _stretch(self, low, high, y, count, burning, watched):
        h = np.maximum(high - low, 0.0) / count
        work, wall, integral = y
        last = None
        for i in range(count + 1):
            a = low + i * h
            s1 = self._state(a, work, wall, burning, 4 if i == 0 else 2)
            if last is not None:
                self._note_peak(h, last, (s1[0], self._pressure_slope(s1, burning)))
            last = s1[0], self._pressure_slope(s1, burning)
            if i == count:
                break
            k1 = s1[7], s1[8], self._knock_rate(s1[0]) if watched else 0.0
            ks = [k1]
            for part in (0.5, 0.5, 1.0):
                k = ks[-1]
                s = self._state(a + part * h, work + part * h * k[0], wall + part * h * k[1], burning, 2)
                ks.append((s[7], s[8], self._knock_rate(s[0]) if watched else 0.0))
            work, wall, integral = (q + h / 6 * (k1[j] + 2 * ks[1][j] + 2 * ks[2][j] + ks[3][j])
                                    for j, q in enumerate((work, wall, integral)))
        self.p_end, self.t_end = s1[0], s1[1]
        return work, wall, integral

    def run(self, ca50, t_r):
        """One integration with residual gas of t_r; returns the temperature that gas would have."""
        e = self.e
        self.charge(t_r)
        self.burn_velocity, reference = self.flame(ca50), self.v["at.burn_reference"]
        with np.errstate(all="ignore"):
            self.duration = self.nominal * np.where(reference > 0, (self.burn_velocity / reference) ** (-2 / 3), 1.0)
        self.start = ca50 - self.share_at(0.5) * self.duration
        self.p_s, self.t_last, self.t_end_gas = None, self.t0, self.t0
        self.peak = self.p0.copy()
        opening = e["exhaust_opening"]
        watched = np.minimum(self.start + self.share_at(0.95) * self.duration, opening)
        ends = np.minimum(self.start + self.duration, opening)
        zero = np.zeros(self.count)
        y = self._stretch(e["inlet_closing"], self.start, (zero, zero, zero), self.steps[0], -1, True)
        self.p_s, self.v_s = self.p_end, self.volume(self.start)[0]
        y = self._stretch(self.start, watched, y, self.steps[1], 0, True)
        y = self._stretch(watched, ends, y, self.steps[2], 0, False)
        whole = self.start + self.duration <= opening
        p_end, t_end, before = self.p_end, self.t_end, y
        y = self._stretch(ends, opening, y, self.steps[3], 1, False)
        self.x_end = np.where(whole, 1.0, self.wiebe(opening, self.start)[0])
        self.p_end, self.t_end = np.where(whole, self.p_end, p_end), np.where(whole, self.t_end, t_end)
        self.work, self.wall, self.integral = (np.where(whole, a, b) for a, b in zip(y, before))
        self.last = self.unburned.plus(self.x_end, self.change)
        return self.last.isentropic(self.t_end, np.log(self.pe / self.p_end))

    def solve(self, ca50, guess=1150.0):
        """Residual temperature by secants, then results."""
        ca50 = np.broadcast_to(np.asarray(ca50, float), (self.count,))
        given = self.v["at.residual_temperature"]
        t = np.where(given > 0, given, guess)
        t0 = g0 = None
        with np.errstate(all="ignore"):
            for _ in range(12):
                gap = np.where(given > 0, 0.0, self.run(ca50, t) - t)
                if not np.nanmax(np.abs(gap), initial=0.0) > 1e-5:
                    break
                step = gap if t0 is None else np.where(gap == g0, 0.0, -gap * (t - t0) / (gap - g0))
                step = np.where(np.isfinite(step), step, gap)
                t0, g0 = t, gap
                t = np.clip(t + step, 300.0, 3000.0)
            return self.results(t)

    def results(self, t_r):
        v, e = self.v, self.e
        bottom = self.clearance + self.swept
        evo = self.volume(e["exhaust_opening"])[0]
        blow = (self.pe + e["blowdown_share"] * (self.p_end - self.pe)) * (bottom - evo)
        gross = self.work + self.p0 * (self.ivc_volume - bottom) + blow
        stays = self.last.isentropic(self.t_end, np.log(self.pe / self.p_end))
        kept = self.pe * self.clearance / (self.last.r * stays)
        h = (self.m * self.last.u(self.t_end) - kept * self.last.u(stays) - blow
             + self.pe * self.swept) / (self.m - kept)
        bad = (self.x_r >= 0.5) | ~(self.t0 > 200) | (self.t0 >= SPLIT) | ~np.isfinite(gross)
        out = {
            "gross_work": gross, "gross_efficiency": gross / (self.fuel * v["fuel.heating_value"]),
            "peak_pressure": self.peak, "knock_integral": self.integral,
            "exhaust_temperature": self.last.temperature_of(h, self.t_end), "residual_share": self.x_r,
            "residual_temperature": t_r, "wall_heat": self.wall, "evo_temperature": self.t_end,
        }
        return {k: np.where(bad, np.nan, x) for k, x in out.items()}

    # ---- phasing ----

    def gap(self, ca50, guess):
        """Logarithm of the integral over what is allowed, and the residual temperature."""
        r = self.solve(ca50, guess)
        with np.errstate(all="ignore"):
            return np.log(np.maximum(r["knock_integral"], 1e-200) / (1 - self.v["knock.margin"])), r

    def knock_limit(self, lowest, latest):
        """Earliest phasing in lowest..latest without knock (latest where there is none). Also how far beyond the
        latest the tangent of the integral's logarithm over the last degree would put it; 0 elsewhere."""
        count = self.count
        lowest, latest = (np.broadcast_to(np.asarray(x, float), (count,)).copy() for x in (lowest, latest))
        ca50, beyond = lowest.copy(), np.zeros(count)
        g_low, r = self.gap(lowest, 1150.0)
        guess_low = np.where(np.isnan(r["residual_temperature"]), 1150.0, r["residual_temperature"])
        knocks = np.flatnonzero(g_low > 0)
        if len(knocks) == 0:
            return ca50, beyond
        part = self.take(knocks)
        g_high, r = part.gap(latest[knocks], guess_low[knocks] + 200.0)
        guess_high = r["residual_temperature"]
        over = g_high > 0
        ca50[knocks[over]] = latest[knocks[over]]
        if over.any():
            late = part.take(over)
            g_before, _ = late.gap(latest[knocks[over]] - 1.0, guess_high[over])
            slope = np.maximum(g_before - g_high[over], 0.004)
            beyond[knocks[over]] = np.minimum(g_high[over] / slope, 400.0)
        inside = np.flatnonzero(g_high <= 0)
        if len(inside):
            ca50[knocks[inside]] = part.take(inside)._root(
                lowest[knocks[inside]], latest[knocks[inside]], g_low[knocks[inside]], g_high[inside],
                guess_low[knocks[inside]], guess_high[inside])
        ca50[np.isnan(g_low)] = np.nan
        return ca50, beyond

    def pressure_limit(self, earliest, latest, most):
        """Earliest phasing in earliest..latest with a peak pressure of at most `most`, latest where there is none, by
        halving: the peak only falls."""
        found = np.array(earliest, float)
        r = self.solve(found)
        over = np.flatnonzero(r["peak_pressure"] > most)
        if len(over) == 0:
            return found
        part, guess = self.take(over), r["residual_temperature"][over]
        lo, hi = found[over], np.full(len(over), float(latest))
        for _ in range(25):
            middle = (lo + hi) / 2
            r = part.solve(middle, guess)
            guess = r["residual_temperature"]
            above = r["peak_pressure"] > most
            lo, hi = np.where(above, middle, lo), np.where(above, hi, middle)
        found[over] = hi
        return found

    def _root(self, lo, hi, g_lo, g_hi, t_lo, t_hi):
        """By secants held within brackets (Illinois): the logarithm is nearly straight."""
        x = lo
        f_lo, f_hi = g_lo.copy(), g_hi.copy()
        left, right = lo.copy(), hi.copy()
        side = np.zeros(self.count, int)
        active = np.arange(self.count)
        found = lo.copy()
        cycles = self
        for _ in range(40):
            x = right - f_hi * (right - left) / (f_hi - f_lo)
            share = (x - lo[active]) / (hi[active] - lo[active])
            f, _ = cycles.gap(x, t_lo[active] + share * (t_hi - t_lo)[active])
            found[active] = x
            above = f > 0
            f_hi = np.where(above, np.where(side == 1, f_hi / 2, f_hi), f)
            f_lo = np.where(above, f, np.where(side == -1, f_lo / 2, f_lo))
            left, right = np.where(above, x, left), np.where(above, right, x)
            side = np.where(above, 1, -1)
            go = np.abs(f) > 1e-7
            if not go.any():
                break
            if not go.all():
                active, left, right = active[go], left[go], right[go]
                f_lo, f_hi, side = f_lo[go], f_hi[go], side[go]
                cycles = cycles.take(go)
        return found
