"""The match of one point of docs/model.md by scalar root finding (scipy.optimize.brentq), in plain Python
with nothing of twin.py: outlet pressure, discharge temperature and flow in nested brackets."""
import functools
import math

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, root
from scipy.special import gammainc

DRY = (1.009950160e4, -1.968275610e2, 5.009155110, -5.761013730e-3, 1.066859930e-5, -7.940297970e-9,
       2.185231910e-12)
STEAM = (-3.947960830e4, 5.755731020e2, 9.317826530e-1, 7.222712860e-3, -7.342557370e-6, 4.955043490e-9,
         -1.336933246e-12)
TIGHT = dict(xtol=1e-300, rtol=8.9e-16, maxiter=300)


class Air:
    def __init__(self, model, ambient):
        p, t = ambient["pressure"], ambient["temperature"]
        self.w = 0.0
        if model["model"] == "constant":
            self.cps = [0.0, 0.0, model["heat_capacity"], 0.0, 0.0, 0.0, 0.0]
            self.r = model["gas_constant"]
            self.rs = model["heat_capacity"] * (1 - 1 / model["gamma"])
            return
        if t >= 273.15:
            ln = (-5.8002206e3 / t + 1.3914993 - 4.8640239e-2 * t + 4.1764768e-5 * t * t
                  - 1.4452093e-8 * t ** 3 + 6.5459673 * math.log(t))
        else:
            ln = (-5.6745359e3 / t + 6.3925247 - 9.6778430e-3 * t + 6.2215701e-7 * t * t
                  + 2.0747825e-9 * t ** 3 - 9.4840240e-13 * t ** 4 + 4.1635019 * math.log(t))
        pw = ambient["relative_humidity"] * math.exp(ln)
        self.w = 0.621945 * pw / (p - pw)
        wet = self.w / (1 + self.w)
        ra, rw = 8.314510 / 0.0289651159, 8.314510 / 0.01801528
        self.r = self.rs = (1 - wet) * ra + wet * rw
        self.cps = [(1 - wet) * ra * a + wet * rw * b for a, b in zip(DRY, STEAM)]

    def cp(self, t):
        t = min(max(t, 200.0), 1000.0)
        c = self.cps
        return (c[0] / t + c[1]) / t + c[2] + t * (c[3] + t * (c[4] + t * (c[5] + t * c[6])))

    def gamma(self, t):
        return self.cp(t) / (self.cp(t) - self.rs)

    def h(self, t):
        x = min(max(t, 200.0), 1000.0)
        c = self.cps
        return (c[1] * math.log(x) - c[0] / x + self.cp(x) * (t - x)
                + x * (c[2] + x * (c[3] / 2 + x * (c[4] / 3 + x * (c[5] / 4 + x * c[6] / 5)))))

    def s(self, t):
        powers = [-1 / (2 * t * t), -1 / t, math.log(t)] + [t ** k / k for k in range(1, 5)]
        return sum(c * p for c, p in zip(self.cps, powers))

    def isentropic(self, t, ratio):
        goal = self.s(t) + self.rs * math.log(ratio)
        return brentq(lambda x: self.s(x) - goal, 100.0, 3000.0, **TIGHT)


def core(kind, ntu, r):
    """Charge-side effectiveness."""
    if r == 0.0 or kind == "single_stream":
        return 1 - math.exp(-ntu)
    if kind == "counterflow":
        if abs(r - 1) < 1e-9:
            return ntu / (1 + ntu)
        e = math.exp(-ntu * (1 - r))
        return (1 - e) / (1 - r * e)
    if kind == "parallel":
        return (1 - math.exp(-ntu * (1 + r))) / (1 + r)
    if kind == "crossflow_charge_mixed":
        return 1 - math.exp(-(1 - math.exp(-r * ntu)) / r)
    if kind == "crossflow_coolant_mixed":
        return (1 - math.exp(-r * (1 - math.exp(-ntu)))) / r
    n = np.arange(150)
    return float(np.sum(gammainc(n + 1, ntu) * gammainc(n + 1, ntu * r))) / (ntu * r)


@functools.lru_cache(maxsize=None)
def core_ntu(kind, effectiveness, r):
    return brentq(lambda n: core(kind, n, r) - effectiveness, 1e-9, 100.0, **TIGHT)


def curve(table, x):
    if len(table["x"]) == 1:
        return table["y"][0]
    return float(PchipInterpolator(table["x"], table["y"])(min(max(x, table["x"][0]), table["x"][-1])))


def square(loss, density):
    """k of a loss k m^2."""
    return loss["pressure_drop"] / loss["flow"] ** 2 * loss["density"] / density if loss["pressure_drop"] else 0.0


