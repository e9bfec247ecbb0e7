"""Kits of a results folder are found again by their number, and as what was not picked."""
import test_point


class Found(test_point.Results):
    STUDIES = ("kit",)

    def test_a_kit_of_the_results(self):
        """By its rank; it is what its combination is, on one screen."""
        for rank in (1, 3):
            done = self.point("kit", "--results", "kit", "--kit", str(rank))
            same = self.point("kit", "--combination", self.ranked["kit"][rank - 1]["index"])
            self.assertEqual((done.returncode, done.stdout), (0, same.stdout))
            self.assertLessEqual(done.stdout.count(b"\n"), 25)
        last = len(self.ranked["kit"])
        done = self.point("kit", "--results", "kit", "--kit", str(last + 1))
        self.assertEqual(done.returncode, 2)
        self.assertIn(f"a whole number from 1 to {last} is needed".encode(), done.stderr)

    def test_what_is_not_picked_is_that_of_the_best_that_fits(self):
        best = self.ranked["kit"][0]
        done = self.point("kit", "--results", "kit", "--csv")
        self.assertEqual(done.stdout, self.point("kit", "--csv", "--combination", best["index"]).stdout)
        self.assertIn(b"not picked, so as in kit 1 of kit: ", done.stderr)
        other = next(i for i, row in enumerate(self.ranked["kit"]) if row["blower_pulley_mm"] != best["blower_pulley_mm"])
        row = self.ranked["kit"][other]
        done = self.point("kit", "--results", "kit", "--csv", "--pick", f"blower_pulley={row['blower_pulley_mm']} mm")
        self.assertEqual(done.stdout, self.point("kit", "--csv", "--combination", row["index"]).stdout)
        self.assertIn(f"as in kit {other + 1} of kit: ".encode(), done.stderr)

    def test_results_of_another_study_are_not_taken(self):
        done = self.point("us", "--results", "kit")
        self.assertEqual(done.returncode, 2)
        self.assertIn(b"of another study, or of this one before it was changed", done.stderr)
        self.assertIn(b"there are no results in nowhere", self.point("us", "--results", "nowhere", "--kit", "1").stderr)
