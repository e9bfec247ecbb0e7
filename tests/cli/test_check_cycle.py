"""What check says of the closed cycle."""
import re

import test_cycle
from support import read_bytes


class Check(test_cycle.Cycle):
    def test_tells_how_good_tables_are(self):
        text = self.sheave("check", "knock.cfg").stdout.decode()
        rows = re.findall(r"^(super|race) +0\.860 harbour +(\d+x\d+x\d+) +([0-9. ]+) (?:built|from file)$", text,
                          re.MULTILINE)
        self.assertEqual([row[0] for row in rows], ["super", "race"])
        for row in rows:
            errors = [float(x) for x in row[2].split()]
            self.assertEqual(len(errors), 3)
            self.assertGreater(sum(errors), 0)
            for error, accepted in zip(errors, (0.1, 0.3, 0.5)):
                self.assertLessEqual(error, accepted)

    def test_tells_how_the_stock_engine_burns(self):
        text = self.sheave("check", "knock.cfg", "--skip-tables").stdout.decode()
        self.assertRegex(text, r"asks for 0\.\d{3} \(at \d+ rpm\) to [01]\.\d{3} \(at \d+ rpm\) times the work")
        self.assertRegex(text, r"\n  2000 rpm +1\d\.\d deg, retard \d\.\d\n")
        self.assertIn("deg, the best: knock does not hold it back\n", text)
        self.assertIn("\nCycle tables: 2, not built.\n", text)

    def test_warns_of_an_unlikely_tie(self):
        text = read_bytes(self.folder, "knock.cfg").decode()
        with open(self.path("weak.cfg"), "w", encoding="utf-8") as file:
            file.write(text.replace('"136 N.m"', '"90 N.m"').replace('"156 N.m"', '"190 N.m"'))
        done = self.sheave("check", "weak.cfg", "--skip-tables")
        self.assertEqual(done.returncode, 0)
        self.assertRegex(done.stderr.decode(),
                         r"\Asheave check: warning: the stock torque curve asks for 0\.\d{3} times the work of the "
                         r"closed cycle at 2000 rpm, outside 0\.85 to 1\.15 there and at 1 other speed: check torque, ")
        self.assertEqual(done.stderr.count(b"\n"), 1)
