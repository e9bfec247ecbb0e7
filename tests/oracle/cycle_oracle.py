"""Independent twin of the closed cycle, written from docs/model.md alone: SciPy integrates the first law with an
adaptive method of eighth order, temperature follows from energy by root finding. Compared with the library
over random cases.

    cycle_oracle.py CYCLE_DUMP                       compare; CASES=n in the environment for another number
    cycle_oracle.py --tables docs/model.md DUMP      the page has the tables that the program writes;
                                                     with CYCLE_TABLES_WRITE=1 they are written into it
"""
import math
import os
import subprocess
import sys

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

R = 8.314510
SPLIT = 1000.0
POWERS = np.arange(-2, 5)

NASA = {
    "N2": ([2.210371497e4, -3.818461820e2, 6.082738360, -8.530914410e-3, 1.384646189e-5,
            -9.625793620e-9, 2.519705809e-12],
           [5.877124060e5, -2.239249073e3, 6.066949220, -6.139685500e-4, 1.491806679e-7,
            -1.923105485e-11, 1.061954386e-15]),
    "O2": ([-3.425563420e4, 4.847000970e2, 1.119010961, 4.293889240e-3, -6.836300520e-7,
            -2.023372700e-9, 1.039040018e-12],
           [-1.037939022e6, 2.344830282e3, 1.819732036, 1.267847582e-3, -2.188067988e-7,
            2.053719572e-11, -8.193467050e-16]),
    "Ar": ([0, 0, 2.5, 0, 0, 0, 0],
           [2.010538475e1, -5.992661070e-2, 2.500069401, -3.992141160e-8, 1.205272140e-11,
            -1.819015576e-15, 1.078576636e-19]),
    "CO2": ([4.943650540e4, -6.264116010e2, 5.301725240, 2.503813816e-3, -2.127308728e-7,
             -7.689988780e-10, 2.849677801e-13],
            [1.176962419e5, -1.788791477e3, 8.291523190, -9.223156780e-5, 4.863676880e-9,
             -1.891053312e-12, 6.330036590e-16]),
    "H2O": ([-3.947960830e4, 5.755731020e2, 9.317826530e-1, 7.222712860e-3, -7.342557370e-6,
             4.955043490e-9, -1.336933246e-12],
            [1.034972096e6, -2.412698562e3, 4.646110780, 2.291998307e-3, -6.836830480e-7,
             9.426468930e-11, -4.822380530e-15]),
    "CO": ([1.489045326e4, -2.922285939e2, 5.724527170, -8.176235030e-3, 1.456903469e-5,
            -1.087746302e-8, 3.027941827e-12],
           [4.619197250e5, -1.944704863e3, 5.916714180, -5.664282830e-4, 1.398814540e-7,
            -1.787680361e-11, 9.620935570e-16]),
    "H2": ([4.078323210e4, -8.009186040e2, 8.214702010, -1.269714457e-2, 1.753605076e-5,
            -1.202860270e-8, 3.368093490e-12],
           [5.608128010e5, -8.371504740e2, 2.975364532, 1.252249124e-3, -3.740716190e-7,
            5.936625200e-11, -3.606994100e-15]),
}
GASOLINE = np.array([0, 0, 4.0652, 6.0977e-2, -1.8801e-5, 0, 0])
METHANOL = np.array([0, 0, 1.779819, 1.262503e-2, -3.624890e-6, 0, 0])
C, H, O = 0.0120107, 0.00100794, 0.0159994
WATER = 0.01801528
AIR = 0.0289651159
AIR_PARTS = {"N2": 0.78084, "O2": 0.209476, "Ar": 0.009365, "CO2": 0.000319}


