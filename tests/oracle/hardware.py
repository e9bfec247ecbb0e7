"""Belt, bearing, duty and worth of kits, in NumPy, from docs/model.md (sections 4, 11 and 12) alone.

Arrays are [kit, site, speed] where they belong to a point and [kit] where they belong to a kit; a study is the JSON
that `sheave_dump study` prints. What a study does not describe is NaN.
"""
import numpy as np


def geometry(study, crank, blower, wrap_deg):
    """Open belt round two pulleys: wraps (rad) and length; a wrap that is given counts for the blower's pulley."""
    belt, offset = study["belt"], study["drive"]["line_offset"]
    big, small = crank / 2 + offset, blower / 2 + offset
    a = np.arcsin((big - small) / belt["centre"])
    crank_wrap, blower_wrap = np.pi + 2 * a, np.pi - 2 * a
    length = 2 * belt["centre"] * np.cos(a) + big * crank_wrap + small * blower_wrap
    idler = wrap_deg > 0
    return crank_wrap, np.where(idler, np.radians(wrap_deg), blower_wrap), np.where(idler, np.nan, length)


class Belt:
    """The belt of kits whose blowers take `shaft` watts at each point."""

    def __init__(self, study, kits, shaft):
        b, drive = self.b, self.drive = study["belt"], study["drive"]
        self.study = study
        self.crank_wrap, self.wrap, self.length = geometry(study, kits["crank_diameter"], kits["blower_diameter"],
                                                           kits["wrap"])
        self.ribs = kits["ribs"]
        self.round = np.pi * (kits["crank_diameter"] + 2 * drive["line_offset"])  # m of belt for a turn
        least = np.minimum(self.crank_wrap, self.wrap)
        exponent = np.minimum(b["friction"] * least / np.sin(b["groove_angle"] / 2), 700.0)
        over = np.expm1(exponent)  # ratio at slip less 1
        self.fixed = b["tensioner"] == "fixed"
        self.k = 2 * over / (over + 2) if self.fixed else over
        self.speeds = np.array(study["engine"]["speeds"])
        v, pull, tc = self.load(self.speeds, shaft)
        self.given = not np.isnan(b["static_tension"])
        needed = (1 + b["slip_margin"]) * pull / self.k[:, None, None] + (tc if self.fixed else 0.0)
        self.static = (np.full(len(self.ribs), b["static_tension"]) if self.given
                       else needed.reshape(len(self.ribs), -1).max(axis=1))
        state = self.state(pull, tc)
        self.slip, self.tension, self.hub = state["slip"], state["tension"], state["hub"]
        rest = self.static * np.sqrt(2 - 2 * np.cos(self.wrap))
        self.highest_hub = np.maximum(self.hub.reshape(len(rest), -1).max(axis=1), rest)
        self.width = self.ribs * b["rib_pitch"]

    def load(self, n, shaft):
        """Belt speed, pull and centrifugal tension; n over the last axis."""
        v = self.round[:, None, None] * n
        pull = np.maximum(shaft, 0.0) / self.drive["efficiency"] / v
        return v, pull, self.ribs[:, None, None] * self.b["rib_mass"] * v * v

    def state(self, pull, tc):
        t0, k, wrap = (x[:, None, None] for x in (self.static, self.k, self.wrap))
        most = k * (np.maximum(t0 - tc, 0.0) if self.fixed else t0 + 0.0 * tc)
        f = np.minimum(pull, most)
        if self.fixed:
            tight, slack = np.maximum(t0, tc) + f / 2, np.maximum(t0, tc) - f / 2
        else:
            tight, slack = t0 + tc + f, t0 + tc
        a, b = tight - tc, slack - tc
        with np.errstate(all="ignore"):
            slip = np.where(pull > 0, (1 + self.b["slip_margin"]) * pull / most, 0.0)
        if not self.given:
            slip = np.minimum(slip, 1.0)
        return dict(slip=slip, tension=tight / self.ribs[:, None, None],
                    hub=np.sqrt(np.maximum(a * a + b * b - 2 * a * b * np.cos(wrap), 0.0)))

    def life(self, kits, shaft):
        """Seconds that the nose bearing lasts over the duty, at the hardest site."""
        duty, bearings = self.study["use"]["duty"], [b["bearing"] for b in self.study["blowers"]]
        if not duty:
            return np.full(len(self.ribs), np.nan)
        at = [int(d["speed"]) for d in duty]
        part, time, n = np.array([d["load"] for d in duty]), np.array([d["time"] for d in duty]), self.speeds[at]
        _, pull, tc = self.load(n, part * shaft[:, :, at])
        load = self.state(pull, tc)["hub"]
        turns = (n * kits["ratio"][:, None] * (1 - self.drive["creep"]))[:, None, :]

        def of(key):
            return np.array([b[key] for b in bearings])[kits["blower"]]
        with np.errstate(all="ignore"):
            lever = np.where(of("overhang") > 0, 1 + of("overhang") / of("span"), 1.0)
            p = np.where(of("type") == "roller", 10 / 3, 3.0)[:, None]
            load = load * lever[:, None, None]
            mean_speed = (time * turns).sum(axis=-1)
            mean_load = ((time * turns * load ** p[:, :, None]).sum(axis=-1) / mean_speed) ** (1 / p)
            seconds = 1e6 * (of("rating")[:, None] / mean_load) ** p / mean_speed
        return np.where(of("given") != 0, seconds.min(axis=1), np.nan)


def over_continuous(study, kits):
    """Share of the duty with rotors above their continuous speed."""
    duty, blowers, speeds = study["use"]["duty"], study["blowers"], np.array(study["engine"]["speeds"])
    good = np.array([b["continuous_speed"] for b in blowers])[kits["blower"]]
    step = np.array([b["step_up"] for b in blowers])[kits["blower"]]
    share = np.zeros(len(good))
    for d in duty:
        n = speeds[int(d["speed"])] * kits["ratio"] * (1 - study["drive"]["creep"]) * step
        share += np.where(n > good, d["time"], 0.0)
    return np.where((good > 0) & (len(duty) > 0), share, np.nan)


def worth(study, kits, ntu, what):
    """Sum of `price` or `mass` of all parts; `ntu` of each kit's core at rated flow, 0 without one."""
    def of(parts, key="worth"):
        return np.array([p[key][what] for p in parts])

    base, belt = study["base"], study["belt"]
    each = study["engine"]["cylinders"] * study["rail"]["injectors_per_cylinder"]
    total = base["worth"][what] + base["manifold"][what] + 2 * base["pulley"][what] + belt["drive"][what]
    total += study["valve"]["worth"][what]
    total = total + belt["rib"][what] * kits["ribs"] + of(study["blowers"])[kits["blower"]]
    total = total + of(study["coolers"])[kits["cooler"]] + of(study["coolers"], "per_ntu")[kits["cooler"]] * ntu
    return total + each * of(study["injectors"])[kits["injector"]] + of(study["pumps"])[kits["pump"]]
