"""One word for one thing, and an answer that fits a screen."""
import os
import re
import unittest

import support
from support import read_bytes

# Of what has a word of its own, the words it had besides.
OTHER_WORDS = ("turned down", "later than best", "span left", "of its span", "shadow price", "backed off", "being sure",
               "gauge pressure", "price of serving", "price of common", "burning later", "what the ranking is by")
COMMANDS = ("new", "check", "run", "merge", "point", "fit", "blower", "report", "compare", "plan")
STUDIES = ("kit.cfg", "us.cfg", "knock.cfg", "sure.cfg", "fronts.cfg", "single.cfg", "nothing.cfg")
LINES, WIDTH = 40, 100


def plain(page):
    """What a page says: without drawings, code and marks."""
    page = re.sub(r"<(svg|style|script)\b.*?</\1>", " ", page, flags=re.S)
    return re.sub(r"<[^>]*>", " ", page)


class Screen(unittest.TestCase):
    def assert_words(self, text, where):
        text = " ".join(text.lower().split())
        for words in OTHER_WORDS:
            self.assertNotIn(words, text, where)

    def test_all_cores_of_a_row_are_counted(self):
        with support.workspace() as folder:
            with open(os.path.join(folder, "cores.cfg"), "w", encoding="utf-8") as file:
                file.write('title = "Cores";\n@include "parts.cfg"\n@include "car.cfg"\n'
                           'drive = { crank_pulleys = "130 mm"; blower_pulleys = [ "80 mm", "84 mm" ]; };\n'
                           'blowers = ( "short" ); fuels = ( "plain" ); search = { enabled = false; };\n'
                           'coolers = ( { name = "grille"; effectiveness = { from = 0.5; to = 0.7; step = 0.01; };\n'
                           '  rated_flow = "0.16 kg/s"; pressure_drop = "6 kPa"; pressure_drop_effectiveness = 0.6; } );\n'
                           'results = { folder = "out"; keep = 100; report = false; };\n')
            done = support.run(["run", "cores.cfg", "--out", "there"], folder)
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertEqual(done.stdout.decode().count(" 21 cores "), 2, done.stdout.decode())

    def test_answers(self):
        for study in STUDIES:
            with self.subTest(study=study), support.workspace() as folder:
                done = support.run(["run", study, "--out", "there"], folder)
                self.assertIn(done.returncode, (0, 1), done.stderr)
                text = done.stdout.decode()
                self.assertLessEqual(text.count("\n"), LINES, text)
                self.assertLessEqual(max(map(len, text.splitlines())), WIDTH, text)
                self.assert_words(text, study)
                self.assert_heads(os.path.join(folder, "there"))
                if done.returncode == 0:
                    self.check_kits(study, text, folder)

    def assert_heads(self, folder):
        """Names of columns: what is left to a limit is its room; only ignition and belts have margins."""
        names = [n for n in os.listdir(folder) if n.endswith(".csv")]
        self.assertGreater(len(names), 3)
        for name in names:
            with open(os.path.join(folder, name), encoding="utf-8") as file:
                head = file.readline().strip()
            self.assertNotIn("margin", head.replace("ignition_margin", "").replace("slip_margin", ""), name)
            self.assert_words(head.replace("_", " "), name)

    def check_kits(self, study, text, folder):
        """Which kit is which; the value ranked by and a peak of power are told apart."""
        lines = text.splitlines()
        first = "Kit to sell: holds every limit with " if study == "sure.cfg" else "Strongest on paper."
        self.assertTrue(lines[0].startswith(first), lines[0])
        self.assertEqual(text.count("Strongest on paper"), 1)
        self.assertEqual(text.count("Ranking value "), text.count("Peak power ") + text.count("Ranking value of "))
        self.assertEqual(text.count("With tolerances in the study"), study != "sure.cfg")
        kit = "sell" if study == "sure.cfg" else "1"
        self.assertIn(f"Next: sheave report there --kit {kit} ", text)

    def test_long_has_the_rest(self):
        with support.workspace() as folder:
            short = support.run(["run", "sure.cfg", "--out", "there"], folder).stdout.decode()
            done = support.run(["run", "sure.cfg", "--out", "there", "--long"], folder)
        text = done.stdout.decode()
        answer = short[:short.index("\nResults are in")]
        self.assertTrue(text.startswith(answer))
        self.assertIn("Where the combinations went", text[len(answer):])
        self.assertIn("How sure that is", text[len(answer):])
        self.assert_words(text, "--long")

    def test_page(self):
        with support.workspace() as folder:
            path = os.path.join(folder, "sure.cfg")
            with open(path, encoding="utf-8") as file:
                study = file.read()
            with open(path, "w", encoding="utf-8") as file:
                file.write(study.replace("report = false", "report = true"))
            self.assertEqual(support.run(["run", "sure.cfg", "--out", "there"], folder).returncode, 0)
            self.assert_words(plain(read_bytes(folder, "there", "report.html").decode()), "report.html")

    def test_headers_of_tables(self):
        for study in ("sure.cfg", "fronts.cfg", "us.cfg"):
            with support.workspace() as folder:
                self.assertEqual(support.run(["run", study, "--out", "there", "--no-report"], folder).returncode, 0)
                tables = [name for name in os.listdir(os.path.join(folder, "there")) if name.endswith(".csv")]
                self.assertGreater(len(tables), 8)
                for name in tables:
                    header = read_bytes(folder, "there", name).decode().splitlines()[0]
                    self.assert_words(re.sub("[_,]", " ", header), name)

    def test_help(self):
        for command in COMMANDS:
            with support.workspace() as folder:
                text = support.run([command, "--help"], folder).stdout.decode()
            self.assert_words(text, command)
        with support.workspace() as folder:
            for option in ("--help", "--man"):
                self.assert_words(support.run([option], folder).stdout.decode(), option)


if __name__ == "__main__":
    unittest.main()