class Gas:
    """Heat capacity per kg in two ranges, with its integrals."""

    def __init__(self, gas_constant, cold, hot):
        self.r, self.cold, self.hot = gas_constant, np.asarray(cold), np.asarray(hot)

    def __add__(self, other):
        return Gas(self.r + other.r, self.cold + other.cold, self.hot + other.hot)

    def __rmul__(self, k):
        return Gas(k * self.r, k * self.cold, k * self.hot)

    def cp(self, t):
        return float(np.dot(self.cold if t < SPLIT else self.hot, t ** POWERS.astype(float)))

    @staticmethod
    def _integral(a, t, lift):
        """int T^lift sum a_i T^p dT"""
        total = 0.0
        for coefficient, power in zip(a, POWERS):
            e = power + lift + 1
            total += coefficient * (math.log(t) if e == 0 else t**e / e)
        return total

    def _between(self, t, lift):
        start = self._integral(self.cold, 298.15, lift)
        if t < SPLIT:
            return self._integral(self.cold, t, lift) - start
        return (self._integral(self.cold, SPLIT, lift) - start
                + self._integral(self.hot, t, lift) - self._integral(self.hot, SPLIT, lift))

    def h(self, t):
        return self._between(t, 0)

    def s(self, t):
        return self._between(t, -1)

    def u(self, t):
        return self.h(t) - self.r * t


def gas_of(moles, mass, fuel_mass, case):
    """Per kg of a mixture of species (mol) and fuel vapour (kg) that weighs `mass`."""
    r = R * sum(moles.values()) / mass
    cold = sum(R * n / mass * np.array(NASA[k][0]) for k, n in moles.items())
    hot = sum(R * n / mass * np.array(NASA[k][1]) for k, n in moles.items())
    if fuel_mass:
        y, z = case["fuel.hydrogen_carbon"], case["fuel.oxygen_carbon"]
        methanol = min(1.0, z * O / (C + y * H + z * O) / (O / (C + 4 * H + O)))
        vapour = R * ((1 - methanol) * GASOLINE / (7 * C + 17 * H)
                      + methanol * METHANOL / (C + 4 * H + O))
        share = fuel_mass / mass
        cold = cold + share * vapour
        hot = hot.copy()
        hot[2] += share * float(np.dot(vapour, SPLIT ** POWERS.astype(float)))
        r += share * R / case["fuel.molar_mass"]
    return Gas(r, cold, hot)


def compositions(case):
    """Fresh and burned gas, and fuel per kg of fresh charge."""
    lam, afr, w = case["at.lambda"], case["fuel.stoichiometric"], case["at.humidity_ratio"]
    y, z = case["fuel.hydrogen_carbon"], case["fuel.oxygen_carbon"]
    moles = {k: v / AIR for k, v in AIR_PARTS.items()}
    moles["H2O"] = w / WATER
    fuel = 1 / (lam * afr)
    mass = 1 + w + fuel
    fresh = gas_of(moles, mass, fuel, case)
    oxygen, carbonic = moles["O2"], moles["CO2"]
    n_f = oxygen / (lam * (1 + y / 4 - z / 2))
    c, h = carbonic + n_f, w / WATER + y * n_f / 2
    out = dict(moles)
    if lam >= 1:
        out.update(O2=oxygen * (1 - 1 / lam), CO2=c, H2O=h)
    else:
        d = 2 * (oxygen + carbonic) + w / WATER + z * n_f
        x = max(np.roots([2.5, 3.5 * (h - d + c) + d, -(d - c) * c]).real)
        out.update(O2=0.0, CO2=x, CO=c - x, H2O=d - c - x, H2=h - d + c + x)
    return fresh, gas_of(out, mass, 0.0, case), fuel / mass


