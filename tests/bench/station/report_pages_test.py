#!/usr/bin/env python3
"""The reports' own pages under axe-core: audits, fields, trends, plans; in light and dark, on a desktop and a phone.

usage: report_pages_test.py DROPLEDGER CHROMIUM FIXTURES [TEST…]"""
import pathlib
import subprocess
import tempfile
import unittest

from stations import AXE, CHROMIUM, DROPLEDGER, FIXTURES, PICTURES, SIX_UNITS, WIDTHS, keeps_nobody_out, run_tests
from browser import Browser


def made(*words):
    done = subprocess.run([DROPLEDGER, *map(str, words)], capture_output=True, text=True, timeout=300)
    assert done.returncode in (0, 1, 2), done.stderr


@unittest.skipUnless(AXE.exists(), "axe-core was not fetched")
class ReportPages(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.kept = tempfile.TemporaryDirectory(prefix="reports")
        cls.folder = pathlib.Path(cls.kept.name)
        cls.browser = Browser(CHROMIUM)

    @classmethod
    def tearDownClass(cls):
        cls.browser.__exit__()
        cls.kept.cleanup()

    def looked_at(self, name, *words):
        page_file = self.folder / (name + ".html")
        made(*words, "--html", page_file)
        page = self.browser.open(page_file)
        page.value("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        for scheme in ("dark", "light"):
            page.media("", prefers_color_scheme=scheme)
            keeps_nobody_out(self, page, f"{name}, {scheme}", WIDTHS)
        if PICTURES:
            page.picture(f"{PICTURES}/report-{name}.png", whole=True)
        page.close()

    def log(self, scenario, drops=400, **more):
        log = self.folder / (pathlib.Path(scenario).stem + more.get("as_", "") + ".droplog")
        made("simulate", "--scenario", scenario, "--drops", drops, "--seed", more.get("seed", 1), "--log", log)
        return log

    def test_the_page_of_an_audit_and_a_machines_sheet(self):
        self.looked_at("audit", "audit", self.log(FIXTURES / "scenarios/healthy.toml"))
        self.looked_at("machine", "audit", self.log(SIX_UNITS))

    def test_the_page_of_a_field(self):
        night = self.folder / "night.csv"
        made("simulate", "--field", night, "--seed", 4)
        self.looked_at("field", "field", night)

    def test_the_page_of_a_units_history(self):
        book = self.folder / "bench.book"
        logs = self.folder / "logs"
        logs.mkdir()
        for seed in (1, 2, 3):
            self.log(SIX_UNITS, as_=str(seed), seed=seed).rename(logs / f"{seed}.droplog")
        made("book", "rebuild", logs, "--book", book)
        self.looked_at("trend", "book", "trend", "U-0204", "--book", book)

    def test_the_page_of_two_runs_side_by_side(self):
        self.looked_at("compare", "compare", self.log(SIX_UNITS, as_="before", seed=1), self.log(SIX_UNITS, as_="after", seed=2))

    def test_the_page_of_batches_over_time(self):
        self.looked_at("batches", "batch", "trend", FIXTURES / "released/0.2.0/logs/may.batch.json")

    def test_the_pages_of_plans(self):
        self.looked_at("plan", "plan", "acceptance", "--lot", 280, "--aql", "1.0")
        self.looked_at("variables", "plan", "variables", "--good", 0.01, "--bad", 0.06)
        self.looked_at("double", "plan", "double", "--good", 0.01, "--bad", 0.06)


if __name__ == "__main__":
    run_tests()
