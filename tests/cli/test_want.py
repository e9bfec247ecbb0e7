"""The pulley that gives what is wanted."""
import re

import test_point
from support import records


class Want(test_point.Results):
    def test_the_ideal_gives_what_is_wanted(self):
        """A kit of that size has it; so it is with a limit from below, and in US units."""
        for study, want, column, value, bound in (("kit", "boost=8 psi", "boost_kPa", 55.158, max),
                                                  ("us", "torque=170 lbf.ft", "torque_lbfft", 170.0, max),
                                                  ("knock", "power=120 kW", "power_kW", 120.0, max),
                                                  ("knock", "clearance_left=0.9", "clearance_left", 0.9, min)):
            done = self.point(study, "--kit", "1", "--results", study, "--want", want)
            ideal = re.search(rb"Ideal blower pulley ([0-9.]+) (mm|in):", done.stdout)
            best = self.ranked[study][0]
            unit = ideal[2].decode()
            names = [n for n in ("blower", "cooler", "fuel", "lambda", "injector", "pump", "ribs", "ignition_margin_deg") if best.get(n)]
            picks = [f"--pick={n.removesuffix('_deg')}={best[n]}{' deg' if n.endswith('_deg') else ''}" for n in names]
            picks += [f"--pick=crank_pulley={best[f'crank_pulley_{unit}']} {unit}", f"--pick=blower_pulley={ideal[1].decode()} {unit}",
                      *([f"--pick=effectiveness={best['effectiveness']}"] if best["effectiveness"] not in ("", "0") else [])]
            points = records(self.point(study, "--csv", *picks).stdout)
            self.assertAlmostEqual(bound(float(p[column]) for p in points) / value, 1.0, delta=2e-3, msg=want)
