"""Picked parts give what the number of the combination gives."""
import support
import test_point
from support import read_csv, records


class Pick(test_point.Results):
    def test_picks_give_what_the_number_gives(self):
        for row in self.ranked["kit"][::13]:
            picks = ["blower=" + row["blower"], f"crank_pulley={row['crank_pulley_mm']} mm",
                     f"blower_pulley={row['blower_pulley_mm']} mm", "cooler=" + row["cooler"],
                     "fuel=" + row["fuel"], "lambda=" + row["lambda"]]
            if row["cooler"] != "none":
                picks.append("effectiveness=" + row["effectiveness"])
            by_name = self.point("kit", "--csv", *(a for p in picks for a in ("--pick", p)))
            by_number = self.point("kit", "--csv", "--combination", row["index"])
            self.assertEqual(by_name.returncode, 0, by_name.stderr)
            wanted, found = read_csv(by_number.stdout), read_csv(by_name.stdout)
            self.assertEqual(len(wanted), len(found))
            for a, b in zip(sum(wanted, []), sum(found, [])):
                self.assertTrue(support.same_text(a, b), f"{a} and {b}")  # 74 mm need not be 58 mm and 4 steps

    def test_picks_of_the_fuel_side(self):
        row = self.ranked["knock"][3]
        picks = [f"blower_pulley={row['blower_pulley_mm']} mm", "cooler=" + row["cooler"],
                 "effectiveness=" + row["effectiveness"], "fuel=" + row["fuel"],
                 f"ignition_margin={row['ignition_margin_deg']} deg", "injector=" + row["injector"],
                 f"injector_flow={row['injector_flow_cm3_min']} cm3/min", "pump=" + row["pump"]]
        by_name = self.point("knock", "--csv", *(a for p in picks for a in ("--pick", p)))
        by_number = self.point("knock", "--csv", "--combination", row["index"])
        self.assertEqual(by_name.returncode, 0, by_name.stderr)
        self.assertTrue(support.same_text(by_number.stdout.decode(), by_name.stdout.decode()))

    def test_any_size_of_injectors(self):
        pick = ["--pick", "blower_pulley=82 mm", "--pick", "cooler=none", "--pick", "fuel=race",
                "--pick", "ignition_margin=1 deg", "--pick"]
        duty = {}
        for flow in (400, 800):
            done = self.point("knock", "--csv", *pick, f"injector_flow={flow} cm3/min")
            self.assertIn(done.returncode, (0, 1), done.stderr)
            duty[flow] = [float(row["injector_duty_pct"]) for row in records(done.stdout)]
        for small, large, rpm in zip(duty[400], duty[800], (2000, 4000, 6000)):
            dead = 100 * 1e-3 * rpm / 120  # 1 ms of two turns
            self.assertAlmostEqual((small - dead) / (large - dead), 2.0, delta=1e-3)
