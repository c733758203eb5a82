#!/usr/bin/env python3
"""A workshop's days on virtual benches, command by command: six units a machine, one faulty unit of each kind, from the
settings over run, calibration, repair and retest to sheet and trend. usage: workshop_test.py DROPLEDGER SCENARIOS [TRANSCRIPT]

The units and their faults are invented. With TRANSCRIPT what was typed and printed is written there, to be read."""
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER, SCENARIOS = sys.argv[1], pathlib.Path(sys.argv[2])
TRANSCRIPT = pathlib.Path(sys.argv[3]) if len(sys.argv) > 3 else None
DROPS = 700
# What is wrong with each unit, as the scenario says it; the cause that must be named, and whether it must keep it from within.
FAULTS = {
    "U-0201": ("", None),
    "U-0202": ("[[channel.worn_cell]]\ncell = 7\nfill = 0.1\n", "bad_cell"),
    "U-0203": ("empty_from_drop = 450\n", "empty_container"),
    "U-0204": ("doubles = 0.14\n", "double_feeding"),
    "U-0205": ("[channel.bridging]\nper_1000_drops = 8\nmean_drops = 12\nfill = 0.03\n", "bridging"),
    "U-0206": ("valve_lag_us = 58000\nlead_us = 309607\n", "valve_lag"),
}


# A second machine, with faults that its gates have or that come and go.
GATES_AND_VALVES = {
    "U-0301": "",
    "U-0302": "[channel.gate1]\ndetection = 0.6\n",
    "U-0303": "[channel.gate1.fade]\nfrom_drop = 100\nto_drop = 500\ndetection = 0.55\ndepth = 0.35\n",
    "U-0304": "valve_drift_us_per_1000 = 40000\n",
    "U-0305": "[channel.startup]\ndrops = 25\nfill = 0.35\n",
    "U-0306": "[channel.gate0.fade]\nfrom_drop = 100\nto_drop = 500\ndetection = 0.98\ndepth = 0.6\n",
}
# A valve of 58 ms where 18 ms were thought is no fault of the unit: its lead is set, and it stays as it is.
SLOW_VALVE = "U-0206"


def scenario(seed, faults):
    """A machine of the six units' kind, with what is wrong with each of its units."""
    text = re.sub(r"^seed = .*$", f"seed = {seed}", (SCENARIOS / "six_units.toml").read_text(), flags=re.MULTILINE)
    text = text[:text.index("[[channel]]")]
    for row, (unit, fault) in enumerate(faults.items(), 1):
        text += f'[[channel]]\nunit = "{unit}"\nrow = {row}\n{fault}\n'
    return text


def of_first_machine(seed, repaired):
    return scenario(seed, {unit: "" if repaired and unit != SLOW_VALVE else fault for unit, (fault, _) in FAULTS.items()})


