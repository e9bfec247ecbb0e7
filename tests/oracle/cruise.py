"""The cruise point of docs/model.md, section 11 (throttle ahead of the blower, bypass valve around it), by brackets
within brackets: share of pressure lost over the valve, then inlet temperature. In NumPy, one element for each rotor
speed of one blower. Equations are those of the page, the way to their root is not.
"""
import numpy as np

import scalar
import twin

SOLVED, STARVED, OUTSIDE, RANGE = range(4)
FIELDS = ("inlet_pressure", "pressure_drop", "inlet_temperature", "discharge_temperature", "manifold_temperature",
          "blower_flow", "recirculated", "leakage_flow", "gas_power", "windage_power", "friction_power", "shaft_power",
          "clearance_left")
STEPS = 0.97 ** np.arange(1, 260)  # inlet pressures at which the first change of sign is looked for, downwards


def nozzle_of_loss(lost, g):
    """psi at the ratio 1 - lost, exact also where hardly anything is lost."""
    e = (g - 1) / g
    log_r = np.maximum(np.log1p(-lost), np.log(2 / (g + 1)) / e)
    return np.sqrt(2 / e * np.exp(2 * log_r / g) * -np.expm1(e * log_r))


class Cruise:
    def __init__(self, model, blower, ratio):
        study, use = model.study, model.study["use"]
        self.site, self.gas = model.sites[0], model.sites[0].gas
        self.b, self.map = study["blowers"][blower], model.maps[blower]
        speed = int(use["cruise_speed"])
        self.n = model.speeds[speed] * ratio * (1 - study["drive"]["creep"]) * self.b["step_up"]
        self.p2, self.t0, self.pa = use["cruise_pressure"], self.site.t, self.site.p
        ambient = study["sites"][0]["ambient"]
        engine = scalar.Engine(study, scalar.Air(study["air"], ambient), self.pa, speed)
        self.me = engine.flow(self.p2, self.t0)
        w, b = self.b["windage_torque"], self.b
        self.windage = (2 * np.pi * self.n * w * (self.n / b["windage_reference_speed"]) ** 2 if w
                        else 0.0 * self.n)
        self.friction = 2 * np.pi * self.n * b["friction_torque"]
        self.keep = 1 - b.get("case_loss", 0.0)
        self.h0 = float(self.gas.h(self.t0))

    def take(self, which):
        other = object.__new__(Cruise)
        other.__dict__.update(self.__dict__)
        for k in ("n", "windage", "friction"):
            setattr(other, k, getattr(self, k)[which])
        return other

    # ---- the blower ----

    def clearance(self, t2):
        if self.map is not None:
            return np.ones_like(t2)
        return np.maximum(0.0, 1 - self.b["closing_rate"] * (t2 - self.b["assembly_temperature"]))

    def filled(self, p1, t1):
        b = self.b
        filling = np.maximum(0.05, 1 - b["filling_loss"] * (self.n / b["reference_speed"]) ** 2)
        return p1 / (self.gas.r * t1) * b["displacement"] * self.n * filling

    def power(self, p1, t1):
        """Into the gas, and for a map the flow."""
        b, vs = self.b, self.b["displacement"]
        if self.map is None:
            g = self.gas.gamma(t1)
            vi = b["volume_ratio"]
            return self.n * vs * (p1 * ((vi ** (g - 1) - 1) / (g - 1) - 1) + self.p2 / vi), None
        pr = self.p2 / p1 * np.ones_like(t1)
        eta_v, eta_is, _ = self.map.at(self.n + 0.0 * t1, t1, pr)
        m = eta_v * p1 / (self.gas.r * t1) * vs * self.n
        return m * (self.gas.h(self.gas.isentropic_temperature(t1, pr)) - self.gas.h(t1)) / eta_is, m

    def through(self, area, p, t, lost):
        return area * p / np.sqrt(self.gas.r * t) * nozzle_of_loss(lost, self.gas.gamma(t))

    # ---- gas goes round ----

    def round(self, lost, area):
        """State with `lost` of the manifold's pressure lost over the valve."""
        gas, me = self.gas, self.me
        p1 = self.p2 * (1 - lost)

        def hot(t1):
            power, flow = self.power(p1, t1)
            h2 = self.h0 + self.keep * (power + self.windage) / me
            t2 = gas.temperature_at(h2, self.t0 + (h2 - self.h0) / 1005.0)
            return power, flow, h2, t2, self.through(area, self.p2, t2, lost)

        def gap(t1):
            _, _, h2, _, back = hot(t1)
            return (me + back) * gas.h(t1) - me * self.h0 - back * h2
        low = np.full(len(self.n), self.t0)
        t1 = low
        if area > 0:
            high = np.maximum(hot(low)[3], self.t0) * 1.3 + 1
            t1 = twin.bracketed_root(gap, low, high)
        power, flow, h2, t2, back = hot(t1)
        leak = 0.0 * t1
        if flow is None:
            leak = self.through(self.b["leakage_area"] * self.clearance(t2), self.p2, t2, lost)
            flow = self.filled(p1, t1) - leak * (1 + (gas.h(t2) - gas.h(t1)) / (gas.cp(t1) * t1))
        return dict(inlet_pressure=p1, pressure_drop=self.p2 * lost, inlet_temperature=t1, discharge_temperature=t2,
                    manifold_temperature=t2, blower_flow=flow, recirculated=back, leakage_flow=leak, gas_power=power,
                    excess=flow - me - back)

    # ---- the engine draws past the rotors ----

    def past(self, p1, area):
        gas, me = self.gas, self.me
        lost = 1 - self.p2 / p1
        t1 = np.full(len(self.n), self.t0)
        power, flow = self.power(p1, t1)
        heat = self.keep * (power + self.windage)

        def net(t2):
            if flow is not None:
                return flow, 0.0 * t2
            leak = -self.through(self.b["leakage_area"] * self.clearance(t2), p1, t1, lost)
            return self.filled(p1, t1) - leak, leak
        t2 = twin.bracketed_root(lambda t: net(t)[0] * (gas.h(t) - self.h0) - heat, 0.0 * t1 + 50.0, 0.0 * t1 + 3000.0)
        m, leak = net(t2)
        valve = -self.through(area, p1, t1, lost)
        hm = (m * gas.h(t2) - valve * self.h0) / me
        return dict(inlet_pressure=p1, pressure_drop=self.p2 - p1, inlet_temperature=t1, discharge_temperature=t2,
                    manifold_temperature=gas.temperature_at(hm, t2), blower_flow=m, recirculated=valve,
                    leakage_flow=leak, gas_power=power, excess=m - valve - me)

    # ---- both ----

    def at(self, area):
        """Fields by name and `outcome`."""
        count = len(self.n)
        out = {k: np.full(count, np.nan) for k in FIELDS}
        out["outcome"] = np.full(count, STARVED)
        first = max(0.0, 1 - self.pa / self.p2)
        displaces = self.round(np.full(count, first), area)["excess"] >= 0
        for part, which in ((self._round, displaces), (self._past, ~displaces & (self.pa > self.p2))):
            if which.any():
                found, some = part(self.take(which), area, first)
                at = np.flatnonzero(which)[some]
                for k in FIELDS:
                    out[k][at] = found[k][some]
                out["outcome"][at] = found["outcome"][some]
        return out

    @staticmethod
    def _round(self, area, first):
        count = len(self.n)
        low, high = np.full(count, first), np.full(count, np.nan)
        for step in STEPS:
            lost = 1 - (1 - first) * step
            negative = self.round(np.full(count, lost), area)["excess"] < 0
            high = np.where(np.isnan(high) & negative, lost, high)
            if not np.isnan(high).any():
                break
            low = np.where(np.isnan(high), lost, low)
        root = twin.bracketed_root(lambda u: self.round(u * u, area)["excess"], np.sqrt(low), np.sqrt(high))
        return self._finish(self.round(root * root, area)), np.ones(count, bool)

    @staticmethod
    def _past(self, area, _):
        count = len(self.n)
        least, most = np.full(count, self.p2), np.full(count, self.pa)
        enough = self.past(most, area)["excess"] >= 0
        p1 = twin.bracketed_root(lambda p: self.past(p, area)["excess"], least, most)
        return self._finish(self.past(p1, area)), enough

    def _finish(self, s):
        s.update(windage_power=self.windage, friction_power=self.friction,
                 shaft_power=s["gas_power"] + self.windage + self.friction,
                 clearance_left=self.clearance(s["discharge_temperature"]))
        low, high = (f.reduce([s[k] for k in ("inlet_temperature", "discharge_temperature", "manifold_temperature")])
                     for f in (np.minimum, np.maximum))
        s["outcome"] = np.where((low < twin.T_MIN) | (high > twin.T_MAX), RANGE, SOLVED)
        if self.map is not None:
            pr, t1 = self.p2 / s["inlet_pressure"], s["inlet_temperature"]
            s["outcome"] = np.where(self.map.at(self.n, t1, pr)[2], OUTSIDE, s["outcome"])
        return s