class Engine:
    """Breathing at one site and speed."""

    def __init__(self, study, air, p0, speed):
        e, stock = study["engine"], study["engine"]["stock"]
        self.e, self.air, self.p0 = e, air, p0
        n = e["speeds"][speed]
        self.swept = curve(e["volumetric_efficiency"], n) * e["displacement"] * n / 2
        out = e["exhaust"]
        self.back = ((101325 + out["pressure_drop"]) ** 2 - 101325 ** 2) / out["flow"] ** 2
        self.hot, self.cold = out["temperature"], stock["temperature"]
        self.a, self.b = 1.0, 0.0
        if e["residual_correction"]:
            other = Air(study["air"], stock)
            ps, ts = stock["pressure"], stock["temperature"]
            k = square(e["intake"], ps / (other.r * ts))
            c = self.filled(other.r, ts)
            pms = brentq(lambda p: ps - k * (c * p) ** 2 - p, 0.0, ps, **TIGHT)
            pes = math.sqrt(ps ** 2 + self.back * (c * pms) ** 2)
            r, g = e["compression_ratio"], e["residual_gamma"]
            phi = r / (r - 1) - (pes / pms + g - 1) / (g * (r - 1))
            self.a = (r / (r - 1) - (g - 1) / (g * (r - 1))) / phi
            self.b = 1 / (g * (r - 1)) / phi

    def filled(self, r, t):
        """Air per pressure; fuels are alike: not with the closed cycle."""
        e = self.e
        f, wall, ref = e["cycle"]["charge_heating"], e["cycle"]["charge_wall_temperature"], e["reference_temperature"]
        return self.swept / r * ((1 - f) + f * wall / ref) / ((1 - f) * t + f * wall)

    def density_term(self, tm):
        return self.filled(self.air.r, tm)

    def excess(self, m, pm, tm):
        """What the engine takes in beyond m, with the exhaust pressure of m."""
        pe = math.sqrt(self.p0 ** 2 + self.back * (1 + (tm - self.cold) / self.hot) * m * m)
        return self.density_term(tm) * (self.a * pm - self.b * pe) - m

    def flow(self, pm, tm):
        g = self.density_term(tm)
        most = g * self.a * pm
        if most <= g * self.b * self.p0:
            return 0.0
        return brentq(lambda m: self.excess(m, pm, tm), 0.0, most * (1 + 1e-9), **TIGHT)


