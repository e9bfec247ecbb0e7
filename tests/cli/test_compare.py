"""Kits of a results folder side by side."""
import support
import test_point


class Compare(test_point.Results):
    STUDIES = ("kit",)

    def test_kits_side_by_side(self):
        done = support.run(["compare", "kit", "--kit", "1", "--kit", "4"], self.folder)
        above, below = done.stdout.decode().split("\nThe same in all of them:\n")
        one, four = self.ranked["kit"][0], self.ranked["kit"][3]
        self.assertEqual(len(above.splitlines()[2:]), sum(c != "rank" and one[c] != four[c] for c in one))
        self.assertEqual(len(below.splitlines()), sum(one[c] == four[c] != "" for c in one))
        self.assertNotIn("_", done.stdout.decode())
        powers = [f"{float(row['peak_power_kW']):20.1f}" for row in (one, four)]
        self.assertIn(f"{'peak power, kW':38} {' '.join(powers)}\n", above)
        self.assertRegex(above, r"(?m)^ranking value, kW +\d+\.\d +\d+\.\d$")
        self.assertRegex(done.stdout.decode(), r"(?m)^left to limit: boost, kPa +\d")
