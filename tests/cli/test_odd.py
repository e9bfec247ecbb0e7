"""Odd files, odd names, other folders."""
import os
import resource
import unittest

import support
from support import read_bytes, read_manifest, records


class Odd(unittest.TestCase):
    def setUp(self):
        self.workspace = support.workspace()
        self.folder = self.workspace.name
        self.addCleanup(self.workspace.cleanup)

    def sheave(self, *arguments, **how):
        return support.run(arguments, self.folder, **how)

    def write(self, name, data):
        path = os.path.join(self.folder, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "wb") as file:
            file.write(data)

    def read(self, *path):
        return read_bytes(self.folder, *path)

    def refuses(self, data, message):
        self.write("odd.cfg", data)
        done = self.sheave("check", "odd.cfg")
        self.assertEqual(done.returncode, 2, done.stderr)
        self.assertEqual(done.stdout, b"")
        self.assertIn(message, done.stderr.decode())

    # ---- files ----

    def test_empty_file(self):
        self.refuses(b"", "odd.cfg:1: title: found nothing")

    def test_binary_file(self):
        self.refuses(bytes(range(256)) * 16, "odd.cfg:1: found a zero byte")

    def test_program_as_study(self):
        done = self.sheave("check", support.program)
        self.assertEqual(done.returncode, 2)
        self.assertIn(b"found a zero byte", done.stderr)

    def test_text_not_closed(self):
        self.refuses(self.read("kit.cfg").replace(b'litre four"', b"litre four"), "odd.cfg:2: found a text that is not closed")

    def test_huge_file(self):
        self.write("odd.cfg", b"")
        os.truncate(os.path.join(self.folder, "odd.cfg"), 20 * 1024 * 1024 + 1)
        done = self.sheave("check", "odd.cfg")
        self.assertEqual(done.returncode, 3)
        self.assertIn(b"larger than 20 MiB", done.stderr)

    def limited(self, text):
        """What check says of a study, in 2 s of processor time and 500 MB."""
        self.write("odd.cfg", text)

        def limit():
            resource.setrlimit(resource.RLIMIT_CPU, (2, 3))
            resource.setrlimit(resource.RLIMIT_AS, (500 << 20, 500 << 20))
        return self.sheave("check", "odd.cfg", "--skip-time", preexec_fn=limit)

    def test_as_much_as_is_taken(self):
        study = self.read("single.cfg")
        for more in (b"".join(b"unknown_%d = 1;\n" % i for i in range(4900)),
                     b"unknown = {" + b"".join(b"k%d = %d; " % (i, i) for i in range(4900)) + b"};\n",
                     b"unknown = {" + b"".join(b'k%d = "%s"; ' % (i, b"x" * 750) for i in range(4900)) + b"k4899 = 1; };\n",
                     b"unknown = [" + b"1, " * 199000 + b"1];\n",
                     b"mixture = { lambda = (" + b"0.9, " * 199000 + b"0.9); };\n",
                     b"unknown = (" + b"(1, 1), " * 99000 + b"(1, 1));\n",
                     b"unknown = " + b"(" * 100000 + b")" * 100000 + b";\n",
                     b"# comment\n" * 400000,
                     b"/* " + b"long " * 800000 + b"*/\n",
                     b'u = "never closed\n' * 200000,
                     b"u = (99999999999 " + b"99999999999 " * 300000 + b");\n",
                     "\u201c\u201d".encode() * 600000,
                     b"a" * 4000000 + b" = 1;\n",
                     b"a = " + b" " * 4000000 + b"1;\n",
                     b"a = 0." + b"0" * 4000000 + b"1;\n",
                     b"# " + b"x" * 4000000 + b"\n"):
            with self.subTest(more=more[:30]):
                done = self.limited(study + more)
                self.assertIn(done.returncode, (0, 2), done.stderr[:300])
                self.assertLess(len(done.stderr), 4 << 20)

    def test_maps_as_large_as_are_taken(self):
        """Ten of a hundred thousand points each; of more text than that no map is even opened."""
        rows = "".join(f"{1000 + i // 1000},{1 + i % 1000 / 500:.3f},0.9,0.6\n" for i in range(99000))
        self.write("big.csv", b"rotor_speed_rpm,pressure_ratio,volumetric_efficiency,isentropic_efficiency\n" + rows.encode())
        parts = b"".join(b'{ name = "b%d"; kind = "map"; displacement = "1 l"; max_speed = "16000 rpm"; '
                         b'file = "big.csv"; max_pressure_rise = "140 kPa"; }, ' % i for i in range(30))
        done = self.limited(self.read("single.cfg").replace(b"( \"short\" )", b"( " + parts[:-2] + b" )"))
        self.assertEqual(done.returncode, 2)
        self.assertIn(b"big.csv: found more than 20 MiB in the study and the files that it names; accepted: up to 20 MiB", done.stderr)

    def test_device(self):
        done = self.sheave("check", "/dev/null")
        self.assertEqual(done.returncode, 3)
        self.assertIn(b"not a regular file", done.stderr)

    def test_fifo(self):
        """Refused at once: nobody will ever write into it."""
        os.mkfifo(os.path.join(self.folder, "fifo"))
        done = self.sheave("check", "fifo", timeout=20)
        self.assertEqual((done.returncode, done.stdout), (3, b""))
        self.assertEqual(done.stderr, b"sheave check: fifo: cannot be read: not a regular file\n")

    def test_byte_order_marks(self):
        text = self.read("kit.cfg").decode()
        self.refuses(text.encode("utf-8-sig"), "odd.cfg:1: found a byte-order mark (UTF-8 BOM); save the file without it")
        self.refuses(text.encode("utf-16"), "odd.cfg:1: found the byte-order mark of UTF-16")
        self.refuses(text.encode("utf-16-le"), "odd.cfg:1: found UTF-16 text; save the file as UTF-8")
        self.write("parts.cfg", self.read("parts.cfg").decode().encode("utf-8-sig"))
        done = self.sheave("check", "kit.cfg")
        self.assertEqual(done.returncode, 2)
        self.assertIn(b": parts.cfg:1: found a byte-order mark (UTF-8 BOM)", done.stderr)

    def test_lines_of_another_system(self):
        """Line ends of CR LF change nothing but the hash."""
        plain = self.sheave("check", "kit.cfg", "--skip-time")
        for name in ("kit.cfg", "parts.cfg", "car.cfg", "maps/long.csv"):
            self.write(name, self.read(name).replace(b"\n", b"\r\n"))
        other = self.sheave("check", "kit.cfg", "--skip-time")
        self.assertEqual(other.stderr, b"")
        self.assertEqual(other.stdout, plain.stdout)

    def test_include_of_itself(self):
        self.refuses(b'@include "odd.cfg"\n', "nested too deep")

    def test_include_of_a_folder(self):
        self.refuses(b'@include "maps"\n', 'found @include "maps", which cannot be opened: not a regular file')

    # ---- folders ----

    def test_from_any_folder(self):
        """Includes and maps are found from the study, results from where the program is started."""
        expected = self.sheave("run", "kit.cfg", "--out", "here")
        self.assertEqual(expected.returncode, 0)
        os.makedirs(os.path.join(self.folder, "sub/deeper"))
        done = self.sheave("run", "../../kit.cfg", cwd=os.path.join(self.folder, "sub/deeper"))
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(self.read("sub/deeper/out/ranked.csv"), self.read("here/ranked.csv"))
        done = self.sheave("run", os.path.join(self.folder, "kit.cfg"), cwd=os.path.join(self.folder, "sub"))
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(self.read("sub/out/ranked.csv"), self.read("here/ranked.csv"))

    def test_includes_from_another_folder(self):
        text = self.read("kit.cfg").replace(b'"parts.cfg"', b'"../parts.cfg"').replace(b'"car.cfg"', b'"../car.cfg"')
        self.write("sub/kit.cfg", text)
        done = self.sheave("check", "sub/kit.cfg")
        self.assertEqual((done.returncode, done.stderr), (0, b""))

    def test_folder_from_the_name_of_the_study(self):
        self.write("my study.v2.cfg", self.read("single.cfg").replace(b'folder = "out"; ', b""))
        done = self.sheave("run", "my study.v2.cfg")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(sorted(os.listdir(os.path.join(self.folder, "results/my study.v2"))), sorted(support.FILES + support.KEPT))

    def test_odd_names_of_study_and_folder(self):
        study, out = 'a "b"\\ ä,\'.cfg', 'out "x"\n\\ ß'
        self.write(study, self.read("single.cfg"))
        done = self.sheave("run", study, "--out", out)
        self.assertEqual(done.returncode, 0, done.stderr)
        manifest = read_manifest(self.read(out, "manifest.cfg").decode())
        self.assertEqual(manifest["study"]["path"], study)
        self.assertEqual(manifest["run"]["options"], "--out " + out)

    def test_name_too_long(self):
        for name in ("x" * 300, "x/" * 3000):
            done = self.sheave("run", "single.cfg", "--out", name)
            self.assertEqual(done.returncode, 3)
            self.assertIn(b"too long", done.stderr)

    def test_study_name_too_long(self):
        done = self.sheave("check", "x" * 5000 + ".cfg")
        self.assertEqual(done.returncode, 3)
        self.assertIn(b"sheave check: ", done.stderr)

    # ---- names of parts ----

    def rename(self, name):
        quoted = name.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
        for file in ("parts.cfg", "single.cfg"):
            self.write(file, self.read(file).replace(b'"short"', f'"{quoted}"'.encode()))

    def test_odd_names_of_parts(self):
        for name in ('a, "b"', "=1+1", "-x", "@a", "Größe ∅", "a=b", "none", "  x ", "it's", "x" * 200, "%s%n"):
            with self.subTest(name=name):
                self.setUp()
                self.rename(name)
                done = self.sheave("run", "single.cfg")
                self.assertEqual(done.returncode, 0, done.stderr)
                row, = records(self.read("out/ranked.csv"))
                quote = "'" if name[0] in "=-@" else ""  # or a spreadsheet would compute it
                self.assertEqual(row["blower"], quote + name)
                done = self.sheave("point", "single.cfg", "--pick", "blower=" + name)
                self.assertEqual(done.returncode, 0, done.stderr)

    def test_tables_show_names_as_they_are(self):
        name = "Größe ∅ 漢字"
        self.rename(name)
        done = self.sheave("run", "single.cfg")
        text = done.stdout.decode()
        self.assertIn(f"Blower {name}, pulleys", " ".join(text.split()))
        text = self.sheave("run", "single.cfg", "--long").stdout.decode()
        head, row = (next(l for l in text.splitlines() if l.startswith(start)) for start in (" # blower", " 1 "))
        self.assertEqual(row.index(name), head.index("blower"))
        self.assertEqual(row.index(" none"), head.index(" cooler"), "columns stand under each other")
        self.assertNotIn("?", text)
        done = self.sheave("point", "single.cfg")
        self.assertIn(f"Blower {name} with", " ".join(done.stdout.decode().split()))

    def test_check_counts_characters(self):
        self.write("car.cfg", self.read("car.cfg").replace(b'"harbour"', '"Häfen ∅"'.encode()))
        lines = self.sheave("check", "single.cfg").stdout.decode().splitlines()
        sites = lines[lines.index("Sites") + 1:lines.index("Dimensions") - 1]
        self.assertEqual(sites[0][:9], "  Häfen ∅")
        self.assertEqual(len({site.index("humidity") for site in sites}), 1, sites)

    def test_line_break_in_a_name(self):
        self.rename("new\nline")
        done = self.sheave("run", "single.cfg")
        self.assertEqual(done.returncode, 2)
        self.assertIn(b"control characters", done.stderr)
        self.assertNotIn("out", os.listdir(self.folder))


class Names(unittest.TestCase):
    def test_wrong_name_shows_where_names_end(self):
        with support.workspace() as folder:
            done = support.run(["point", "kit.cfg", "--pick", "blower=twisted"], folder)
        self.assertEqual(done.returncode, 2)
        self.assertIn(b'the study has "short", "long, twisted"\n', done.stderr)