class Workshop(unittest.TestCase):
    def setUp(self):
        self.temporary = tempfile.TemporaryDirectory()
        self.addCleanup(self.temporary.cleanup)
        self.folder = pathlib.Path(self.temporary.name)
        self.typed = []

    def type(self, *words, status=0):
        done = subprocess.run([DROPLEDGER, *map(str, words)], cwd=self.folder, capture_output=True, text=True, timeout=300)
        self.typed.append(f"$ dropledger {' '.join(map(str, words))}\n{done.stdout}{done.stderr}")
        self.assertIn(done.returncode, status if isinstance(status, tuple) else (status,), (words, done.stdout, done.stderr))
        return done.stdout

    def answer(self, *words, status=(0, 1, 2)):
        return held(self.type(*words, "--json", status=status))

    def bench(self, text, *words):
        """The bench of this scenario; `words` such as the leads that are set in it."""
        (self.folder / "bench.toml").write_text(text)
        link = self.folder / "bench"
        link.unlink(missing_ok=True)
        serving = subprocess.Popen([DROPLEDGER, "simulate", "--scenario", self.folder / "bench.toml", "--link", link,
                                    *(() if "--pace" in words else ("--pace", "0")), *words], cwd=self.folder, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        serving.stdout.readline()
        self.addCleanup(serving.stdout.close)
        self.addCleanup(serving.wait)
        self.addCleanup(serving.terminate)
        return serving

    @staticmethod
    def end(bench):
        bench.terminate()
        bench.wait()

    def set_up(self, settings, *words, units="U-0201..U-0206", status=(0,)):
        return self.type("setup", settings, "--units", units, "--spacing-mm", "18cm", "--speed-mps", "1,8km/h", "--drops",
                         DROPS, "--crop", "red beet", "--profile", "single", "--cells", 24, "--book", "bench.book",
                         "--gate0-place", "above", "--gate1-place", "below", "--gate1-height-mm", 50, "--valve-height-mm", 400,
                         "--terminal-mps", 5.6, "--lead-us", 309607, *words, status=status)

    def run_machine(self, log, *words, settings="machine.toml"):
        return self.type("run", "--port", "bench", "--settings", settings, "--yes", "--log", log, *words)

    def outcomes(self, log):
        return {one["unit"]: one for one in self.answer("audit", log)["channels"]}

    def check_first_run(self, shown):
        table = shown[shown.index("Units, worst first"):]
        self.assertLess(table.index("OUTSIDE"), table.index("within "))
        self.assertNotIn("more drops", table, "every unit that is not within has a cause")
        found = self.outcomes("first.droplog")
        for unit, (_, cause) in FAULTS.items():
            kinds = [one["kind"] for one in found[unit]["causes"]]
            self.assertEqual(kinds[:1], [] if cause is None else [cause], (unit, kinds))
        self.assertEqual(found["U-0201"]["verdict"]["outcome"], "within")
        empty = next(one for one in found["U-0203"]["causes"] if one["kind"] == "empty_container")
        self.assertLess(abs(empty["drops"][0] - 450), 12, empty)
        brief = self.type("audit", "first.droplog", "--brief", status=(1,))
        for words in ("U-0202", "bad cell: misses at every 24th drop", "empty container:", "double feeding:", "bridging:",
                      "valve lag:", "late"):
            self.assertIn(words, " ".join(brief.split()))

    def check_sheet(self, log, units=tuple(FAULTS)):
        self.type("audit", log, "--brief", "--sheet", "machine.pdf", "--html", "machine.html", status=(0, 1, 2))
        page = (self.folder / "machine.html").read_text()
        for words in ("Machine sheet", "signature", "Annex: the audit of", *units):
            self.assertIn(words, page)
        if shutil.which("pdfinfo"):
            information = subprocess.run(["pdfinfo", self.folder / "machine.pdf"], capture_output=True, text=True).stdout
            self.assertRegex(information, r"Pages:\s+1\n")
            text = subprocess.run(["pdftotext", "-layout", self.folder / "machine.pdf", "-"], capture_output=True, text=True).stdout
            for words in ("What to do", "What was set", "signature", *units):
                self.assertIn(words, text)

    def calibrate(self):
        (self.folder / "records").mkdir()
        found = self.answer("calibrate", "efficiency", "first.droplog", "--seen-by", "second", "--write", "records", "--id",
                            "EFF-2026", "--book", "bench.book")
        self.assertEqual([one["unit"] for one in found["units"]], list(FAULTS))
        logs = []
        for speed in (0.3, 0.5, 0.7):
            logs.append(f"lead-{speed}.droplog")
            self.run_machine(logs[-1], "--drops", 200, "--speed-mps", speed)
        found = self.answer("calibrate", "lead", *logs, "--write", "records", "--id", "LEAD-2026", "--settings", "machine.toml",
                            status=(0,))
        slow = next(one["found"] for one in found["units"] if one["unit"] == SLOW_VALVE)
        self.assertAlmostEqual(slow["lag_us"]["value"], 40000, delta=2500)
        settings = (self.folder / "machine.toml").read_text()
        self.assertIn(f"lead_us = {slow['lead_to_set_us']}\n", settings)
        self.assertIn("# ", settings, "its remarks stay")
        for log in logs:
            self.type("book", "remove", log, "made to calibrate the leads")

    def check_leads(self):
        """With the leads that were found, in settings and bench, the offset is gone and so is its cause; nothing else is."""
        offset_mm = self.outcomes("first.droplog")[SLOW_VALVE]["placement"]["offset_mm"]["value"]
        self.assertAlmostEqual(offset_mm, 20, delta=1)  # 40 ms at 0.5 m/s
        self.run_machine("leads.droplog")
        after = self.outcomes("leads.droplog")
        self.assertLess(abs(after[SLOW_VALVE]["placement"]["offset_mm"]["value"]), 1.0)
        self.assertEqual((after[SLOW_VALVE]["causes"], after[SLOW_VALVE]["verdict"]["outcome"]), ([], "within"))
        self.assertEqual(after["U-0202"]["causes"][0]["kind"], "bad_cell")

    def repair(self):
        for unit, (_, cause) in FAULTS.items():
            if cause and unit != SLOW_VALVE:
                self.type("book", "note", unit.lower(), f"mended: {cause}")
        due = {one["unit"]: one["due"] for one in self.answer("book", "list")["units"]}
        self.assertEqual(due["U-0201"], [])
        for unit, (_, cause) in FAULTS.items():
            if cause and unit != SLOW_VALVE:
                self.assertTrue(any("run it after the repair" in one for one in due[unit]), due)

    def check_retest(self, shown):
        self.assertNotIn("OUTSIDE", shown)
        for unit, one in self.outcomes("second.droplog").items():
            self.assertEqual((unit, one["causes"]), (unit, []))
            self.assertEqual((unit, one["verdict"]["outcome"]), (unit, "within"))
        for one in self.answer("book", "list")["units"]:
            self.assertEqual((one["last_outcome"], one["due"]), ("within", []))
        misses = self.answer("book", "trend", "u-0203", "--quantity", "miss_share", "--html", "trend.html")["trends"][0]
        self.assertIn("Fewer misses per drop since run 3", misses["headline"])
        self.assertIn('after "mended: empty_container"', misses["headline"])
        offset = self.answer("book", "trend", "U-0206", "--quantity", "offset_mm")["trends"][0]
        self.assertIn("A smaller offset since run 2", offset["headline"])
        self.assertIn("within tolerance since run 2", offset["headline"])

    def test_from_settings_over_run_calibration_and_repair_to_sheet_and_trend(self):
        bench = self.bench(of_first_machine(11, repaired=False))
        self.set_up("machine.toml")
        self.check_first_run(self.run_machine("first.droplog"))
        self.check_sheet("first.droplog")
        self.calibrate()
        self.end(bench)
        bench = self.bench(of_first_machine(11, repaired=False), "--leads", "machine.toml")
        self.check_leads()
        self.repair()
        self.end(bench)
        self.bench(of_first_machine(12, repaired=True), "--leads", "machine.toml")
        self.check_retest(self.run_machine("second.droplog"))
        self.check_sheet("second.droplog")
        if TRANSCRIPT:
            TRANSCRIPT.write_text("\n".join(self.typed))

    def test_leads_come_from_a_settings_file_of_this_bench(self):
        (self.folder / "bench.toml").write_text(scenario(1, {"U-0201": ""}))
        for text, words in (("[[channel]]\nlead_us = 1\n[[channel]]\nlead_us = 2\n", "no channel 1 on this bench: it has 1"),
                            ("[[channel]]\nlead_us = -5\n", "lead_us"), ("[[channel]\n", "leads.toml:1")):
            (self.folder / "leads.toml").write_text(text)
            done = subprocess.run([DROPLEDGER, "simulate", "--scenario", "bench.toml", "--leads", "leads.toml", "--log", "x.droplog"],
                                  cwd=self.folder, capture_output=True, text=True)
            self.assertEqual(done.returncode, 65, done)
            self.assertIn(words, " ".join(done.stderr.split()))

    def test_a_run_goes_on_with_its_own_bench_and_with_no_other_of_its_kind(self):
        bench = self.bench(scenario(51, {"U-0501": ""}), "--pace", "15")
        self.set_up("machine.toml", units="U-0501")
        going = [DROPLEDGER, "run", "--port", "bench", "--settings", "machine.toml", "--log", "broken.droplog", "--yes"]
        with subprocess.Popen([*going, "--drops", "400"], cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                              text=True) as driver:
            for line in driver.stderr:
                if "of 400 drops" in line and not line.split()[1] == "0":
                    break
            driver.kill()
        self.end(bench)
        before = (self.folder / "broken.droplog").read_bytes()
        other = self.bench(scenario(51, {"U-0501": ""}), "--serial", "B-2")
        refused = self.type("run", "--port", "bench", "--resume", "broken.droplog", "--yes", status=74)
        self.assertIn("calls itself `virtual-1 #B-2`, the log's bench `virtual-1 #bench-1`", self.typed[-1] + refused)
        kept = (self.folder / "broken.droplog").read_bytes()
        self.assertTrue(before.startswith(kept[:1000]))
        self.assertNotIn(b"B-2", kept, "nothing of it enters the log")
        self.end(other)

    def audited(self, name, text, *words):
        (self.folder / f"{name}.toml").write_text(text)
        self.type("simulate", "--scenario", f"{name}.toml", "--log", f"{name}.droplog", *words)
        found = self.outcomes(f"{name}.droplog")
        return {unit: (one["verdict"]["outcome"], [cause["kind"] for cause in one["causes"]]) for unit, one in found.items()}

    def test_gates_that_lie_and_valves_that_change_are_told_apart_from_bad_meters(self):
        """A second machine: what its gates say is not what its units do."""
        bench = self.bench(scenario(31, GATES_AND_VALVES))
        self.set_up("machine.toml", units="U-0301..U-0306")
        shown = self.run_machine("first.droplog")
        self.assertNotIn("OUTSIDE", shown, "no evidence against a unit whose gates disagree, or that changes")
        self.assertNotIn("more drops", shown[shown.index("Units, worst first"):])
        found = self.outcomes("first.droplog")
        kinds = {unit: [one["kind"] for one in channel["causes"]] for unit, channel in found.items()}
        self.assertEqual(kinds["U-0301"], [])
        self.assertEqual(kinds["U-0303"], ["gate_going_blind"])
        self.assertEqual(kinds["U-0304"], ["valve_drift"])
        self.assertEqual(kinds["U-0305"], ["start_loss"])
        self.assertEqual({unit for unit, one in found.items() if one["verdict"]["outcome"] == "within"}, {"U-0301", "U-0306"})
        brief = " ".join(self.type("audit", "first.droplog", "--brief", status=(2,)).split())
        self.assertIn("The gates of unit U-0302 disagree", brief)
        self.assertIn("clean gate 1, then calibrate it", brief)
        self.check_sheet("first.droplog", GATES_AND_VALVES)
        self.end(bench)
        self.bench(scenario(32, dict.fromkeys(GATES_AND_VALVES, "")))
        self.run_machine("second.droplog")
        for unit, one in self.outcomes("second.droplog").items():
            self.assertEqual((unit, one["causes"], one["verdict"]["outcome"]), (unit, [], "within"))
        if TRANSCRIPT:
            TRANSCRIPT.with_suffix(".gates" + TRANSCRIPT.suffix).write_text("\n".join(self.typed))

    def test_a_bad_meter_without_pattern_swapped_plugs_and_other_modes(self):
        """What is left of the scenarios' faults: a leaking vacuum, plugs of two units exchanged, short portions, a clumpy line."""
        self.assertEqual(self.audited("vacuum", scenario(41, {"U-0401": "", "U-0402": "fill = 0.91\n"}), "--drops", 700),
                         {"U-0401": ("within", []), "U-0402": ("outside", [])})
        swapped = scenario(42, {"U-0411": "", "U-0412": "gates_on = 2\n", "U-0413": "gates_on = 1\n"})
        bench = self.bench(swapped)
        tried = self.set_up("swapped.toml", "--port", "bench", "--yes", units="U-0411..U-0413", status=(0, 1, 2))
        self.assertIn("U-0412 (channel 1) drops, and its seed is seen by both gates of U-0413 (channel 2). Their plugs are swapped",
                      " ".join(tried.split()))
        self.end(bench)
        for name, healthy, bad in (("portion_short", "portion_healthy", "fill = 0.88\n"),
                                   ("line_clumpy", "line_regular", "gap_cv = 1.7\n")):
            text = (SCENARIOS / f"{healthy}.toml").read_text()
            text = text[:text.index("[[channel]]")] + '[[channel]]\nunit = "U-0421"\nrow = 1\n[[channel]]\nunit = "U-0422"\nrow = 2\n' + bad
            found = self.audited(name, text)
            self.assertEqual((found["U-0421"][0], found["U-0422"][0]), ("within", "outside"), name)

    def test_what_a_run_called_good_the_audit_calls_within(self):
        # 2026-11-26: units were good for the run, and undecided on single seeds for the audit
        for seed in (21, 22):
            bench = self.bench(scenario(seed, dict.fromkeys(FAULTS, "")))
            if seed == 21:
                self.set_up("machine.toml")
            log = f"decided{seed}.droplog"
            run = held(self.run_machine(log, "--until-decided", "--drops", 2000, "--json"))
            good = {one["channel"] for one in run["decisions"] if one["decision"] == "good"} - {
                one["channel"] for one in run["decisions"] if one["decision"] != "good"}
            self.assertTrue(good)
            for one in self.outcomes(log).values():
                if one["channel"] in good:
                    self.assertEqual(one["verdict"]["outcome"], "within", one["verdict"])
            self.end(bench)


unittest.main(argv=sys.argv[:1])
