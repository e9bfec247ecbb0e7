#!/usr/bin/env python3
"""test_pages.py PROGRAM CACHE [SHOTS]: report.html and the kit sheet in headless Chromium. With a folder SHOTS,
pictures of what was looked at are left there."""
import os
import re
import shutil
import sys
import tempfile
import unittest
import xml.etree.ElementTree

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "cli"))

import driver   # noqa: E402
import support  # noqa: E402

shots = None
NASTY = "<script>window.injected=1</script>"
# Names as no one should give them; libconfig has the quotes behind backslashes.
NAMES = {'"harbour"': f'"{NASTY} & \\"harbour\\""',
         '"plain"': f'"pl\'ain {NASTY}"',
         '"grille"': '"grille `date` @x"',
         '"long, twisted"': '"=short, <b>\'twisted\'</b>"'}
ENTER, TAB = "\ue007", "\ue004"

browser = folder = None


def make(study, name, change=lambda text: text):
    """Runs a study of tests/cli with pages; gives the folder of its results."""
    with support.workspace() as where:
        for entry in os.listdir(where):
            if entry.endswith(".cfg"):
                path = os.path.join(where, entry)
                with open(path, encoding="utf-8") as file:
                    text = change(file.read()).replace("report = false;", "report = true;")
                with open(path, "w", encoding="utf-8") as file:
                    file.write(text)
        out = os.path.join(folder.name, name)
        done = support.run(["run", study, "--quiet", "--out", out], where)
    if done.returncode not in (0, 1):
        raise RuntimeError(done.stderr.decode())
    if done.stderr and done.returncode == 0:
        raise RuntimeError("not silent: " + done.stderr.decode())
    return out


def nasty(text):
    for before, after in NAMES.items():
        text = text.replace(before, after)
    return re.sub(r'^title = ".*";', f'title = "{NASTY} \\\\"quoted\\\\" & <i>co</i>";', text, flags=re.MULTILINE)


def setUpModule():
    global browser, folder
    if not driver.is_installed() or shutil.which("gnuplot") is None:
        sys.exit(77)
    folder = tempfile.TemporaryDirectory(prefix="sheave-pages-")
    browser = driver.Browser()


def tearDownModule():
    browser.end()
    folder.cleanup()


class Page(unittest.TestCase):
    """One page, loaded anew for each test."""
    study, name, page, change = "kit.cfg", "kit", "report.html", staticmethod(lambda text: text)

    @classmethod
    def setUpClass(cls):
        cls.out = make(cls.study, cls.name, cls.change)

    def setUp(self):
        browser.size(1280, 900)
        browser.go("about:blank")
        browser.log("browser")
        browser.requests()
        browser.go(f"file://{self.out}/{self.page}")

    def run_js(self, script, *arguments):
        return browser.run(script, *arguments)

    def shot(self, name):
        if shots:
            browser.screenshot(os.path.join(shots, f"{self.name}-{name}.png"))

    def html(self):
        with open(os.path.join(self.out, self.page), encoding="utf-8") as file:
            return file.read()