class Cycle:
    def __init__(self, case):
        self.case = case
        e = {k[7:]: v for k, v in case.items() if k.startswith("engine.")}
        self.e = e
        self.area = math.pi * e["bore"] ** 2 / 4
        self.swept = self.area * e["stroke"]
        self.clearance = self.swept / (e["compression_ratio"] - 1)
        self.n = case["at.speed"]
        self.fresh, self.burned, self.fuel_share = compositions(case)
        self.nominal = e["burn_duration"] * (self.n / e["burn_reference_speed"]) ** e["burn_speed_exponent"]
        self.whole = 1 - math.exp(-e["wiebe_a"])
        self.set_octane()

    def set_octane(self):
        c = self.case
        k = c["knock.octane_weight"]
        away = c["at.lambda"] - c["knock.mixture_peak"]
        d = c["knock.mixture_rounding"]
        self.rated = ((1 - k) * c["fuel.ron"] + k * c["fuel.mon"]
                      + c["knock.mixture_slope"] * (math.hypot(away, d) - d)
                      + c["knock.humidity_slope"] * (c["at.humidity_ratio"] - 0.0053))

    def way(self, a):
        x, l = math.radians(a), self.e["rod_ratio"]
        return self.e["stroke"] / 2 * (1 - math.cos(x) + l - math.sqrt(l * l - math.sin(x) ** 2))

    def volume(self, a):
        return self.clearance + self.area * self.way(a)

    def volume_slope(self, a):
        x, l = math.radians(a), self.e["rod_ratio"]
        s, c = math.sin(x), math.cos(x)
        return self.area * self.e["stroke"] / 2 * (s + s * c / math.sqrt(l * l - s * s)) * math.pi / 180

    def share_at(self, burned):
        return (-math.log(1 - burned * self.whole) / self.e["wiebe_a"]) ** (1 / (self.e["wiebe_m"] + 1))

    def wiebe(self, a):
        s = min(max((a - self.start) / self.duration, 0.0), 1.0)
        return (1 - math.exp(-self.e["wiebe_a"] * s ** (self.e["wiebe_m"] + 1))) / self.whole

    def charge(self, t_r):
        """What is trapped: the air drawn in, its fuel and the residual gas; pressure follows."""
        c, e = self.case, self.e
        pe = c["at.exhaust_pressure"]
        fresh_mass = c["at.air_mass"] / (1 - self.fuel_share)
        warmed = (c["at.charge_temperature"] + e["charge_heating"]
                  * (e["charge_wall_temperature"] - c["at.charge_temperature"]))
        fresh = self.fresh.h(warmed) - self.fuel_share * e["evaporated_share"] * c["fuel.vaporisation"]
        kept = pe * self.clearance / (self.burned.r * t_r)
        x = c["at.residual_share"] if c["at.residual_share"] >= 0 else kept / (kept + fresh_mass)
        self.x_r, self.t_r, self.m = x, t_r, fresh_mass / (1 - x)
        self.unburned = (1 - x) * self.fresh + x * self.burned
        h = (1 - x) * fresh + x * self.burned.h(t_r)
        self.t0 = brentq(lambda q: self.unburned.h(q) - h, 120.0, 2500.0, xtol=1e-11, rtol=1e-14)
        self.p0 = self.m * self.unburned.r * self.t0 / self.volume(e["inlet_closing"])
        self.fuel = fresh_mass * self.fuel_share
        eta = c["at.combustion_efficiency"]
        if eta == 0:
            l = min(c["at.lambda"], 1.12)
            eta = -1.6082 + 4.6509 * l - 2.0764 * l * l
        self.heat = eta * self.fuel * c["fuel.heating_value"]
        self.u0 = self.m * self.unburned.u(self.t0)
        self.t_last = self.t0
        compressed = self.t0 * (15e5 / self.p0) ** 0.25
        lost = c["knock.weight_slope"] * (compressed - c["fuel.rating_temperature"]) * (c["fuel.ron"] - c["fuel.mon"])
        self.octane = self.rated * math.exp(-lost / 100)

    def flame(self, ca50):
        """Laminar velocity where half has burned, as without fire, over the root of the kinematic viscosity there."""
        c, e = self.case, self.e
        phi = 1 / c["at.lambda"]
        y, z = c["fuel.hydrogen_carbon"], c["fuel.oxygen_carbon"]
        alcohol = min(1.0, z * O / (C + y * H + z * O) / (O / (C + 4 * H + O)))

        def law(most, bend, top):
            return max(most + bend * (phi - top) ** 2, 0.1 * most)

        still = (1 - alcohol) * law(0.305, -0.549, 1.21) + alcohol * law(0.369, -1.405, 1.11)
        ratio = self.volume(e["inlet_closing"]) / self.volume(ca50)
        t, p = self.t0 * ratio ** (e["motored_exponent"] - 1), self.p0 * ratio ** e["motored_exponent"]
        return (still * (t / 298) ** (2.18 - 0.8 * (phi - 1)) * (p / 101325) ** (-0.16 + 0.22 * (phi - 1))
                * (1 - 2.06 * min(self.x_r, 0.3) ** 0.77) / np.sqrt((t / 298) ** 1.7 / (p / 101325)))

    def temperature(self, x, energy):
        """Newton from the last answer."""
        gas = (1 - x) * self.unburned + x * self.burned
        t = self.t_last
        for _ in range(40):
            change = (self.m * gas.u(t) - energy) / (self.m * (gas.cp(t) - gas.r))
            t -= change
            if abs(change) < 1e-11 * t:
                break
        self.t_last = t
        return t, self.m * gas.r * t

    def heat_slope(self, a, t, p):
        e = self.e
        w = first = 2.28 * 2 * e["stroke"] * self.n
        if self.p_s is not None:
            motored = self.p_s * (self.volume(self.start) / self.volume(a)) ** e["motored_exponent"]
            w += 3.24e-3 * self.swept / (self.m * self.unburned.r) * (p - motored)
        w = max(w, 0.1 * first)
        h = e["heat_factor"] * 3.26 * e["bore"] ** -0.2 * (p / 1e3) ** 0.8 * t ** -0.55 * w ** 0.8
        return h * (self.area * (e["chamber_area"] * (t - e["chamber_temperature"])
                                 + e["crown_area"] * (t - e["crown_temperature"]))
                    + math.pi * e["bore"] * self.way(a) * (t - e["bore_temperature"])) / (360 * self.n)

    def end_gas(self, p):
        target = self.unburned.s(self.t0) + self.unburned.r * math.log(p / self.p0)
        t = self.t_end_gas
        for _ in range(40):
            change = t * (self.unburned.s(t) - target) / self.unburned.cp(t)
            t -= change
            if abs(change) < 1e-11 * t:
                break
        self.t_end_gas = t
        return t

    def delay(self, p, t):
        return (self.case["knock.scale"] * self.case["at.delay_factor"] * 17.68e-3 * (self.octane / 100) ** 3.402
                * (p / 101325) ** -1.7 * math.exp(3800 / t))

    def slopes(self, a, y):
        work, heat, _ = y
        x = self.wiebe(a)
        t, pv = self.temperature(x, self.u0 + self.heat * x - work - heat)
        p = pv / self.volume(a)
        rate = 1 / (self.delay(p, self.end_gas(p)) * 360 * self.n) if self.watched else 0.0
        return [p * self.volume_slope(a), self.heat_slope(a, t, p), rate]

    def run(self, ca50, t_r, angles=(), watch=True):
        """Samples (angle, pressure, temperature, work, wall heat, integral) at the angles and the corners."""
        self.charge(t_r)
        self.velocity, reference = self.flame(ca50), self.case["at.burn_reference"]
        self.duration = self.nominal * ((self.velocity / reference) ** (-2 / 3) if reference else 1)
        self.start = ca50 - self.share_at(0.5) * self.duration
        self.p_s, self.t_end_gas, self.watched = None, self.t0, True
        opening = self.e["exhaust_opening"]
        corners = [self.e["inlet_closing"], self.start,
                   min(self.start + self.share_at(0.95) * self.duration, opening),
                   min(self.start + self.duration, opening), opening]
        y, samples = np.zeros(3), []
        for k in range(4):
            low, high = corners[k], corners[k + 1]
            self.watched = watch and k < 2
            if high <= low:
                continue
            wanted = sorted({high, *[a for a in angles if low < a < high]})
            found = solve_ivp(self.slopes, (low, high), y, method="DOP853", rtol=1e-10,
                              atol=[1e-9, 1e-9, 1e-13], t_eval=wanted, max_step=20.0)
            assert found.success
            for a, work, heat, integral in zip(found.t, *found.y):
                samples.append((a, *self.state(a, work, heat), work, heat, integral))
            y = found.y[:, -1]
            if k == 0:
                self.p_s = samples[-1][1]
        self.end = samples[-1]
        return samples

    def state(self, a, work, heat):
        t, pv = self.temperature(self.wiebe(a), self.u0 + self.heat * self.wiebe(a) - work - heat)
        return pv / self.volume(a), t

    def expanded(self):
        """Temperature at exhaust opening taken down to exhaust pressure."""
        a, p, t = self.end[:3]
        x = self.wiebe(a)
        self.last = (1 - x) * self.unburned + x * self.burned
        target = self.last.s(t) + self.last.r * math.log(self.case["at.exhaust_pressure"] / p)
        return brentq(lambda q: self.last.s(q) - target, 200.0, 5000.0, xtol=1e-10, rtol=1e-14)

    def solve(self, ca50, angles):
        t_r = self.case["at.residual_temperature"] or 1150.0
        if self.case["at.residual_temperature"] == 0:
            points = []
            for _ in range(12):
                self.run(ca50, t_r, watch=False)
                gap = self.expanded() - t_r
                points.append((t_r, gap))
                if abs(gap) < 1e-5:
                    break
                if len(points) == 1:
                    t_r += gap
                else:
                    (t0, g0), (t1, g1) = points[-2:]
                    t_r = t1 - g1 * (t1 - t0) / (g1 - g0)
        samples = self.run(ca50, t_r, angles)
        return samples, self.results(t_r)

    def results(self, t_r):
        c, e = self.case, self.e
        pm, pe = self.p0, c["at.exhaust_pressure"]
        a, p, t, work, heat, integral = self.end
        bottom = self.clearance + self.swept
        blow = (pe + e["blowdown_share"] * (p - pe)) * (bottom - self.volume(a))
        gross = work + pm * (self.volume(e["inlet_closing"]) - bottom) + blow
        stays = self.expanded()
        kept = pe * self.clearance / (self.last.r * stays)
        h = (self.m * self.last.u(t) - kept * self.last.u(stays) - blow + pe * self.swept) / (self.m - kept)
        fuel_heat = self.fuel * c["fuel.heating_value"]
        return {
            "gross_work": gross, "gross_efficiency": gross / fuel_heat, "imep": gross / self.swept,
            "closed_work": work, "wall_heat": heat, "heat_loss_share": heat / fuel_heat,
            "knock_integral": integral, "octane": self.octane,
            "exhaust_temperature": brentq(lambda q: self.last.h(q) - h, 200.0, 5000.0, rtol=1e-14),
            "residual_share": self.x_r, "residual_temperature": t_r, "ivc_temperature": self.t0,
            "ivc_pressure": pm, "evo_pressure": p, "evo_temperature": t, "trapped_mass": self.m,
            "fuel_mass": self.fuel, "heat_released": self.heat * self.wiebe(a),
            "burn_duration": self.duration,
        }


