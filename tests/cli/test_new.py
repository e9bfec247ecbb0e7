"""sheave new: studies that run as they are, in both systems of units; the commands of docs/start.md."""
import os
import re
import shlex
import tempfile
import unittest

import support

ROOT = os.path.join(support.HERE, "..", "..")


class New(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="sheave-test-")
        self.addCleanup(folder.cleanup)
        self.folder = folder.name

    def sheave(self, *arguments, code=0):
        done = support.run(arguments, self.folder)
        self.assertEqual(done.returncode, code, done.stderr.decode() + done.stdout.decode())
        return done

    def read(self, *path):
        return support.read_bytes(self.folder, *path)

    def best(self, units):
        """The best row of what the study finds."""
        done = self.sheave("new", f"{units}.cfg", "--units", units)
        self.assertIn(f"sheave run {units}.cfg".encode(), done.stdout)
        ran = self.sheave("run", f"{units}.cfg", "--out", units, "--no-report", "--quiet")
        self.assertEqual(ran.stderr, b"")
        return support.records(self.read(units, "ranked.csv"))[0]

    def test_both_systems_give_a_sane_answer(self):
        """Half an atmosphere of boost makes one and a half to twice the power; the same kit by either study."""
        metric, us = self.best("metric"), self.best("us")
        power, boost = float(metric["peak_power_kW"]), float(metric["highest_boost_kPa"])
        self.assertTrue(40 < boost < 61, boost)
        self.assertTrue(1.3 < power / 108.1 < 1.9, power)  # 172 N m at 6000 rpm
        self.assertLess(abs(float(us["peak_power_hp"]) * 0.7457 / power - 1), 0.05)
        self.assertLess(abs(float(us["highest_boost_psi"]) * 6.8948 / boost - 1), 0.12)
        self.assertEqual(metric["cooler"], us["cooler"])

    def test_us_units_have_their_own_words(self):
        """AFR beside lambda, AKI beside the fuel, injectors by mass: in ranked.csv and in words."""
        self.sheave("new", "us.cfg", "--units", "us")
        text = self.read("us.cfg").decode().replace("aki = 90; sensitivity = 10;", "aki = 91;")
        text += 'injectors = ( { name = "set"; flow = "42 lb/h"; test_density = "770 kg/m3"; } );\n'
        with open(os.path.join(self.folder, "us.cfg"), "w", encoding="utf-8") as file:
            file.write(text)
        checked = self.sheave("check", "us.cfg", "--skip-time", "--skip-tables").stdout.decode()
        self.assertRegex(checked, r"Fuels +RON +MON +AKI +stoichiometric\n  pump +95\.0 +87\.0 +91\.0 +14\.30")
        self.assertRegex(checked, r"set +412 cm3/min .* 42\.0 lb/h")
        said = " ".join(self.sheave("run", "us.cfg", "--out", "us", "--quiet").stdout.decode().split())
        self.assertIn("pump at lambda 0.88 (AFR 12.6)", said)
        self.assertIn("injectors set of 412 cm3/min (42.0 lb/h)", said)
        best = support.records(self.read("us", "ranked.csv"))[0]
        self.assertEqual(best["aki"], "91")
        self.assertAlmostEqual(float(best["air_fuel_ratio"]), 14.3 * float(best["lambda"]), 9)
        self.assertAlmostEqual(float(best["injector_mass_flow_lb_h"]), 42, 4)
        self.assertIn("AKI 91, lambda 0.88, air-fuel ratio 12.6", self.read("us", "parts.csv").decode())
        page = self.read("us", "report.html").decode()
        self.assertIn("at lambda 0.88 (AFR 12.6)", page)
        self.sheave("new", "metric.cfg")
        self.sheave("run", "metric.cfg", "--out", "metric", "--quiet", "--no-report")
        self.assertNotIn("air_fuel_ratio", self.read("metric", "ranked.csv").decode())

    def test_every_group_is_there_or_named(self):
        """What config.md has at the top level is set in the study or named at its end."""
        self.sheave("new", "a.cfg")
        text = self.read("a.cfg").decode()
        with open(os.path.join(ROOT, "docs", "config.md"), encoding="utf-8") as page:
            top = page.read().partition('<a id="top-level">')[2].partition("\n## ")[0]
        keys = re.findall(r"^\| `(\w+)` \|", top, flags=re.M)
        self.assertGreater(len(keys), 15)
        for key in keys:
            self.assertRegex(text, rf"\b{key}\b", "neither set nor named")
        self.assertNotRegex(text, r"<<|>>")

    def test_config_opens_with_twenty_keys(self):
        with open(os.path.join(ROOT, "docs", "config.md"), encoding="utf-8") as page:
            first = page.read().partition("\n## ")[2].partition("\n## ")[0]
        self.assertTrue(first.startswith("The twenty keys that matter"))
        self.assertEqual(len(re.findall(r"^\| \[`[a-z_.]+`\]", first, flags=re.M)), 20)

    def test_no_file_is_written_over(self):
        self.sheave("new", "a.cfg")
        before = self.read("a.cfg")
        done = self.sheave("new", "a.cfg", "--units", "us", code=2)
        self.assertEqual(done.stderr, b"sheave new: a.cfg is there already; nothing was written\n")
        self.assertEqual(self.read("a.cfg"), before)

    def test_demos_come_with_their_parts(self):
        """Several share one folder; what was changed in it stays."""
        for demo in ("hillclimb", "pickup", "van", "boat"):
            self.sheave("new", f"mine/{demo}.cfg", "--from", demo)
            with open(os.path.join(ROOT, "configs", f"{demo}.cfg"), "rb") as file:
                self.assertEqual(self.read("mine", f"{demo}.cfg"), file.read())
        self.sheave("check", "mine/boat.cfg", "--skip-tables", "--skip-time")
        with open(os.path.join(self.folder, "mine", "parts.cfg"), "a", encoding="utf-8") as file:
            file.write("# mine\n")
        done = self.sheave("new", "mine/again.cfg", "--from", "van", code=2)
        self.assertIn(b"parts.cfg is there already", done.stderr)
        self.assertTrue(self.read("mine", "parts.cfg").endswith(b"# mine\n"))

    def test_bad_options(self):
        for options, said in ((("--units", "imperial"), b"accepted: metric or us"),
                              (("--from", "lorry"), b"demos are hillclimb, pickup, van and boat"),
                              (("--from", "van", "--units", "us"), b"leave --units out")):
            with self.subTest(options=options):
                self.assertIn(said, self.sheave("new", "a.cfg", *options, code=2).stderr)
                self.assertFalse(os.path.exists(os.path.join(self.folder, "a.cfg")))
        self.sheave("new", "a.cfg")
        self.assertIn(b"sheave new: ", self.sheave("new", "a.cfg/b.cfg", code=3).stderr)

    def test_commands_of_the_first_ten_minutes(self):
        with open(os.path.join(ROOT, "docs", "start.md"), encoding="utf-8") as page:
            commands = re.findall(r"^ {4,6}sheave (.*)$", page.read(), flags=re.M)
        self.assertGreaterEqual(len(commands), 6)
        for command in commands:
            self.sheave(*shlex.split(command))
        self.assertTrue(os.path.exists(os.path.join(self.folder, "first", "report.html")))
