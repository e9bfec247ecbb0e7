#!/usr/bin/env python3
"""test_debian.py CPACK BUILD_DIR VERSION CACHE: builds the Debian package, looks through it, installs it into an
empty root, runs a demo study from there and removes it again."""
import glob
import gzip
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

cpack = build = version = cache = None
work = package = None

PROGRAM, CONFIGS = "usr/bin/sheave", "usr/share/sheave/configs"
NEEDED = {PROGRAM, "usr/share/man/man1/sheave.1.gz", "usr/share/bash-completion/completions/sheave",
          "usr/share/doc/sheave/copyright", "usr/share/doc/sheave/changelog.gz", "usr/share/doc/sheave/README.md",
          "usr/share/doc/sheave/config.md", "usr/share/doc/sheave/example.c",
          "usr/include/sheave/sheave.h", "usr/lib/pkgconfig/sheave.pc",
          f"{CONFIGS}/hillclimb.cfg", f"{CONFIGS}/parts.cfg", f"{CONFIGS}/maps/twist-small.csv", f"{CONFIGS}/sample.cfg", "usr/share/doc/sheave/start.md", "usr/share/doc/sheave/report.md",
          "usr/share/doc/sheave/pictures/power.svg"}
PLACES = re.compile(r"usr/(bin/sheave$|include/sheave/|lib/(libsheave\.|pkgconfig/)|share/(man/man1|doc/sheave|sheave|"
                    r"bash-completion/completions)/)")


def output(*command, **more):
    return subprocess.run(command, capture_output=True, check=True, text=True, **more).stdout


def setUpModule():
    global work, package
    if shutil.which("dpkg-deb") is None or shutil.which("dpkg-shlibdeps") is None:
        sys.exit(77)
    work = tempfile.TemporaryDirectory(prefix="sheave-package-")
    subprocess.run([cpack, "-G", "DEB", "--config", os.path.join(build, "CPackConfig.cmake"), "-B", work.name],
                   cwd=build, check=True, stdout=subprocess.DEVNULL)
    (package,) = glob.glob(os.path.join(work.name, "*.deb"))


def tearDownModule():
    work.cleanup()


def listing():
    """(mode, owner, path) of everything in the package."""
    rows = [line.split(maxsplit=5) for line in output("dpkg-deb", "-c", package).splitlines()]
    return [(r[0], r[1], re.sub(r" -> .*", "", r[5]).removeprefix("./")) for r in rows]


class Package(unittest.TestCase):
    def field(self, name):
        return output("dpkg-deb", "-f", package, name).strip()

    def test_name(self):
        architecture = output("dpkg", "--print-architecture").strip()
        self.assertEqual(os.path.basename(package), f"sheave_{version}_{architecture}.deb")

    def test_control_fields(self):
        self.assertEqual(self.field("Package"), "sheave")
        self.assertEqual(self.field("Version"), version)
        self.assertEqual(self.field("Section"), "science")
        self.assertRegex(self.field("Maintainer"), r"\A[^<>]+ <\S+@\S+\.example>\Z")
        self.assertRegex(self.field("Homepage"), r"\.example/\Z")
        self.assertIn("gnuplot", self.field("Recommends"))
        summary, *words = self.field("Description").splitlines()
        self.assertLess(len(summary), 80)
        self.assertFalse(summary.endswith("."))
        self.assertTrue(words and all(len(line) <= 80 for line in words))

    def test_depends_on_the_libraries_it_is_linked_to(self):
        names = {re.split(r"[ (|]", part.strip())[0] for part in self.field("Depends").split(",")}
        for stem in ("libc6", "libconfig", "libnlopt", "libsqlite3", "libudunits2", "libgomp"):
            self.assertTrue(any(name.startswith(stem) for name in names), f"{stem} in {names}")

    def test_files(self):
        paths = {path for mode, _, path in listing() if not mode.startswith("d")}
        self.assertEqual(NEEDED - paths, set(), "missing")
        for path in paths:
            self.assertRegex(path, PLACES)

    def test_owners_and_modes(self):
        for mode, owner, path in listing():
            self.assertEqual(owner, "root/root", path)
            wanted = "drwxr-xr-x" if mode.startswith("d") else "lrwxrwxrwx" if mode.startswith("l") else \
                "-rwxr-xr-x" if path == PROGRAM else "-rw-r--r--"
            self.assertEqual(mode, wanted, path)

    def test_scripts_only_tell_of_the_library(self):
        with tempfile.TemporaryDirectory() as folder:
            output("dpkg-deb", "-e", package, folder)
            self.assertEqual(set(os.listdir(folder)), {"control", "md5sums", "postinst", "postrm"})
            for name in ("postinst", "postrm"):
                with open(os.path.join(folder, name), encoding="utf-8") as file:
                    lines = [line.strip() for line in file if line.strip() and not line.startswith("#")]
                self.assertLessEqual(set(lines) - {"set -e", "ldconfig", "fi"},
                                     {'if [ "$1" = "configure" ]; then', 'if [ "$1" = "remove" ]; then'})

    def test_documents(self):
        with tempfile.TemporaryDirectory() as folder:
            output("dpkg-deb", "-x", package, folder)
            doc = os.path.join(folder, "usr/share/doc/sheave")
            with open(os.path.join(doc, "copyright"), encoding="utf-8") as file:
                self.assertRegex(file.read(), r"(?s)\AFormat: https://www\.debian\.org/.*License: Expat\n Permission")
            with gzip.open(os.path.join(doc, "changelog.gz"), "rt") as file:
                self.assertTrue(file.read().startswith(f"sheave ({version}) "))
            self.assertNotIn("not stripped", output("file", os.path.join(folder, PROGRAM))
                             if shutil.which("file") else "")
            self.assertNotRegex(output("readelf", "-d", os.path.join(folder, PROGRAM)), "R(UN)?PATH")