# ---- comparison ----

DEFAULTS = {
    "engine.bore": 0.086, "engine.stroke": 0.086, "engine.compression_ratio": 10.0,
    "engine.rod_ratio": 3.4, "engine.inlet_closing": -140.0, "engine.exhaust_opening": 130.0,
    "engine.chamber_area": 1.2, "engine.crown_area": 1.0, "engine.chamber_temperature": 480.0,
    "engine.crown_temperature": 520.0, "engine.bore_temperature": 410.0, "engine.heat_factor": 1.5,
    "engine.motored_exponent": 1.3, "engine.wiebe_a": 5.0, "engine.wiebe_m": 2.0,
    "engine.burn_duration": 60.0, "engine.burn_reference_speed": 50.0,
    "engine.burn_speed_exponent": 0.2, "engine.charge_heating": 0.3,
    "engine.charge_wall_temperature": 400.0, "engine.evaporated_share": 0.5,
    "engine.blowdown_share": 0.5, "fuel.stoichiometric": 14.6, "fuel.heating_value": 43.5e6,
    "fuel.hydrogen_carbon": 1.87, "fuel.oxygen_carbon": 0.0, "fuel.molar_mass": 0.105,
    "fuel.vaporisation": 350e3, "fuel.ron": 95.0, "fuel.mon": 85.0, "fuel.rating_temperature": 747.0, "knock.scale": 1.0,
    "knock.margin": 0.25, "knock.weight_slope": 0.004, "knock.humidity_slope": 200.0, "knock.octane_weight": 0.0, "knock.mixture_slope": 14.6,
    "knock.mixture_peak": 1 / 1.05, "knock.mixture_rounding": 0.03, "at.speed": 50.0,
    "at.air_mass": 5e-4, "at.burn_reference": 0.0, "at.delay_factor": 1.0, "at.charge_temperature": 315.0, "at.exhaust_pressure": 101325.0,
    "at.humidity_ratio": 0.0, "at.lambda": 0.88, "at.ca50": 8.0, "at.combustion_efficiency": 0.0,
    "at.residual_share": -1.0, "at.residual_temperature": 0.0,
}
FUELS = [  # AFR, LHV, H/C, O/C, M, vaporisation
    (14.6, 43.5e6, 1.87, 0.0, 0.105, 350e3), (9.0, 26.9e6, 3.0, 0.5, 0.0461, 870e3),
    (6.47, 20.0e6, 4.0, 1.0, 0.032, 1103e3), (15.1, 44.3e6, 2.25, 0.0, 0.114, 308e3),
    (14.1, 41.8e6, 1.93, 0.025, 0.098, 380e3)]


