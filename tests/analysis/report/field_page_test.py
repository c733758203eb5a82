#!/usr/bin/env python3
"""The field page in a real browser: on a desktop, under fingers on a phone, and on grey paper."""
import csv
import math
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from browser import Browser  # noqa: E402

DROPLEDGER, CHROMIUM = sys.argv[1:3]
VIEW = "document.querySelector('svg.ground').getAttribute('viewBox').split(' ').map(Number)"


def run(*words):
    done = subprocess.run([DROPLEDGER, *map(str, words)], capture_output=True, text=True, timeout=120)
    assert done.returncode in (0, 1, 2), done.stderr


class FieldPage(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.kept = tempfile.TemporaryDirectory()
        folder = pathlib.Path(cls.kept.name)
        cls.page_file, cls.walk = folder / "night.html", folder / "walk.csv"
        run("simulate", "--field", folder / "night.csv", "--seed", 4)
        run("field", folder / "night.csv", "--html", cls.page_file, "--csv", cls.walk)
        cls.browser = Browser(CHROMIUM)

    @classmethod
    def tearDownClass(cls):
        cls.browser.__exit__()
        cls.kept.cleanup()

    def phone(self):
        page = self.browser.open(self.page_file, width=390, height=844, touch=True)
        page.value("document.querySelector('svg.ground').scrollIntoView({block: 'center'})")
        return page, page.box("svg.ground")

    def test_the_headline_is_the_action_and_stands_on_the_first_screen(self):
        page, _ = self.phone()
        page.value("window.scrollTo(0, 0)")
        title = page.box("h1")
        self.assertLess(title["y"] + title["height"], 844 / 2)
        self.assertRegex(page.value("document.querySelector('h1').textContent"), "^(Re-seed|Clean|Row|Dig|Nothing)")

    def test_nothing_is_cut_off_at_either_side(self):
        for width, touch in ((390, True), (1280, False)):
            page = self.browser.open(self.page_file, width=width, height=844, touch=touch)
            page.value("document.querySelectorAll('details').forEach(one => { one.open = true; })")
            self.assertLessEqual(page.value("document.documentElement.scrollWidth"), width)
            cut = page.value("Array.from(document.querySelectorAll('td, th, h1, li, p')).filter(one => {"
                             "const b = one.getBoundingClientRect();"
                             "return b.width > 0 && (b.right > innerWidth + 1 || one.scrollWidth > one.clientWidth + 1);"
                             "}).map(one => one.textContent).slice(0, 5)")
            self.assertEqual(cut, [], width)

    def test_one_finger_moves_the_map_and_not_the_page(self):
        page, map_ = self.phone()
        before, scrolled = page.value(VIEW), page.value("scrollY")
        x, y = map_["x"] + map_["width"] / 2, map_["y"] + map_["height"] / 2
        page.drag(((x, y), (x - 60, y - 40)))
        after = page.value(VIEW)
        a_pixel = max(before[2] / map_["width"], before[3] / map_["height"])
        self.assertAlmostEqual(after[0] - before[0], 60 * a_pixel, delta=3 * a_pixel)
        self.assertAlmostEqual(after[1] - before[1], 40 * a_pixel, delta=3 * a_pixel)
        self.assertEqual(after[2:], before[2:])
        self.assertEqual(page.value("scrollY"), scrolled)

    def test_two_fingers_zoom_the_map_and_not_the_page(self):
        page, map_ = self.phone()
        before = page.value(VIEW)
        x, y = map_["x"] + map_["width"] / 2, map_["y"] + map_["height"] / 2
        page.drag(((x - 30, y), (x - 90, y)), ((x + 30, y), (x + 90, y)))
        after = page.value(VIEW)
        self.assertAlmostEqual(before[2] / after[2], 3.0, delta=0.2)
        self.assertEqual(page.value("visualViewport.scale"), 1)

    def test_a_tap_beside_a_stop_tells_of_that_stop(self):
        page, map_ = self.phone()
        stops = list(csv.DictReader(self.walk.read_text().splitlines()))
        spots = page.value("Array.from(document.querySelectorAll('.map')[0].querySelectorAll('.stop')).map(one => {"
                           "const b = one.querySelector('circle').getBoundingClientRect();"
                           "return [b.x + b.width / 2, b.y + b.height / 2, one.querySelector('text').textContent]; })")
        left, top = map_["x"] + 10, map_["y"] + 10
        alone = [one for one in spots if left < one[0] < left + map_["width"] - 20 and
                 top < one[1] < top + map_["height"] - 20 and
                 all(one is other or math.dist(one[:2], other[:2]) > 24 for other in spots)]
        self.assertGreater(len(alone), 0)
        for x, y, number in alone[:5]:
            page.tap(x + 6, y + 6.7)  # 9 px off
            said = page.value("document.querySelector('.map output').textContent")
            stop = stops[int(number) - 1]
            self.assertEqual(stop["stop"], number)
            self.assertIn(f"{number}. pass {stop['pass']}, row {stop['row']}, drops {stop['first_drop']}", said)

    def test_stops_are_numbered_alike_in_map_table_and_list(self):
        page, _ = self.phone()
        listed = [one["stop"] for one in csv.DictReader(self.walk.read_text().splitlines())]
        self.assertGreater(len(listed), 2)
        on_map = page.value("Array.from(document.querySelectorAll('.map .stop text')).map(one => one.textContent)")
        in_table = page.value("Array.from(document.querySelectorAll('td[data-is=stop]')).map(one => one.textContent)")
        self.assertEqual(sorted(on_map, key=int), listed)
        self.assertEqual(in_table, listed)

    def test_buttons_are_as_big_as_a_finger_and_north_is_shown(self):
        page, _ = self.phone()
        sizes = page.value("Array.from(document.querySelectorAll('button, .find input')).filter(one => !one.hidden)"
                           ".map(one => one.getBoundingClientRect()).map(b => [b.width, b.height])")
        self.assertGreater(len(sizes), 3)
        for width, height in sizes:
            self.assertGreaterEqual(min(width, height), 44)
        self.assertGreater(page.box(".north")["height"], 20)

    def test_buttons_zoom_and_give_the_whole_field_back(self):
        page, _ = self.phone()
        whole = page.value(VIEW)
        page.value("document.querySelector('[data-zoom=\"0.5\"]').click()")
        self.assertAlmostEqual(page.value(VIEW)[2], whole[2] / 2, delta=1e-6 * whole[2])
        page.value("document.querySelector('[data-zoom=\"0\"]').click()")
        self.assertEqual(page.value(VIEW), whole)

    def test_on_grey_paper_each_kind_of_gap_has_its_own_look(self):
        page, _ = self.phone()
        page.media("print")
        looks = page.value("['missing', 'sensor', 'unknown', 'case'].map(kind => { const s = getComputedStyle("
                           "document.querySelector('.keys .gap.' + kind)); return [s.stroke, parseFloat(s.strokeWidth)]; })")
        grey = {kind: (sum(f * int(part) for f, part in zip((0.2126, 0.7152, 0.0722), stroke[4:-1].split(","))), width)
                for kind, (stroke, width) in zip(("missing", "sensor", "unknown", "case"), looks)}
        self.assertLess(grey["missing"][0], 60)
        self.assertGreater(grey["sensor"][0], grey["missing"][0] + 50)
        self.assertLess(grey["case"][0], 60)            # can't tell: a light core in a dark case
        self.assertGreater(grey["unknown"][0], 200)
        self.assertGreater(grey["case"][1], grey["unknown"][1])
        self.assertEqual(page.value("getComputedStyle(document.querySelector('.find')).display"), "none")


unittest.main(argv=sys.argv[:1])