class Everywhere:
    """What holds for every page."""

    def test_loads_alone_and_in_silence(self):
        self.assertEqual(browser.log("browser"), [])
        self.assertEqual([url for url in browser.requests() if not url.startswith("data:")],
                         [f"file://{self.out}/{self.page}"])
        self.assertNotRegex(re.sub(r'xmlns(:\w+)?="[^"]*"', "", self.html()), r"(src|href)=.?https?:")

    def test_landmarks_and_names(self):
        page = self.run_js("""
            const text = selector => [...document.querySelectorAll(selector)];
            return {lang: document.documentElement.lang, mains: text('main').length, h1: text('h1').length,
                    sections: text('section').every(s => document.getElementById(s.getAttribute('aria-labelledby'))),
                    drawings: text('svg').every(s => s.getAttribute('role') === 'img' && s.getAttribute('aria-label')),
                    inputs: text('input').every(i => i.labels.length || i.getAttribute('aria-label')),
                    heads: text('th').every(t => t.scope === 'col' || t.scope === 'row'),
                    captions: text('table').every(t => t.caption),
                    ids: text('[id]').map(e => e.id).filter((id, i, all) => all.indexOf(id) !== i),
                    skips: text('h1,h2,h3,h4').map(h => +h.tagName[1]).filter((level, i, all) => level > (all[i - 1] || 0) + 1)}""")
        self.assertEqual(page, {"lang": "en", "mains": 1, "h1": 1, "sections": True, "drawings": True, "inputs": True,
                                "heads": True, "captions": True, "ids": [], "skips": []})

    def test_contrast(self):
        """At least 4.5 to 1 (WCAG 2.1, 1.4.3), by its formula."""
        low = self.run_js("""
            const part = c => { c /= 255; return c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
            const light = c => 0.2126 * part(c[0]) + 0.7152 * part(c[1]) + 0.0722 * part(c[2]);
            const rgb = text => text.match(/[\\d.]+/g).map(Number);
            const ground = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor);
                if (c.length < 4 || c[3] > 0) return c; } return [255, 255, 255]; };
            return [...document.querySelectorAll('body *')].filter(e => !e.closest('svg') && e.checkVisibility() &&
                [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())).map(e => {
                const [a, b] = [light(rgb(getComputedStyle(e).color)), light(ground(e))];
                return [(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), e.tagName + ' ' + e.className];
            }).filter(x => x[0] < 4.5)""")
        self.assertEqual(low, [])

    def test_phone(self):
        browser.size(390, 844)
        browser.go(f"file://{self.out}/{self.page}")
        width = self.run_js("return [document.documentElement.scrollWidth, window.innerWidth]")
        self.assertLessEqual(width[0], width[1], "the page itself does not scroll sideways")
        wide = self.run_js("""return [...document.querySelectorAll('figure, .scroll')].filter(e =>
            e.scrollWidth > e.clientWidth + 1).map(e => e.querySelector('caption, figcaption').textContent)""")
        self.assertEqual(wide, [], "nor does anything in it")
        self.shot("phone")


class Report(Everywhere, Page):
    change = staticmethod(nasty)

    def test_cards_of_a_narrow_screen(self):
        """Every cell of a table that stands as cards says which column it is of; in a wide window it is a table."""
        browser.size(390, 844)
        browser.go(f"file://{self.out}/{self.page}")
        cells = self.run_js("""return [...document.querySelectorAll('.titled tbody td')].filter(e => e.textContent)
            .map(e => [getComputedStyle(e, '::before').content, e.closest('table').tHead.rows[0].cells[e.cellIndex].textContent])""")
        self.assertGreater(len(cells), 20)
        for said, title in cells:
            self.assertEqual(said.strip('"').strip(), title)
        browser.size(1280, 900)
        self.assertEqual(self.run_js("return getComputedStyle(document.querySelector('.titled tr')).display"), "table-row")

    def test_user_strings_are_text(self):
        self.assertEqual(self.run_js("return [document.scripts.length, typeof window.injected]"), [1, "undefined"])
        self.assertEqual(self.run_js("return document.querySelector('h1').textContent"),
                         f'{NASTY} "quoted" & <i>co</i>')
        self.assertIn("=short, <b>'twisted'</b>", self.run_js("return document.querySelector('.lead').textContent"))
        self.assertEqual(self.run_js("return document.querySelectorAll('h1 i, .lead b b, svg b, svg script').length"),
                         0)

    def test_user_strings_in_drawings(self):
        texts = set()
        names = [n for n in os.listdir(os.path.join(self.out, "plots")) if n.endswith(".svg")]
        self.assertGreater(len(names), 8)
        for name in names:
            root = xml.etree.ElementTree.parse(os.path.join(self.out, "plots", name)).getroot()
            self.assertEqual(root.findall(".//{http://www.w3.org/2000/svg}script"), [])
            texts |= {t.strip() for e in root.iter("{http://www.w3.org/2000/svg}text") for t in e.itertext()}
        self.assertTrue(any(f'{NASTY} & "harbour"'[:27] + "..." == t for t in texts), texts)
        self.assertTrue(any("=short, <b>'twisted'</b>"[:20] in t for t in texts), texts)

    def test_words_of_drawings_are_inside(self):
        """Long names of sites and kits too: nothing is cut off at an edge of its drawing."""
        outside = self.run_js("""
            const outside = [];
            for (const svg of document.querySelectorAll('figure svg')) {
                const s = svg.getBoundingClientRect();
                for (const text of svg.querySelectorAll('text')) {
                    const t = text.getBoundingClientRect();
                    if (t.width > 0 && (t.left < s.left - 1 || t.right > s.right + 1 || t.top < s.top - 1 ||
                                        t.bottom > s.bottom + 1)) {
                        outside.push(text.textContent.trim());
                    }
                }
            }
            return outside;""")
        self.assertEqual(outside, [])

    def test_csv_keeps_the_same_names(self):
        rows = support.records(support.read_bytes(self.out, "ranked.csv"))
        self.assertEqual(rows[0]["blower"], "'=short, <b>'twisted'</b>")  # guarded from spreadsheets
        self.assertEqual(support.read_manifest(support.read_bytes(self.out, "manifest.cfg").decode())["study"]["title"],
                         f'{NASTY} "quoted" & <i>co</i>')