LIMITS = 12


def random_case(rng):
    def between(a, b):
        return float(rng.uniform(a, b))

    case = {
        "engine.bore": between(0.06, 0.11), "engine.stroke": between(0.06, 0.11),
        "engine.compression_ratio": between(7.5, 13.0), "engine.rod_ratio": between(2.8, 4.5),
        "engine.inlet_closing": between(-160.0, -115.0), "engine.exhaust_opening": between(110.0, 160.0),
        "engine.chamber_area": between(1.0, 1.4), "engine.crown_area": between(0.9, 1.2),
        "engine.chamber_temperature": between(400.0, 550.0), "engine.crown_temperature": between(420.0, 600.0),
        "engine.bore_temperature": between(360.0, 450.0), "engine.heat_factor": between(0.0, 1.8),
        "engine.motored_exponent": between(1.2, 1.38), "engine.wiebe_a": between(3.0, 7.0),
        "engine.wiebe_m": between(1.2, 3.0), "engine.burn_duration": between(35.0, 90.0),
        "engine.burn_speed_exponent": between(0.0, 0.4), "engine.charge_heating": between(0.0, 0.6),
        "engine.charge_wall_temperature": between(350.0, 450.0),
        "engine.evaporated_share": between(0.0, 1.0), "engine.blowdown_share": between(0.0, 1.0),
        "fuel.ron": between(88.0, 110.0), "fuel.mon": between(80.0, 95.0),
        "fuel.rating_temperature": between(650.0, 780.0),
        "knock.scale": between(0.5, 2.0), "knock.octane_weight": between(-0.5, 0.7),
        "knock.mixture_slope": between(0.0, 30.0), "at.speed": between(12.0, 130.0),
        "at.air_mass": between(3e-4, 1.2e-3), "at.burn_reference": between(1.0, 2.4) * (rng.random() < 0.7),
        "at.delay_factor": between(0.7, 2.0), "knock.weight_slope": between(0.0, 0.01),
        "knock.humidity_slope": between(0.0, 400.0), "at.charge_temperature": between(280.0, 400.0),
        "at.exhaust_pressure": between(80e3, 160e3), "at.humidity_ratio": between(0.0, 0.03),
        "at.lambda": between(0.7, 1.3), "at.ca50": between(4.0, 45.0),
    }
    fuel = FUELS[rng.integers(len(FUELS))]
    names = ("stoichiometric", "heating_value", "hydrogen_carbon", "oxygen_carbon", "molar_mass",
             "vaporisation")
    case.update({"fuel." + k: v for k, v in zip(names, fuel)})
    if rng.random() < 0.3:
        case["at.residual_temperature"] = between(900.0, 1400.0)
    if rng.random() < 0.2:
        case["at.residual_share"] = between(0.0, 0.1)
    if rng.random() < 0.3:
        case["at.combustion_efficiency"] = between(0.7, 1.0)
    return case