class Point:
    surroundings = {}

    def __init__(self, study, blower, ratio, cooler, effectiveness, site, speed):
        ambient = study["sites"][site]["ambient"]
        self.p0, self.t0 = ambient["pressure"], ambient["temperature"]
        if (id(study), site, speed) not in self.surroundings:
            air = Air(study["air"], ambient)
            self.surroundings[id(study), site, speed] = study, air, Engine(study, air, self.p0, speed)
        _, self.air, self.engine = self.surroundings[id(study), site, speed]
        self.study, self.bl, self.co = study, study["blowers"][blower], study["coolers"][cooler]
        engine_speed = study["engine"]["speeds"][speed]
        self.n = engine_speed * ratio * (1 - study["drive"]["creep"]) * self.bl["step_up"]
        self.k_in = square(study["intake"], self.p0 / (self.air.r * self.t0))
        self.keep = 1 - self.bl.get("case_loss", 0.0)
        w = self.bl["windage_torque"]
        self.windage = 2 * math.pi * self.n * w * (self.n / self.bl["windage_reference_speed"]) ** 2 if w else 0.0
        self.effectiveness = effectiveness
        if self.bl["kind"] == "map":
            self.lines = [[PchipInterpolator(l[k]["x"], l[k]["y"]) for k in
                           ("volumetric_efficiency", "isentropic_efficiency")] for l in self.bl["lines"]]

    def inlet(self, m):
        return max(self.p0 - self.k_in * m * m, 0.1 * self.p0)

    def cool(self, m, t2, p2):
        """T_m, p_m."""
        c = self.co
        if c["arrangement"] == "none":
            return t2, p2
        cap = c["coolant_capacity"]
        r_rated = c["rated_flow"] * 1006 / cap
        ntu_rated = core_ntu(c["arrangement"], self.effectiveness, r_rated)
        ntu_ref = core_ntu(c["arrangement"], c["pressure_drop_effectiveness"], r_rated)
        rel = max(m, 1e-12) / c["rated_flow"]  # a bracket may begin without flow
        p = core(c["arrangement"], ntu_rated * rel ** -c["ntu_exponent"], m * 1006 / cap)
        source = c["coolant_temperature"]
        if math.isnan(source):
            source = self.t0 + c["coolant_rise"]
        loop = 0.0
        if c["radiator_effectiveness"] > 0:
            loop = max(0.0, 1 / (c["radiator_effectiveness"] * c["radiator_capacity"]) - 1 / cap)
        density = p2 / (self.air.r * t2)
        pm = p2 - c["pressure_drop"] * ntu_rated / ntu_ref * rel * rel * c["rated_density"] / density
        if loop == 0.0:
            return t2 - p * (t2 - source), pm

        def off(tm):
            tc = source + loop * m * (self.air.h(t2) - self.air.h(tm))
            return t2 - p * (t2 - tc) - tm
        lo, hi = min(t2, source) - 1, max(t2, source) + 1
        return brentq(off, lo, hi, **TIGHT), pm

    def on_map(self, t1, pr):
        """Volumetric and isentropic efficiency; the ends of a line hold beyond it."""
        nc = self.n * math.sqrt(self.bl["reference_temperature"] / t1)
        speeds = [l["corrected_speed"] for l in self.bl["lines"]]
        i = max(k for k in range(len(speeds) - 1) if k == 0 or speeds[k] <= nc)
        w = min(max((nc - speeds[i]) / (speeds[i + 1] - speeds[i]), 0.0), 1.0)
        out = []
        for k in range(2):
            y = [float(f[k](min(max(pr, f[k].x[0]), f[k].x[-1]))) for f in self.lines[i:i + 2]]
            out.append(y[0] + w * (y[1] - y[0]))
        return out

    def blower(self, p1, t1, p2):
        """Flow and discharge temperature at this state."""
        air, bl, n = self.air, self.bl, self.n
        rho, vs = p1 / (air.r * t1), self.bl["displacement"]
        if bl["kind"] == "map":
            eta_v, eta_is = self.on_map(t1, p2 / p1)
            m = eta_v * rho * vs * n
            rise = (air.h(air.isentropic(t1, p2 / p1)) - air.h(t1)) / eta_is + self.windage / m
            h2 = max(air.h(t1) + rise, air.h(100.0))  # not below where any answer can be
            return m, brentq(lambda t: air.h(t) - h2, 99.0, 3000.0 + abs(rise) / 500, **TIGHT)
        heat = self.keep * (self.gas_power(p1, t1, p2) + self.windage)

        def excess(t2):  # of what the gas carries over what it is given
            m = self.net(p1, t1, p2, t2)
            return m * (air.h(t2) - air.h(t1)) - heat if m > 0 else -1e9
        try:  # the coolest of two roots is that of a blower in service
            t2 = brentq(excess, *first_change(excess, 120.0, 1.04, 2e4), **TIGHT)
        except ValueError:
            return 0.0, 20000.0  # it does not reach that pressure
        return self.net(p1, t1, p2, t2), t2

    def gas_power(self, p1, t1, p2):
        g, vi, vs = self.air.gamma(t1), self.bl["volume_ratio"], self.bl["displacement"]
        return self.n * (p1 * vs * ((vi ** (g - 1) - 1) / (g - 1) - 1) + p2 * vs / vi)

    def net(self, p1, t1, p2, t2):
        """Flow by geometry with the leakage at this discharge temperature."""
        bl = self.bl
        filled = p1 / (self.air.r * t1) * bl["displacement"] * self.n * max(
            0.05, 1 - bl["filling_loss"] * (self.n / bl["reference_speed"]) ** 2)
        area = bl["leakage_area"] * max(0.0, 1 - bl["closing_rate"] * (t2 - bl["assembly_temperature"]))
        g = self.air.gamma(t2)
        r = max(min(1.0, p1 / p2), (2 / (g + 1)) ** (g / (g - 1)))
        psi = math.sqrt(max(0.0, 2 * g / (g - 1) * (r ** (2 / g) - r ** ((g + 1) / g))))
        leak = area * p2 / math.sqrt(self.air.r * t2) * psi
        return filled - leak * (1 + (self.air.h(t2) - self.air.h(t1)) / (self.air.cp(t1) * t1))


def by_hybrid(study, blower, ratio, cooler, effectiveness, site, speed):
    """The same for a blower by geometry and a shut bypass, as one would solve it in a script: three
    equations by scipy.optimize.root. For timing. Returns flow, outlet pressure, discharge temperature."""
    at = Point(study, blower, ratio, cooler, effectiveness, site, speed)
    p0, t0, air = at.p0, at.t0, at.air
    scale = p0 / (air.r * t0) * at.bl["displacement"] * at.n
    h0, cp = air.h(t0), air.cp(t0)

    def residuals(x):
        m, p2, t2 = float(x[0]) * scale, float(x[1]) * p0, float(x[2]) * t0
        p1 = at.inlet(m)
        tm, pm = at.cool(m, t2, p2)
        heat = at.keep * (at.gas_power(p1, t0, p2) + at.windage)
        return ((at.net(p1, t0, p2, t2) - m) / scale, at.engine.excess(m, pm, tm) / scale,
                (m * (air.h(t2) - h0) - heat) / (scale * cp * t0))

    found = root(residuals, (0.85, 1.5, 1.25), method="hybr", options=dict(xtol=1e-12))
    return found.x[0] * scale, found.x[1] * p0, found.x[2] * t0