class Installed(unittest.TestCase):
    def dpkg(self, root, *arguments):
        """Of a root of its own, where no library and no shell is: scripts run outside, with an ldconfig that does
        nothing."""
        tools = os.path.join(root, "tools")
        os.makedirs(tools, exist_ok=True)
        with open(os.path.join(tools, "ldconfig"), "w", encoding="utf-8") as file:
            file.write("#!/bin/sh\n")
        os.chmod(file.name, 0o755)
        environment = dict(os.environ, PATH=f"{tools}:{os.environ['PATH']}")
        return output("dpkg", f"--root={root}", "--force-depends", "--force-script-chrootless",
                      f"--log={root}/log", *arguments, env=environment)

    def test_installs_runs_a_demo_and_leaves_nothing(self):
        if os.geteuid() != 0:
            self.skipTest("only root may unpack files as root's")
        with tempfile.TemporaryDirectory(prefix="sheave-root-") as root:
            database = os.path.join(root, "var/lib/dpkg")
            for name in ("info", "updates", "triggers"):
                os.makedirs(os.path.join(database, name))
            for name in ("status", "available"):
                open(os.path.join(database, name), "w", encoding="utf-8").close()
            self.dpkg(root, "--install", package)
            self.assertIn("Status: install ok", self.dpkg(root, "--status", "sheave"))
            self.run_demo(root)
            self.build_example(root)
            self.dpkg(root, "--purge", "sheave")
            self.assertEqual([path for path in NEEDED if os.path.exists(os.path.join(root, path))], [])
            self.assertFalse(os.path.exists(os.path.join(root, "usr")), "a folder was left behind")

    def run_demo(self, root):
        program, study = os.path.join(root, PROGRAM), os.path.join(root, CONFIGS, "sample.cfg")
        self.assertEqual(output(program, "--version"), f"sheave {version}\n")
        with tempfile.TemporaryDirectory(prefix="sheave-demo-") as folder:
            environment = dict(os.environ, XDG_CACHE_HOME=cache)
            said = output(program, "run", study, "--quiet", "--out", folder, env=environment)
            self.assertIn("Strongest on paper", said)
            for name in ("ranked.csv", "report.html"):
                self.assertGreater(os.path.getsize(os.path.join(folder, name)), 1000)

    def build_example(self, root):
        """docs/example.c with nothing but what the package installs."""
        library = os.path.join(root, "usr/lib")
        flags = output("pkg-config", "--cflags", "--libs", "sheave",
                       env=dict(os.environ, PKG_CONFIG_PATH=os.path.join(library, "pkgconfig"))).split()
        self.assertIn(f"-I{root}/usr/include", [os.path.normpath(flag) for flag in flags])
        source, program = os.path.join(root, "usr/share/doc/sheave/example.c"), os.path.join(root, "example")
        output("cc", "-std=c17", "-Wall", "-Wextra", "-Wpedantic", "-Werror", source, *flags, "-o", program)
        said = output(program, os.path.join(root, CONFIGS, "sample.cfg"), env=dict(os.environ, LD_LIBRARY_PATH=library))
        self.assertRegex(said, r"(?m)^\d+ of \d+ kits are feasible$")
        self.assertRegex(said, r"(?m)^.+, \d+ mm on \d+ mm: \d+\.\d kW at \d+ rpm at .+$")
        self.assertRegex(said, r"(?m)^.+ with .+: ideal ratio \d\.\d{3}$")
        os.remove(program)


if __name__ == "__main__":
    cpack, build, version, cache = sys.argv[1], os.path.abspath(sys.argv[2]), sys.argv[3], os.path.abspath(sys.argv[4])
    unittest.main(argv=sys.argv[:1])