def dump(program, cases, step, what="run"):
    """Results and samples of each case."""
    lines = "".join("%s at.step=%r %s\n" % (what, step, " ".join("%s=%r" % i for i in c.items()))
                    for c in cases)
    out = subprocess.run([program, "cases"], input=lines, capture_output=True, text=True, check=True)
    answers, samples = [], []
    for line in out.stdout.splitlines():
        word, *rest = line.split()
        if word == "result":
            answers.append((dict(p.split("=") for p in rest), []))
        elif word == "sample":
            answers[-1][1].append([float(v) for v in rest])
    assert len(answers) == len(cases), (len(answers), len(cases))
    return [({k: float(v) for k, v in r.items()}, np.array(s)) for r, s in answers]


def worst(deviations, name, got, expected, scale=None):
    off = abs(got - expected) / (abs(scale if scale is not None else expected) or 1.0)
    deviations[name] = max(deviations.get(name, 0.0), off)


def compare_case(case, answer, deviations):
    result, samples = answer
    if result["outcome"] != 0:
        return False
    full = {**DEFAULTS, **case}
    twin = Cycle(full)
    angles = samples[:, 0]
    own, results = twin.solve(full["at.ca50"], list(angles[1:-1:7]))
    by_angle = {round(float(s[0]), 9): s for s in samples}
    matched = 0
    for a, p, t, work, heat, integral in own:
        s = by_angle.get(round(float(a), 9))
        if s is None:
            continue
        matched += 1
        worst(deviations, "trace pressure", s[2], p)
        worst(deviations, "trace temperature", s[3], t)
        worst(deviations, "trace work", s[6], work, results["gross_work"])
        worst(deviations, "trace wall heat", s[7], heat, results["gross_work"])
        if integral > 1e-4:
            worst(deviations, "trace knock integral", s[8], integral)
    assert matched >= 20, matched
    for name, value in results.items():
        worst(deviations, name, result[name], value,
              results["gross_work"] if name in ("wall_heat",) else
              max(abs(value), 0.05) if name == "heat_loss_share" else None)
    return True