class Table(Page):
    def setUp(self):
        super().setUp()
        self.heads = self.run_js("return [...document.querySelectorAll('#ranked thead tr:first-child th')].map("
                                 "h => h.textContent)")

    def column(self, title):
        """Cells of the rows shown."""
        i = self.heads.index(title)
        return self.run_js("return [...document.querySelector('#ranked').tBodies[0].rows].filter(r => !r.hidden && "
                           "r.cells.length > 1).map(r => r.cells[arguments[0]].textContent)", i)

    def click_head(self, title):
        self.run_js("document.querySelectorAll('#ranked thead tr:first-child button')[arguments[0]].click()",
                    self.heads.index(title))

    def type_filter(self, title, text):
        self.run_js("const i = document.querySelectorAll('#ranked .filters input')[arguments[0]]; i.value = "
                    "arguments[1]; i.dispatchEvent(new Event('input'))", self.heads.index(title), text)

    def sorted_by(self):
        return self.run_js("return [...document.querySelectorAll('#ranked [aria-sort]')].map(h => [h.textContent, "
                           "h.getAttribute('aria-sort')])")

    def status(self):
        return self.run_js("return document.querySelector('[role=status]').textContent")

    def test_every_column_sorts(self):
        self.run_js("document.getElementById('all-columns').click()")
        for title in self.heads:
            self.click_head(title)
            up = self.column(title)
            if self.sorted_by() != [[title, "ascending"]]:  # the first column is sorted at first
                self.click_head(title)
                up = self.column(title)
            self.assertEqual(self.sorted_by(), [[title, "ascending"]])
            self.click_head(title)
            down = self.column(title)
            self.assertEqual(self.sorted_by(), [[title, "descending"]])
            self.assertEqual(sorted(up), sorted(down))
            try:
                up, down = [float(v) for v in up if v], [float(v) for v in down if v]
            except ValueError:
                continue
            self.assertEqual(up, sorted(up), title)
            self.assertEqual(down, sorted(down, reverse=True), title)

    def test_equals_stay_as_they_were_ranked(self):
        self.click_head("blower")
        rows = list(zip(self.column("blower"), map(int, self.column("rank"))))
        self.assertEqual(rows, sorted(rows))
        self.assertGreater(len(rows), 10)

    def test_filters(self):
        every = len(self.column("rank"))
        ratios = [float(v) for v in self.column("ratio")]
        bound = sorted(ratios)[len(ratios) // 2]
        self.type_filter("ratio", f">= {bound}")
        left = [float(v) for v in self.column("ratio")]
        self.assertEqual(sorted(left), sorted(v for v in ratios if v >= bound))
        self.assertEqual(self.status(), f"{len(left)} of {every} kits")
        self.type_filter("fuel", "PLA")
        self.assertEqual(set(self.column("fuel")), {"plain"})
        self.assertLess(len(self.column("rank")), len(left))
        self.type_filter("fuel", "")
        self.type_filter("ratio", f"{min(ratios)}..{bound}")
        self.assertEqual(sorted(float(v) for v in self.column("ratio")), sorted(v for v in ratios if v <= bound))
        self.run_js("document.querySelector('#table-tools button').click()")
        self.assertEqual(len(self.column("rank")), every)
        self.assertEqual(self.status(), f"{every} kits")

    def test_a_row_opens_its_curves(self):
        button = "document.querySelectorAll('#ranked button.open')[1]"
        state = f"return [{button}.getAttribute('aria-expanded'), document.querySelectorAll('#ranked .kit svg').length]"
        self.assertEqual(self.run_js(state), ["false", 0])
        self.run_js(f"{button}.click()")
        self.assertEqual(self.run_js(state), ["true", 1])
        self.run_js("document.getElementById('ranking').scrollIntoView()")
        self.shot("open")
        shown = self.run_js("const b = document.querySelector('#ranked .kit svg').getBoundingClientRect();"
                            "return [b.width, b.height]")
        self.assertGreater(min(shown), 200)
        self.assertEqual(self.run_js("return document.querySelector('#ranked .opened').closest('tr')"
                                     ".previousElementSibling.cells[0].textContent"), "2")
        self.click_head("ratio")  # it goes with its row
        self.assertEqual(self.run_js("return document.querySelector('#ranked .opened').closest('tr')"
                                     ".previousElementSibling.cells[0].textContent"), "2")
        self.run_js(f"[...document.querySelectorAll('#ranked button.open')].find(b => b.textContent === '2').click()")
        self.assertEqual(self.run_js("return document.querySelectorAll('#kits .kit svg').length"),
                         self.run_js("return document.querySelectorAll('#kits details').length"))

    def test_keyboard(self):
        """Tab goes to the head of a column, Enter sorts by it, and where one is can be seen."""
        self.run_js("document.querySelector('#all-columns').focus()")
        browser.keys(TAB, TAB, TAB, TAB)  # the button of the filters, the table, rank, blower
        where = self.run_js("return [document.activeElement.tagName, document.activeElement.textContent]")
        self.assertEqual(where, ["BUTTON", "blower"])
        browser.keys(ENTER)
        self.assertEqual(self.sorted_by(), [["blower", "ascending"]])
        outline = self.run_js("const s = getComputedStyle(document.activeElement); return [s.outlineStyle, "
                              "parseFloat(s.outlineWidth)]")
        self.assertEqual(outline[0], "solid")
        self.assertGreaterEqual(outline[1], 2)

    def test_without_script(self):
        browser.command("Emulation.setScriptExecutionDisabled", value=True)
        try:
            browser.go(f"file://{self.out}/{self.page}")
            html = self.html()
            self.assertIn('<table id="ranked" class="brief">', html)
            kits = re.findall(r'<a href="#(kit-\d+)"', html)
            self.assertEqual(len(kits), 3)
            for kit in kits:
                self.assertIn(f'<details id="{kit}">', html)
            self.shot("plain")
        finally:
            browser.command("Emulation.setScriptExecutionDisabled", value=False)

    def test_prints(self):
        pdf = browser.print()
        self.assertTrue(pdf.startswith(b"%PDF-"))
        self.assertLess(len(pdf), 3_000_000)
        self.assertLess(pages(pdf), 25)
        if shots:
            with open(os.path.join(shots, "report.pdf"), "wb") as file:
                file.write(pdf)


def pages(pdf):
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


class Sheet(Everywhere, Page):
    page, name = "kit-2.html", "sheet"
    change = staticmethod(nasty)

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        done = support.run(["report", cls.out, "--kit", "2"], folder.name)
        if done.returncode != 0:
            raise RuntimeError(done.stderr.decode())

    def test_is_one_page_of_paper(self):
        pdf = browser.print()
        self.assertEqual(pages(pdf), 1)
        if shots:
            with open(os.path.join(shots, "sheet.pdf"), "wb") as file:
                file.write(pdf)

    def test_runs_no_script(self):
        self.assertEqual(self.run_js("return [document.scripts.length, typeof window.injected]"), [0, "undefined"])


class Us(Everywhere, Page):
    study, name = "us.cfg", "us"


class Knock(Everywhere, Page):
    study, name = "knock.cfg", "knock"

    def test_phasing_is_drawn(self):
        self.assertTrue(self.run_js("return !!document.querySelector('svg[aria-label=\"When the charge burns\"]')"))


class Nothing(Everywhere, Page):
    study, name = "nothing.cfg", "nothing"

    def test_says_so_and_why(self):
        answer = self.run_js("return document.getElementById('answer').textContent")
        self.assertIn("Nothing is feasible", answer)
        self.assertEqual(self.run_js("return document.querySelectorAll('#answer li').length > 0"), True)


if __name__ == "__main__":
    support.program, support.cache = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
    shots = os.path.abspath(sys.argv[3]) if len(sys.argv) > 3 else None
    unittest.main(argv=sys.argv[:1])