def self_consistent(f, lo, hi):
    """Root of x = f(x) for falling f."""
    return brentq(lambda x: f(x) - x, lo, hi, **TIGHT)


def first_change(f, x, factor, most=1e7):
    """Ends of the first step, each longer by this factor, in which f changes from below to above zero."""
    while f(x * factor) < 0:
        x *= factor
        if x > most:
            raise ValueError("no change of sign")
    return x, x * factor


def match(study, blower, ratio, cooler, effectiveness, site, speed):
    """Flows, pressures and temperatures of one point."""
    at = Point(study, blower, ratio, cooler, effectiveness, site, speed)
    air, p0, t0 = at.air, at.p0, at.t0
    top = 1.2 * p0 / (air.r * t0) * at.bl["displacement"] * at.n

    def with_intake(p2):
        """m, T2 with the intake's loss at that flow."""
        if at.blower(at.inlet(1e-9 * top), t0, p2)[0] <= 1e-9 * top:
            return 0.0, 20000.0
        m = self_consistent(lambda m: at.blower(at.inlet(m), t0, p2)[0], 1e-9 * top, top) if at.k_in else (
            at.blower(p0, t0, p2)[0])
        return m, at.blower(at.inlet(m), t0, p2)[1]

    def short(p2):  # what the engine asks for beyond what comes
        m, t2 = with_intake(p2)
        if m == 0.0:
            return top
        tm, pm = at.cool(m, t2, p2)
        return at.engine.flow(pm, tm) - m

    p2 = brentq(short, *first_change(short, 0.05 * p0, 1.15), **TIGHT)
    m, t2 = with_intake(p2)
    tm, pm = at.cool(m, t2, p2)
    p1, t1, me = at.inlet(m), t0, m
    hold = study["bypass"]["bleed_above"]
    open_ = pm < p1
    if open_:
        def warmed(m):
            return brentq(lambda t: air.h(t) - air.h(t0) - at.keep * at.windage / m, 150.0, 1e6, **TIGHT)
        me = m = self_consistent(lambda m: at.engine.flow(at.inlet(m), warmed(m)), 1e-2 * top, 5.0)
        p1 = p2 = pm = at.inlet(m)
        t2 = tm = warmed(m)
    elif pm > p0 + hold:
        pm = p0 + hold
        if study["bypass"]["bleed_to"] == "atmosphere":
            def over(p2):
                m, t2 = with_intake(p2)
                return at.cool(m, t2, p2)[1] - pm
            p2 = brentq(over, pm, pm + 1.5e5, **TIGHT)
            m, t2 = with_intake(p2)
            tm = at.cool(m, t2, p2)[0]
            me = at.engine.flow(pm, tm)
            p1 = at.inlet(m)
        else:
            state = {}

            def from_inlet(t1):
                """The inlet temperature that an assumed one leads to."""
                def from_flow(me):
                    p1 = at.inlet(me)
                    def over(p2):
                        m, t2 = at.blower(p1, t1, p2)
                        return at.cool(m, t2, p2)[1] - pm
                    p2 = brentq(over, pm, pm + 1.5e5, **TIGHT)
                    m, t2 = at.blower(p1, t1, p2)
                    tm = at.cool(m, t2, p2)[0]
                    state.update(p1=p1, p2=p2, m=m, t2=t2, tm=tm)
                    state["me"] = at.engine.flow(pm, tm)
                    return state["me"]
                from_flow(self_consistent(from_flow, 1e-3 * top, top) if at.k_in else 0.0)
                h1 = (state["me"] * air.h(t0) + (state["m"] - state["me"]) * air.h(state["tm"])) / state["m"]
                return brentq(lambda t: air.h(t) - h1, 150.0, 3000.0, **TIGHT)
            t1 = brentq(lambda t: from_inlet(t) - t, t0 - 5, t0 + 200, xtol=1e-12, rtol=1e-14)
            from_inlet(t1)
            p1, p2, m, t2, tm, me = (state[k] for k in ("p1", "p2", "m", "t2", "tm", "me"))
    return dict(inlet_pressure=p1, inlet_temperature=t1, outlet_pressure=p2, discharge_temperature=t2,
                manifold_pressure=pm, charge_temperature=tm, blower_flow=0.0 if open_ else m, air_flow=me)
