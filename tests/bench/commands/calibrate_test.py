#!/usr/bin/env python3
"""Calibrations as a workshop makes and uses them, on the virtual bench: each way writes a record, an audit uses it, and
says what it may not use."""
import csv
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER, SCENARIOS = sys.argv[1], pathlib.Path(sys.argv[2])
MADE = ["--date", "2026-01-02", "--expires", "2027-01-02"]
LATE = ["--date", "2024-01-02", "--expires", "2025-01-02"]  # the virtual bench's logs begin on 2026-01-05


def run(*words, status=0):
    done = subprocess.run([DROPLEDGER, *map(str, words)], capture_output=True, text=True, timeout=120)
    assert done.returncode == status, (words, done.returncode, done.stdout[-2000:], done.stderr)
    return done


def answer(*words, status=0):
    return held(run(*words, "--json", status=status).stdout)


class Calibrate(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def path(self, name):
        return pathlib.Path(self.folder.name) / name

    def log(self, name, scenario, drops, seed, *words, change=()):
        text = (SCENARIOS / f"{scenario}.toml").read_text()
        for old, new in change:
            assert old in text, old
            text = text.replace(old, new, 1)
        made = self.path(f"{scenario}-{seed}.toml")
        made.write_text(text)
        run("simulate", "--scenario", made, "--log", self.path(name), "--drops", drops, "--seed", seed, *words)
        return self.path(name)

    def strip(self, name, speed, seed, zero_mm=1234.0, numbered=True):
        """A run over a strip, and a table of its landings read to half a millimetre."""
        truth, table = self.path(name + ".truth"), self.path(name + ".csv")
        log = self.log(name, "healthy", 60, seed, "--speed-mps", speed, "--truth", truth)
        with truth.open() as lines:
            rows = [(row["index"], round(2 * (int(at) / 1000 - zero_mm)) / 2)
                    for row in csv.DictReader(lines) if row["kind"] == "drop" for at in row["landings_um"].split(";") if at]
        with table.open("w") as out:
            out.write("drop,landing_mm\n" if numbered else "landing_mm\n")
            out.writelines(f"{drop},{mm}\n" if numbered else f"{mm}\n" for drop, mm in rows)
        return log, table

    # A healthy meter under a half-blind gate.
    def test_a_half_blind_gate_judges_nothing_until_it_is_calibrated(self):
        calibrating = self.log("calibrating.droplog", "half_blind_gate", 20000, 1)
        tested = self.log("tested.droplog", "half_blind_gate", 8000, 2)
        record = self.path("gate1.toml")
        run("calibrate", "efficiency", calibrating, "--seen-by", "second", "--write", record, "--id", "CAL-1", *MADE)
        without = answer("audit", tested, "--profile", "single-fine", status=2)
        self.assertEqual(without["outcome"], "undecided")  # the unit's own gate saw what the judging one overlooked
        self.assertEqual([each["kind"] for each in without["contradictions"]], ["gates_disagree"])
        self.assertIsNone(without["calibration"])
        page = self.path("tested.html")
        audited = answer("audit", tested, "--profile", "single-fine", "--calibration", record, "--html", page)
        self.assertEqual((audited["outcome"], audited["calibration"]), ("within", "CAL-1"))
        sensor = audited["channels"][0]["sensor"]
        self.assertTrue(sensor["judges_corrected"])
        self.assertEqual(sensor["outcome_as_seen"], "outside")
        miss = {one["name"]: one for one in sensor["corrections"]}["miss_index"]
        self.assertGreater(miss["observed"]["low"], 0.3)
        self.assertLessEqual(miss["corrected"]["low"], 0.015)  # of the places 1.5 % are empty
        self.assertGreaterEqual(miss["corrected"]["high"], 0.015)
        words = " ".join(run("audit", tested, "--profile", "single-fine", "--calibration", record).stdout.split())
        for said in ("overlooks about 4 of 10 seeds", "had no seed indeed", "with the overlooked seeds put back",
                     "that would blame the unit for what the gate overlooks", "clean its beam"):
            self.assertIn(said, words)
        self.assertIn("overlooks about 4 of 10 seeds", page.read_text())

    def test_two_gates_widen_for_joint_blindness_and_a_record_says_how_it_was_found(self):
        counts = ("--both", 1800, "--first", 1900, "--second", 1860)
        plain = answer("calibrate", "efficiency", *counts)
        wide = answer("calibrate", "efficiency", *counts, "--joint-odds", 6)
        self.assertEqual((plain["joint_odds"], wide["joint_odds"]), (1, 6))
        for gate in ("first_efficiency", "second_efficiency"):
            self.assertEqual(wide[gate]["value"], plain[gate]["value"])
            self.assertLess(wide[gate]["low"], plain[gate]["low"])
        self.assertGreater(wide["seeds"]["high"], plain["seeds"]["high"])
        self.assertIn("6 times the odds", wide["assumption"])
        self.assertIn(plain["assumption"], " ".join(run("calibrate", "efficiency", *counts).stdout.split()))
        run("calibrate", "efficiency", *counts, "--joint-odds", 0.5, status=64)
        record = self.path("by-gates.toml")
        run("calibrate", "efficiency", *counts, "--joint-odds", 6, "--seen-by", "second", "--write", record, "--id", "G", *MADE)
        self.assertIn('found_by = ', record.read_text())
        tested = self.log("tested.droplog", "healthy", 300, 4)
        page = self.path("tested.html")
        audited = held(subprocess.run([DROPLEDGER, "audit", tested, "--calibration", record, "--json", "--html", page],
                                      capture_output=True, text=True, timeout=120).stdout)
        sensor = audited["channels"][0]["sensor"]
        self.assertEqual((sensor["found_by"], sensor["assumption"]), ("two gates", wide["assumption"]))
        self.assertIn(wide["assumption"], " ".join(page.read_text().split()))
        words = subprocess.run([DROPLEDGER, "audit", tested, "--calibration", record, "--full"], capture_output=True,
                               text=True, timeout=120).stdout
        self.assertIn("found by two gates. " + wide["assumption"], " ".join(words.split()))

    def test_portions_and_lines_are_judged_with_overlooked_seeds_put_back(self):
        blind = [("detection = 0.999", "detection = 0.85")]
        for scenario, name in (("portion_healthy", "exact_share"), ("line_regular", "rate_error")):
            tested = self.log(f"{scenario}.droplog", scenario, 1500, 3, change=blind)
            record = self.path(f"{scenario}-record.toml")
            run("calibrate", "efficiency", "--dropped", 20000, "--seen", 17000, "--seen-by", "second", "--write", record, "--id",
                "HAND", *MADE)
            audited = held(subprocess.run([DROPLEDGER, "audit", tested, "--calibration", record, "--json"],
                                          capture_output=True, text=True, timeout=120).stdout)
            found = {one["name"]: one for one in audited["channels"][0]["sensor"]["corrections"]}[name]
            self.assertGreater(found["corrected"]["value"], found["observed"]["value"] + 0.1)
            criteria = {one["name"]: one for one in audited["channels"][0]["verdict"]["criteria"]}
            self.assertEqual(criteria[name]["estimate"], found["corrected"])

    def test_flight_from_a_strip_is_written_used_and_compared_with_geometry(self):
        log, table = self.strip("strip.droplog", 0.3, 5)
        record = self.path("flight.toml")
        found = answer("calibrate", "flight", "--log", log, "--csv", table, "--rule-zero-mm", 1234, "--rule-u-mm", 0.3,
                       "--height-mm", 50, "--height-u-mm", 1, "--exit-mps", 2.3, "--exit-u-mps", 0.1, "--write", record,
                       "--id", "FALL", *MADE)
        stated = next(int(line.split(",")[3].split("*")[0]) for line in log.read_text().splitlines() if "gate1_fall_us" in line)
        self.assertLess(found["flight_us"]["low"], stated)
        self.assertGreater(found["flight_us"]["high"], stated)
        self.assertTrue(found["comparison"]["agree"])
        self.assertEqual(found["strips"][0]["readings"], 60)
        notes = " ".join(answer("audit", log, "--calibration", record, "--profile", "single-fine", status=2)["channels"][0]["notes"])
        self.assertIn("by calibration FALL", notes)
        run("calibrate", "flight", "--log", log, "--csv", table, "--rule-zero-mm", 1234, "--height-mm", 400, status=2)

    def test_two_speeds_find_the_rules_zero(self):
        words = []
        for seed, speed in ((6, 0.15), (7, 0.5)):
            log, table = self.strip(f"strip{seed}.droplog", speed, seed)
            words += ["--log", log, "--csv", table]
        found = answer("calibrate", "flight", *words)
        self.assertLess(found["zero_mm"]["low"], 1234)
        self.assertGreater(found["zero_mm"]["high"], 1234)
        self.assertIn("several speeds", found["flight_us"]["method"])

    def test_flight_refuses_what_it_cannot_tell(self):
        log, table = self.strip("strip.droplog", 0.3, 8, numbered=False)
        self.assertIn("one drop further on", run("calibrate", "flight", "--log", log, "--csv", table, status=65).stderr)
        run("calibrate", "flight", "--log", log, "--csv", table, "--rule-zero-mm", 1234)
        bad = self.path("bad.csv")
        bad.write_text("drop,landing_mm\n0,12.5\nfive,13\n")
        self.assertIn(f"{bad}:3", run("calibrate", "flight", "--log", log, "--csv", bad, status=65).stderr)
        run("calibrate", "flight", "--log", log, status=64)
        run("calibrate", "flight", status=64)
        run("calibrate", "flight", "--height-mm", -1, status=64)
        run("calibrate", "flight", "--csv", self.path("nothere.csv"), status=65)

    def test_lead_from_logs_is_written_and_from_a_field_needs_both_ways(self):
        logs = [self.log(f"lead{seed}.droplog", "slow_valve", 300, seed, "--speed-mps", speed)
                for seed, speed in ((1, 0.15), (2, 0.3), (3, 0.45))]
        record = self.path("lead.toml")
        found = answer("calibrate", "lead", *logs, "--write", record, "--id", "LEAD", *MADE)
        self.assertEqual(found["lead_to_set_us"], round(found["lead_in_force_us"] + found["lag_us"]["value"]))
        self.assertIn("lead_to_set_us", record.read_text())
        run("calibrate", "lead", *logs[:2], status=65)
        field = self.path("field.csv")
        field.write_text(self.field_table((1, -1)))
        found = answer("calibrate", "lead", field, "--row", 1)
        self.assertLess(found["lag_us"]["low"], 9000)
        self.assertGreater(found["lag_us"]["high"], 9000)
        field.write_text(self.field_table((1, 1)))
        self.assertIn("can't be told", run("calibrate", "lead", field, status=65).stderr)

    def machine(self, name, seed, *words):
        return self.log(name, "six_units", 300, seed, *words)

    def test_all_units_of_a_machine_are_calibrated_at_once_into_book_and_settings(self):
        log = self.machine("machine.droplog", 5)
        folder = self.path("records")
        folder.mkdir()
        settings = self.path("machine.toml")
        settings.write_text('# ours\n[run]\nspeed_mps = 0.5 # as driven\n\n[[channel]]\nunit = "U-0201"\n')
        found = answer("calibrate", "efficiency", log, "--seen-by", "first", "--write", folder, "--id", "EFF", *MADE, "--book",
                       self.path("b.book"), "--settings", settings)
        self.assertEqual([one["unit"] for one in found["units"]], [f"U-020{n}" for n in range(1, 7)])
        for one in found["units"]:
            self.assertLessEqual(one["found"]["first_efficiency"]["low"], 0.99)
        records = sorted(path.name for path in folder.iterdir())
        self.assertEqual(records, [f"EFF-U-020{n}.toml" for n in range(1, 7)])
        self.assertIn("unit = 'U-0204'", (folder / "EFF-U-0204.toml").read_text())
        listed = answer("book", "list", "--book", self.path("b.book"))
        self.assertEqual(len(listed["calibrations"]), 6)
        changed = settings.read_text()
        self.assertIn("# ours", changed)
        self.assertIn("speed_mps = 0.5 # as driven", changed)
        self.assertIn("EFF-U-0206.toml", changed)
        text = run("calibrate", "efficiency", log).stdout
        self.assertEqual(sum(line.startswith("U-020") for line in text.splitlines()), 6)
        one = answer("calibrate", "efficiency", log, "--channel", 3)
        self.assertEqual(one["first_efficiency"], found["units"][3]["found"]["first_efficiency"])

    def test_leads_of_all_units_go_into_the_settings_file(self):
        logs = [self.machine(f"at{seed}.droplog", seed, "--speed-mps", speed)
                for seed, speed in ((1, 0.3), (2, 0.5), (3, 0.7))]
        settings = self.path("machine.toml")
        tables = "".join(f'\n[[channel]]\nunit = "U-020{n}" # row {n}\nlead_us = 1\n' for n in range(1, 7))
        settings.write_text("[run]\nmode = \"single\"\n" + tables)
        folder = self.path("leads")
        folder.mkdir()
        found = answer("calibrate", "lead", *logs, "--write", folder, "--id", "LEAD", "--settings", settings, *MADE)
        leads = [one["found"]["lead_to_set_us"] for one in found["units"]]
        self.assertEqual(len(leads), 6)
        for n, lead in enumerate(leads, 1):
            self.assertIn(f'unit = "U-020{n}" # row {n}\nlead_us = {lead}\n', settings.read_text())
        self.assertIn("several units", " ".join(run("calibrate", "lead", *logs, "--write", self.path("x.toml"), "--id", "X",
                                                     status=64).stderr.split()))
        words = subprocess.run([DROPLEDGER, "calibrate", "lead", *map(str, logs)], capture_output=True, text=True).stdout
        self.assertIn(" ms earlier", words)
        self.assertRegex(words, "earlier|later")
        one = run("calibrate", "lead", *logs, "--channel", 0).stdout
        self.assertRegex(one, r"offset +-?\d+\.\d\d \(-?\d+\.\d\d to -?\d+\.\d\d\) mm", "digits as the interval supports them")

    # 2026-11-26: where one unit of two could be calibrated, nothing was said of the other
    def test_the_units_that_cannot_be_calibrated_are_named_even_where_one_is_left(self):
        text = (SCENARIOS / "six_units.toml").read_text()
        gate = text[text.index("[unit.gate0]"):text.index("[unit.gate1]")]
        units = text[:text.index("[[channel]]")].replace(gate, "")
        made = self.path("two.toml")
        made.write_text(units + '[[channel]]\nunit = "U-0201"\nrow = 1\n' + gate.replace("[unit.", "[channel.") +
                        '[[channel]]\nunit = "U-0202"\nrow = 2\n')
        log = self.path("two.droplog")
        run("simulate", "--scenario", made, "--log", log, "--drops", 300)
        found = answer("calibrate", "efficiency", log, status=2)
        self.assertEqual([one["unit"] for one in found["units"]], ["U-0201"])
        self.assertIn("U-0202", found["left_out"][0])
        self.assertIn("left out: U-0202", " ".join(run("calibrate", "efficiency", log, status=2).stdout.split()))

    def test_a_line_that_does_not_fit_is_not_written_unless_told(self):
        table = self.path("bent.csv")
        table.write_text("speed_mps,error_mm,u_mm,lead_us\n0.2,10,0.3,18000\n0.4,21,0.3,18000\n0.6,72,0.3,18000\n")
        text = run("calibrate", "lead", "--csv", table, status=2).stdout
        self.assertIn("No straight line fits", text)
        self.assertNotIn("A straight line fits", text)
        record = self.path("bent.toml")
        refused = run("calibrate", "lead", "--csv", table, "--write", record, "--id", "L", *MADE, status=64)
        self.assertIn("--fit-anyway", refused.stderr)
        self.assertFalse(record.exists())
        run("calibrate", "lead", "--csv", table, "--write", record, "--id", "L", "--fit-anyway", *MADE, status=2)
        self.assertTrue(record.exists())

    def test_one_channel_number_for_two_units_is_refused(self):
        first = self.machine("a.droplog", 1)
        other = self.log("c.droplog", "six_units", 100, 3, change=[("U-0204", "U-0999")])
        refused = run("calibrate", "efficiency", first, other, status=64)
        self.assertIn("U-0204", refused.stderr)
        self.assertIn("U-0999", refused.stderr)

    @staticmethod
    def field_table(ways):
        # constructed: a lag of 9 ms, a map 12 mm off; offset_mm counts along the travel
        rows, start, number = ["time,pass,row,drop,east_m,north_m,target,seen,offset_mm"], 1790000000.0, 0
        for speed in (1.0, 2.0):
            for way in ways:
                number += 1
                rows += [f"{start + 0.18 * drop / speed:.3f},{number},1,{drop},0,{way * 0.18 * drop:.3f},1,1,"
                         f"{9 * speed + 12 * way + 2 * (drop % 5 - 2):.2f}" for drop in range(80)]
                start += 100
        return "\n".join(rows) + "\n"

    def test_a_classifier_takes_dust_out_of_an_efficiency_and_an_audit(self):
        dusty = [("detection = 0.999", "detection = 0.97"), ("debris_per_m = 0.02", "debris_per_m = 1.0")]
        log = self.log("dusty.droplog", "healthy", 3000, 4, change=dusty)
        record = self.path("pulses.toml")
        found = answer("calibrate", "classifier", log, "--gate", 1, "--write", record, "--id", "PULSE", *MADE)
        self.assertGreater(found["counts"][0], 300)
        plain = answer("calibrate", "efficiency", log)
        clean = answer("calibrate", "efficiency", log, "--calibration", record)
        self.assertGreater(clean["matching"][0]["gates"][1]["dust"], 300)
        self.assertLess(plain["first_efficiency"]["high"], 0.9)
        self.assertGreater(clean["first_efficiency"]["value"], 0.95)
        self.assertEqual(clean["matching"][0]["gates"][1]["dead_us"], 100)
        audited = held(subprocess.run([DROPLEDGER, "audit", log, "--calibration", record, "--json"], capture_output=True,
                                      text=True, timeout=120).stdout)
        self.assertGreater(audited["channels"][0]["ledger"]["rejected_pulses"], 300)
        run("calibrate", "classifier", log, "--gate", 2, status=64)
        few = self.log("few.droplog", "healthy", 20, 5)
        run("calibrate", "classifier", few, status=65)

    def test_records_are_joined_refused_taken_anyway_and_warned_of(self):
        log = self.log("run.droplog", "healthy", 400, 9)
        record = self.path("record.toml")
        counts = ["calibrate", "efficiency", "--dropped", 1000, "--seen", 990, "--seen-by", "second", "--write", record]
        holds = ["--id", "CAL-1", "--bench", "bench-1", "--unit", "U-0101", "--crop", "chicory"]
        run(*counts, *holds, *MADE)
        run("calibrate", "flight", "--height-mm", 50, "--exit-mps", 2.3, "--write", record, *holds, *MADE)
        both = record.read_text()
        self.assertIn("[efficiency]", both)
        self.assertIn("[flight]", both)
        self.assertIn("holds calibration CAL-1", run(*counts, "--id", "CAL-2", *MADE, status=64).stderr)
        run(*counts, status=64)  # no --id
        self.assertEqual(answer("audit", log, "--calibration", record, "--profile", "single-fine")["calibration"], "CAL-1")

        foreign = self.path("foreign.toml")
        foreign.write_text(both.replace("U-0101", "U-0999"))
        self.assertIn("it is for another: unit 'U-0999'", run("audit", log, "--calibration", foreign, status=64).stderr)
        taken = answer("audit", log, "--calibration", foreign, "--calibration-anyway", "--profile", "single-fine")
        self.assertIn("foreign", " ".join(taken["notes"]))

        coarse = self.path("coarse.toml")
        run("calibrate", "efficiency", "--dropped", 1000, "--seen", 990, "--seen-by", "second", "--write", coarse, "--id",
            "COARSE", "--seed-mm-low", 3, "--seed-mm-high", 5, *MADE)
        self.assertIn("seed of 3 to 5 mm", run("audit", log, "--calibration", coarse, status=64).stderr)

        expired = self.path("expired.toml")
        run("calibrate", "efficiency", "--dropped", 1000, "--seen", 600, "--seen-by", "second", "--write", expired, "--id", "OLD",
            *LATE)
        audited = answer("audit", log, "--calibration", expired, "--profile", "single-fine", status=2)
        self.assertIn("had expired", " ".join(audited["notes"]))
        self.assertFalse(audited["channels"][0]["sensor"]["judges_corrected"])

    def test_a_calibration_that_the_run_contradicts_corrects_nothing(self):
        # 5 % of the drops of the worn cell's unit are empty; a gate of 85 % would leave at least 15 % without a pulse.
        log = self.log("worn.droplog", "worn_cell", 1000, 1)
        record = self.path("wrong.toml")
        record.write_text('schema = "dropledger/calibration/1"\nid = "WRONG"\ndate = "2026-01-02"\nexpires = "2027-01-02"\n'
                          '[holds_for]\ngate = 1\n[efficiency]\nvalue = 0.85\nlow = 0.84\nhigh = 0.86\nconfidence = 0.95\n'
                          'method = "constructed"\n')
        judged = answer("audit", log, "--calibration", record, status=2)
        self.assertEqual([each["kind"] for each in judged["contradictions"]], ["calibration_contradicted"])
        self.assertEqual(judged["outcome"], "undecided")
        for criterion in judged["channels"][0]["verdict"]["criteria"]:
            if criterion["name"] in ("miss_index", "multiples_index", "quality_of_feed_index"):
                self.assertEqual((criterion["outcome"], criterion["more_drops"]), ("undecided", 0), criterion)
        self.assertIsNone(judged["channels"][0]["sensor"]["corrected_miss"])
        self.assertIn("contradicts this run", " ".join(judged["channels"][0]["notes"]))

    def test_a_run_counts_once_and_a_record_needs_whole_logs(self):
        log = self.log("a.droplog", "healthy", 300, 1)
        twice = run("calibrate", "efficiency", log, log, status=64)
        self.assertIn("the same run", twice.stderr)
        cut = self.path("cut.droplog")
        cut.write_bytes(log.read_bytes()[:-3000])
        self.assertIn("is not whole", run("calibrate", "efficiency", cut).stderr)
        refused = run("calibrate", "efficiency", cut, "--write", self.path("r.toml"), "--id", "R", status=64)
        self.assertIn("is not whole", refused.stderr)
        self.assertFalse(self.path("r.toml").exists())

    def test_no_output_lies_over_an_input(self):
        log = self.log("a.droplog", "healthy", 100, 1)
        before = log.read_bytes()
        link = self.path("link.html")
        link.symlink_to(log)
        for page in (log, link):
            self.assertIn("would be written over", run("audit", log, "--html", page, status=64).stderr)
        same = self.path("same")
        self.assertIn("the same file as", run("field", log, "--html", same, "--csv", same, status=64).stderr)
        self.assertEqual(log.read_bytes(), before)
        self.assertFalse(same.exists())

    def test_a_bad_record_is_named_with_its_line(self):
        log = self.log("run.droplog", "healthy", 50, 9)
        record = self.path("record.toml")
        run("calibrate", "efficiency", "--dropped", 1000, "--seen", 990, "--write", record, "--id", "CAL-1", *MADE)
        good = record.read_text()
        for old, new, what in (("[efficiency]", "[eficiency]", "unknown key"), ("'2027-01-02'", "'2027-13-02'", "no date"),
                               ("[efficiency]", "[efficiency", ""), ("value = ", "value = 7", "number")):
            self.assertIn(old, good)
            record.write_text(good.replace(old, new, 1))
            told = run("audit", log, "--calibration", record, status=65).stderr
            self.assertRegex(told, rf"{record}:\d+: .*{what}")
        run("audit", log, "--calibration", self.path("nothere.toml"), status=65)

    def test_ways_that_disagree_are_said_in_words_and_not_written(self):
        words = ["calibrate", "efficiency", "--both", 930, "--first", 985, "--second", 960, "--dropped", 1000, "--seen", 800,
                 "--seen-by", "second"]
        told = run(*words, status=2).stdout
        self.assertIn("do not agree", told)
        self.assertIn("escaped both gates", told)
        run(*words, "--write", self.path("no.toml"), "--id", "X", status=64)
        self.assertFalse(self.path("no.toml").exists())
        run("calibrate", "efficiency", "--both", 9, "--first", 5, "--second", 7, status=64)


unittest.main(argv=sys.argv[:1])