def of_kits(model, kits, area):
    """Fields and outcome of kits; kits of one blower and ratio share theirs."""
    out = {k: np.full(len(kits["ratio"]), np.nan) for k in FIELDS + ("outcome",)}
    for blower in np.unique(kits["blower"]):
        which = np.flatnonzero(kits["blower"] == blower)
        ratios, back = np.unique(kits["ratio"][which], return_inverse=True)
        found = Cruise(model, blower, ratios).at(area)
        for k, v in out.items():
            v[which] = found[k][back]
    return out


def drag(model, kits):
    """Watts that the rotors take with the bypass open, shut without an area; NaN without an answer."""
    found = of_kits(model, kits, model.study["valve"]["area"])
    return np.where(found["outcome"] == SOLVED, found["shaft_power"], np.nan)


def cost(study, drag, density):
    """Power at the crank, fuel in kg/s, l/h and l/100 km that a drag costs."""
    use, efficiency = study["use"], study["drive"]["efficiency"]
    crank = np.where(drag < 0, drag * efficiency, drag / efficiency)
    fuel = use["bsfc"] * crank
    litres = 1000 * fuel / density
    road = use["road_speed"]
    return dict(crank_power=crank, fuel_flow=fuel, litres_per_hour=3600 * litres,
                litres_per_100_km=litres / road * 1e5 if road > 0 else np.full(len(drag), np.nan))