def limits_off(program, cases):
    """How far the twin's integral is from what is allowed, at phasings that the library says hold it."""
    off, inside = 0.0, 0
    for case, (result, _) in zip(cases, dump(program, cases, 0.5, "limit")):
        if result["outcome"] == 0 and 8.0 < result["ca50"]:
            twin = Cycle({**DEFAULTS, **case})
            samples, _ = twin.solve(result["ca50"], [])
            off = max(off, abs(samples[-1][5] / (1 - DEFAULTS["knock.margin"]) - 1))
            inside += 1
    print("knock limit: %d cases, integral off by %.1e" % (inside, off))
    return not (inside >= 3 and off <= 2e-6)


def compare(program):
    count = int(os.environ.get("CASES", "55"))
    rng = np.random.default_rng(20261125)
    cases = [random_case(rng) for _ in range(count)]
    deviations, done = {}, 0
    for case, answer in zip(cases, dump(program, cases, 0.5)):
        done += compare_case(case, answer, deviations)
    failed = 0
    for name, off in sorted(deviations.items()):
        bad = not off <= 2e-6
        failed += bad
        print("%-24s %.1e%s" % (name, off, "  more than 2e-6" if bad else ""))
    print("%d of %d cases have an answer and were compared" % (done, count))
    failed += limits_off(program, cases[:LIMITS])
    coarse = {}
    for (a, _), (b, _) in zip(dump(program, cases, 4.0), dump(program, cases, 0.5)):
        if b["outcome"] == 0:
            for name in ("gross_efficiency", "knock_integral", "peak_pressure"):
                worst(coarse, name, a[name], b[name])
    for name, off in coarse.items():
        bad = not off <= 5e-4
        failed += bad
        print("default step, %-17s %.1e%s" % (name, off, "  more than 5e-4" if bad else ""))
    return 0 if failed == 0 and done >= min(50, 0.8 * count) else 1


# ---- tables of the page ----

MARKS = ("<!-- tables -->\n", "<!-- end of tables -->\n")


def tables(page, program):
    made = subprocess.run([program, "tables"], capture_output=True, text=True, check=True).stdout
    with open(page, encoding="utf-8") as f:
        text = f.read()
    before, rest = text.split(MARKS[0])
    old, after = rest.split(MARKS[1])
    if os.environ.get("CYCLE_TABLES_WRITE"):
        with open(page, "w", encoding="utf-8") as f:
            f.write(before + MARKS[0] + made + MARKS[1] + after)
        return 0
    if old != made:
        print("%s differs from what the program says; CYCLE_TABLES_WRITE=1 writes it again\n%s" % (page, made))
        return 1
    return 0


if __name__ == "__main__":
    if len(sys.argv) == 4 and sys.argv[1] == "--tables":
        sys.exit(tables(sys.argv[2], sys.argv[3]))
    if len(sys.argv) != 2:
        sys.exit("usage: cycle_oracle.py [--tables PAGE] CYCLE_DUMP")
    sys.exit(compare(sys.argv[1]))
