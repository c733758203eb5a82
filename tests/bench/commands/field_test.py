#!/usr/bin/env python3
"""The field audit as a program: a night with known faults, every exit status, every file it writes, and what it refuses."""
import collections
import csv
import functools
import json
import math
import pathlib
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree as xml

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import geojson_check  # noqa: E402

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER, SCENARIOS = sys.argv[1], pathlib.Path(sys.argv[2])
HEADER = "time,pass,row,drop,lat,lon,target,seen,alert"
KIND_OF = {"bridging": "bridging", "bad_cell": "bad_cell", "empty_container": "empty_container",
           "start_loss": "start_loss", "sensor": "sensor"}


def run(*words, given=None):
    return subprocess.run([DROPLEDGER, *map(str, words)], capture_output=True, text=True, timeout=120, input=given)


class Folder(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def table(self, rows, header=HEADER, name="field.csv"):
        path = self.folder / name
        path.write_text("\n".join([header, *rows]) + "\n")
        return path

    def record(self, name, *words, seen=1700):
        path = self.folder / f"{name}.toml"
        done = run("calibrate", "efficiency", "--dropped", 2000, "--seen", seen, "--write", path, "--id", name, *words)
        self.assertEqual(done.returncode, 0, done.stderr)
        return path


def crc16(data):
    crc = 0xFFFF
    for byte in data:
        crc ^= byte << 8
        for _ in range(8):
            crc = (crc << 1) ^ 0x1021 if crc & 0x8000 else crc << 1
        crc &= 0xFFFF
    return crc


def a_pass(silent=(), alerts=(), drops=300, row=1, pass_=1):
    """Constructed: drops 200 mm apart to the north, by degrees."""
    return [f"{1790000000 + drop},{pass_},{row},{drop},{52 + drop * 1.7975e-6:.7f},{10 + row * 7e-6:.7f},1,"
            f"{0 if drop in silent else 1},{1 if drop in alerts else 0}" for drop in range(drops)]


class Night(unittest.TestCase):
    """Three fields, eight rows, four faults of different kinds, one dirty sensor; invented, the truth is known."""

    @classmethod
    def setUpClass(cls):
        cls.kept = tempfile.TemporaryDirectory()
        cls.folder = pathlib.Path(cls.kept.name)
        cls.night, truth = cls.folder / "night.csv", cls.folder / "truth.csv"
        assert run("simulate", "--field", cls.night, "--truth", truth, "--seed", 4).returncode == 0
        cls.why = {}
        by_row = collections.defaultdict(collections.Counter)
        with open(truth) as lines:
            for line in csv.DictReader(lines):
                cls.why[tuple(int(line[key]) for key in ("pass", "row", "drop"))] = line["why"]
                by_row[int(line["row"])][line["why"]] += 1
        cls.faults = {row: next(why for why, _ in counts.most_common() if why != "random")
                      for row, counts in by_row.items() if max(counts.values()) > 250}
        cls.dirty = next(row for row, why in cls.faults.items() if why == "sensor")

    @classmethod
    def tearDownClass(cls):
        cls.kept.cleanup()

    @classmethod
    @functools.lru_cache(maxsize=None)
    def audit(cls, *words):
        return held(run("field", cls.night, "--json", *words).stdout)

    def judged(self, found, row_is_dirty):
        return collections.Counter(one["judgement"] for one in found["alerts"]
                                   if (one["row"] == self.dirty) == row_is_dirty)

    def test_has_four_faults_of_different_kinds_and_a_dirty_sensor(self):
        self.assertEqual(sorted(self.faults.values()), sorted(KIND_OF))

    def test_names_the_right_rows_and_causes_and_no_other_once_the_sensor_is_calibrated(self):
        record = self.folder / "dirty.toml"
        self.assertEqual(run("calibrate", "efficiency", "--dropped", 2000, "--seen", 1700, "--write", record, "--id",
                             "CAL-DIRTY", "--date", "2026-04-15", "--expires", "2027-04-15").returncode, 0)
        found = self.audit("--calibration", f"{self.dirty}={record}")
        self.assertEqual({one["row"] for one in found["causes"]}, set(self.faults))
        for one in found["causes"]:
            self.assertIn(KIND_OF[self.faults[one["row"]]], [one["kind"], *one["could_be"]], one["evidence"])
        self.assertTrue(250 <= len(found["alerts"]) <= 350, len(found["alerts"]))
        wrong = [one for one in found["alerts"] if one["judgement"] != "unknown" and
                 (one["judgement"] == "missing") != (self.why[one["pass"], one["row"], one["drop"]] != "sensor")]
        self.assertLessEqual(len(wrong), 0.03 * len(found["alerts"]), wrong[:5])
        self.assertEqual(self.judged(found, True)["unknown"], 0)
        self.assertEqual(self.judged(found, True).most_common(1)[0][0], "sensor")

    def test_cannot_tell_the_dirty_sensor_from_a_bad_meter_without_its_efficiency(self):
        found = self.audit()
        self.assertEqual(set(self.judged(found, True)), {"unknown"})
        self.assertIn({"row": self.dirty, "kind": "meter_or_sensor"},
                      [{key: one[key] for key in ("row", "kind")} for one in found["causes"]])
        self.assertIn("can't tell which", run("field", self.night).stdout)

    def test_judges_by_the_neighbours_only_where_that_is_asked_for(self):
        for assumption, judgement in (("gates-alike", "missing"), ("meters-alike", "sensor")):
            found = self.audit("--assume", assumption)
            self.assertEqual(set(self.judged(found, True)), {judgement})

    def test_tells_the_three_fields_apart(self):
        fields = self.audit()["fields"]
        self.assertEqual([(one["first_pass"], one["last_pass"], one["drops"]) for one in fields],
                         [(1, 16, 96000), (17, 32, 96000), (33, 48, 96000)])

    def test_writes_a_map_a_walking_list_and_geojson_that_keeps_the_standard(self):
        html, walk, geojson = (self.folder / name for name in ("night.html", "walk.csv", "night.geojson"))
        done = run("field", self.night, "--html", html, "--csv", walk, "--geojson", geojson, "--reseed-min-m", 2)
        self.assertEqual(done.returncode, 1, done.stderr)
        found = self.audit("--reseed-min-m", 2)
        page = xml.fromstring(html.read_text().replace("<!DOCTYPE html>", ""))
        self.assertEqual(len([one for one in page.iter("path") if one.get("data-p")]), 48 * 8)
        self.assertNotIn("http://", html.read_text().replace("http://www.w3.org", ""))
        self.assertEqual(geojson_check.faults(geojson.read_text()), [])
        features = json.loads(geojson.read_text())["features"]
        self.assertEqual(sum(one["geometry"]["type"] == "Point" for one in features) >= len(found["alerts"]), True)
        with open(walk) as lines:
            rows = list(csv.DictReader(lines))
        self.assertEqual(len(rows), len(found["walk"]["stops"]))
        self.assertEqual(sum(row["judgement"] == "missing" for row in rows), found["reseed"]["gaps"])
        self.assertLess(found["walk"]["way_m"], found["walk"]["way_in_list_order_m"])

    def test_a_walk_goes_to_a_navigation_device_and_a_map_program(self):
        gpx, kml = self.folder / "walk.gpx", self.folder / "walk.kml"
        self.assertEqual(run("field", self.night, "--gpx", gpx, "--kml", kml).returncode, 1)
        stops = len(self.audit()["walk"]["stops"])
        space = "{http://www.topografix.com/GPX/1/1}"
        names = [one.find(space + "name").text for one in xml.parse(gpx).getroot().iter(space + "wpt")]
        self.assertEqual(len(names), stops)
        self.assertRegex(names[0], r"^1 \u00b7 row \d \u00b7 [0-9.]+ m$")
        space = "{http://www.opengis.net/kml/2.2}"
        self.assertEqual([one.find(space + "name").text for one in xml.parse(kml).getroot().iter(space + "Placemark")], names)

    def test_the_walking_list_has_the_separator_and_decimal_sign_asked_for(self):
        walk = self.folder / "comma.csv"
        self.assertEqual(run("field", self.night, "--csv", walk, "--csv-separator", ";", "--csv-decimal-comma").returncode, 1)
        first = walk.read_text().splitlines()[1].split(";")
        self.assertRegex(first[10], r"^\d+,\d\d$")
        self.assertEqual(run("field", self.night, "--csv", walk, "--csv-decimal-comma").returncode, 64)

    def test_what_digging_finds_settles_the_row(self):
        dig = self.audit()["dig"]
        for found, judgement in (("none", "missing"), ("seed", "sensor")):
            row = next(row for row, why in self.faults.items() if why == "bridging")
            gap = max((one for one in self.audit()["gaps"] if one["row"] == row), key=lambda one: one["length_m"])
            table = self.folder / f"{found}.csv"
            table.write_text(f"pass,row,first_drop,last_drop,found\n{gap['pass']},{row},{gap['first_drop']},"
                             f"{gap['last_drop']},{found}\n")
            again = self.audit("--found", str(table))
            long = [one["judgement"] for one in again["gaps"] if one["row"] == row and one["length_m"] > 4.0]
            self.assertEqual(set(long), {judgement})
        self.assertGreater(dig["settles_alerts"], 0)


class GeoJsonCheck(unittest.TestCase):
    def test_finds_what_the_standard_forbids(self):
        def one(geometry):
            return json.dumps({"type": "FeatureCollection", "features": [
                {"type": "Feature", "geometry": geometry, "properties": None}]})

        square = [[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]]
        self.assertEqual(geojson_check.faults(one({"type": "Polygon", "coordinates": [square]})), [])
        for bad in ({"type": "Polygon", "coordinates": [square[::-1]]}, {"type": "Point", "coordinates": [10.12345678, 52]},
                    {"type": "Point", "coordinates": [52, 190]}, {"type": "LineString", "coordinates": [[0, 0]]},
                    {"type": "LineString", "coordinates": [[179.9, 0], [-179.9, 0]]}, {"type": "Spot"},
                    {"type": "Point", "coordinates": ["10", "52"]}):
            self.assertTrue(geojson_check.faults(one(bad)), bad)
        self.assertTrue(geojson_check.faults('{"type": "FeatureCollection", "features": [], "crs": {}}'))
        self.assertTrue(geojson_check.faults('{"type": "FeatureCollection", "features": [NaN]}'))


class Statuses(Folder):
    def status(self, *words, **more):
        return run("field", *words, **more).returncode

    def test_0_where_nothing_needs_doing(self):
        self.assertEqual(self.status(self.table(a_pass())), 0)

    def test_1_where_a_gap_is_worth_reseeding(self):
        self.assertEqual(self.status(self.table(a_pass(range(100, 130), [102]))), 1)

    def test_2_where_an_alert_cannot_be_told_or_a_row_was_kept_out(self):
        self.assertEqual(self.status(self.table(a_pass([50], [50]))), 2)
        self.assertEqual(self.status(self.table(a_pass() + ["nonsense"])), 2)

    def test_64_for_wrong_usage(self):
        table = self.table(a_pass())
        for words in ([], [table, "--gate-efficiency", "1"], [table, "--gate-efficiency", "1=1.2"], [table, "--germination", 2],
                      [table, "--reseed-min-m", -1], [table, "--guard-mm", -1], [table, "--assume", "luck"],
                      [table, "--row-spacing-mm", 500], [table, table], [table, "--nonsense"]):
            self.assertEqual(self.status(*words), 64, words)

    def test_65_where_nothing_can_be_read(self):
        for text, remark in (("", "header"), ("pass,row\n1,1\n", "no column"), (HEADER + "\n", "no drops"),
                             (HEADER + "\nx,y,z,a,b,c,d,e,f\n", "line 2")):
            path = self.folder / "bad.csv"
            path.write_text(text)
            done = run("field", path)
            self.assertEqual(done.returncode, 65, text)
            self.assertIn(remark, done.stderr)
        self.assertEqual(self.status(self.folder / "nothere.csv"), 65)

    def test_74_where_a_file_cannot_be_written_and_nothing_half_written(self):
        for option in ("--html", "--csv", "--geojson"):
            path = self.folder / "nofolder" / "out"
            self.assertEqual(self.status(self.table(a_pass()), option, path), 74, option)
        self.assertEqual([path.name for path in self.folder.iterdir()], ["field.csv"])

    def test_no_file_at_all_where_places_are_plane_and_geojson_is_wanted(self):
        table = self.table([f"1,1,1,{i},0,{0.2 * i:.1f},1,1,0" for i in range(50)], "time,pass,row,drop,east_m,north_m,target,seen,alert")
        self.assertEqual(self.status(table, "--geojson", self.folder / "a", "--html", self.folder / "b"), 64)
        self.assertEqual([path.name for path in self.folder.iterdir()], ["field.csv"])


class Tables(Folder):
    def found(self, *words, **more):
        done = run("field", *words, "--json", **more)
        self.assertIn(done.returncode, (0, 1, 2), done.stderr)
        self.assertEqual(done.stderr, "")
        return held(done.stdout)

    def test_json_has_the_keys_that_others_rely_on(self):
        found = self.found(self.table(a_pass(range(100, 130), [102, 200])))
        self.assertEqual(found["schema"], "dropledger/field/1")
        self.assertLessEqual({"drops", "rows_bad", "rows", "gaps", "alerts", "causes", "reseed"}, set(found))
        self.assertLessEqual({"pass", "row", "drops", "silent", "gaps", "longest_gap_m"}, set(found["rows"][0]))
        self.assertLessEqual({"pass", "row", "first_drop", "last_drop", "length_m", "from", "to", "judgement"},
                             set(found["gaps"][0]))
        self.assertEqual([(one["drop"], one["judgement"]) for one in found["alerts"]], [(102, "missing"), (200, "unknown")])
        self.assertLessEqual({"min_length_m", "gaps", "seeds"}, set(found["reseed"]))
        self.assertAlmostEqual(found["gaps"][0]["length_m"], 31 * 0.2, delta=0.02)

    def test_bad_rows_are_told_with_line_and_reason(self):
        rows = a_pass(drops=60)
        rows[10:10] = ["1790000000,1,1,ten,52,10,1,1,0", "1790000000,1,1,500,92,10,1,1,0", "1,2,3", rows[3],
                       "1790000000,1,1,501,52,10,1,-1,0", '1790000000,1,1,"503,52,10,1,1,0']
        found = self.found(self.table(rows))
        told = {one["line"]: one["reason"] for one in found["bad_rows"]}
        self.assertEqual((found["drops"], found["rows_bad"]), (60, 6))
        for line, remark in ((12, "drop 'ten'"), (13, "lat '92'"), (14, "3 fields"), (15, "already in line 5"),
                             (16, "seen '-1'"), (17, "quote")):
            self.assertIn(remark, told[line])

    def test_a_time_that_cannot_be_read_costs_the_time_not_the_row(self):
        rows = a_pass(drops=60)
        rows[7] = rows[7].replace("1790000007", "yesterday")
        found = self.found(self.table(rows))
        self.assertEqual((found["drops"], found["rows_bad"], found["table"]["times_unread"]), (60, 0, 1))

    def test_a_gap_is_as_long_as_its_drops_lie_not_as_its_ends(self):
        """Constructed: a lap of 800 drops round a circle, 0.2 m apart, of which 700 are bare."""
        rows = []
        for drop in range(800):
            turn = 2 * math.pi * drop / 800
            rows.append(f"{drop},1,1,{drop},{25.4648 * math.cos(turn):.4f},{25.4648 * math.sin(turn):.4f},1,"
                        f"{0 if 50 <= drop < 750 else 1},0")
        found = self.found(self.table(rows, "time,pass,row,drop,east_m,north_m,target,seen,alert"))
        self.assertAlmostEqual(max(one["length_m"] for one in found["gaps"]), 701 * 0.2, delta=0.5)

    def test_alerts_that_come_late_belong_to_the_gap_before(self):
        silent = [at for first in range(20, 280, 40) for at in range(first, first + 12)]
        found = self.found(self.table(a_pass(silent, [first + 30 for first in range(20, 260, 40)])))
        self.assertEqual({one["gap"] is None for one in found["alerts"]}, {False})
        self.assertEqual({found["gaps"][one["gap"]]["last_drop"] - one["drop"] for one in found["alerts"]}, {-19})
        self.assertEqual({one["judgement"] for one in found["alerts"]}, {"unknown"})  # they came and went

    def test_a_mapping_reads_another_machines_table_and_a_bad_one_is_refused_with_its_place(self):
        mapping = self.folder / "map.toml"
        mapping.write_text('separator = ";"\ndecimal_comma = true\nutc_offset_minutes = 120\n'
                           '[columns]\ntime = "Zeit"\npass = "Spur"\n')
        rows = [line.replace(",", ";").replace(".", ",") for line in a_pass(range(100, 130))]
        table = self.table(rows, HEADER.replace("time", "Zeit").replace("pass", "Spur").replace(",", ";"))
        self.assertEqual(self.found(table, "--mapping", mapping)["gaps"][0]["first_drop"], 100)
        for text in ("separator = 7\n", "[columns]\nnonsense = \"a\"\n", "[units]\noffset_mm = \"furlong\"\n", "= 3\n"):
            mapping.write_text(text)
            done = run("field", table, "--mapping", mapping)
            self.assertIn(done.returncode, (64, 65), text)
            self.assertIn("map.toml:", done.stderr)

    def test_standard_input_is_read(self):
        self.assertEqual(self.found("-", given="\n".join([HEADER, *a_pass()]) + "\n")["drops"], 300)

    def test_speed_between_passes_is_looked_at(self):
        rows = []
        for pass_ in range(1, 9):
            for drop in range(600):
                fast = pass_ % 4
                silent = (drop * 7919 + pass_ * 104729) % 1000 < (3, 20, 45, 70)[fast]
                rows.append(f"{1790000000 + 2000 * pass_ + drop * 0.2 / (0.15 + 0.1 * fast):.2f},{pass_},1,{drop},{pass_},"
                            f"{drop * 0.2:.1f},1,{0 if silent else 1},0")
        found = self.found(self.table(rows, "time,pass,row,drop,east_m,north_m,target,seen,alert"))
        self.assertIn("speed_dependence", [one["kind"] for one in found["causes"]])


class Calibrations(Folder):
    def test_expired_and_foreign_records_are_refused_or_named(self):
        table = self.table(a_pass([50], [50]))
        late = self.record("LATE", "--date", "2020-01-01", "--expires", "2021-01-01")
        done = run("field", table, "--calibration", f"1={late}")
        self.assertEqual(done.returncode, 2, done.stderr)
        self.assertIn("had expired", done.stdout)
        other = self.folder / "gate1.toml"
        other.write_text(late.read_text().replace("gate = 0", "gate = 1").replace("2021", "2090"))
        self.assertEqual(run("field", table, "--calibration", f"1={other}").returncode, 64)
        done = run("field", table, "--calibration", f"1={other}", "--calibration-anyway")
        self.assertIn("foreign", done.stdout)
        self.assertEqual(run("field", table, "--calibration", other).returncode, 64)
        self.assertEqual(run("field", table, "--calibration", f"1={self.folder / 'none.toml'}").returncode, 65)


class Droplogs(Folder):
    def log(self, number, scenario="six_units", hour=20):
        path = self.folder / f"pass-{number}.droplog"
        done = run("simulate", "--scenario", SCENARIOS / f"{scenario}.toml", "--log", path, "--drops", 300, "--seed", number,
                   "--started", f"2026-04-14T{hour:02}:00:00Z")
        self.assertEqual(done.returncode, 0, done.stderr)
        return path

    def test_are_passes_in_the_order_in_which_they_began_and_agree_with_their_audits(self):
        logs = [self.log(1, hour=22), self.log(2, hour=20), self.log(3, hour=21)]
        found = held(run("field", *logs, "--json", "--guard-mm", 20).stdout)
        self.assertEqual((found["drops"], len(found["rows"]), found["alerts"]), (3 * 6 * 300, 18, []))
        audited = [held(run("audit", log, "--json").stdout) for log in logs]
        for pass_, log in ((1, 1), (2, 2), (3, 0)):
            for channel in audited[log]["channels"]:
                row = next(one for one in found["rows"] if (one["pass"], one["row"]) == (pass_, channel["row"]))
                self.assertEqual((row["drops"], row["silent"]), (channel["ledger"]["drops"], channel["ledger"]["miss"]))
        self.assertTrue(all(one["within_guard"] > 0.9 and one["unit"].startswith("U-") for one in found["units"]))

    def test_find_the_row_of_a_calibrated_unit(self):
        log = self.log(1)
        record = self.record("CAL-U4", "--unit", "U-0204", "--expires", "2090-01-01", seen=1990)
        gate1 = self.folder / "gate1.toml"
        gate1.write_text(record.read_text().replace("gate = 0", "gate = 1"))
        found = held(run("field", log, "--json", "--calibration", gate1).stdout)
        self.assertEqual([one["row"] for one in found["units"] if one["calibration"] == "CAL-U4"], [4])
        self.assertIn((4, "meter"), [(one["row"], one["kind"]) for one in found["causes"]])
        self.assertEqual(run("field", log, "--calibration", record).returncode, 64)  # gate 1 judged, not the own sensor

    def half_silent(self, name, fault):
        """Constructed: 200 drops 180 mm apart at 0.25 m/s, the second hundred unseen."""
        lines = ["@droplog,1,00000000-0000-4000-8000-000000000002,2026-04-14T20:00:00Z", "@set,mode,single",
                 "@set,spacing_um,180000", "@set,count,1", "@set,speed_um_s,250000", "@channel,0,unit,U-1", "@channel,0,row,1",
                 "@channel,0,gate0_place,below", "@channel,0,gate0_fall_us,0"]
        events = [(0, "hello", "1,boot,1,fw")] + [(step * 200_000, "travel", step * 50_000) for step in range(740)]
        for drop in range(200):
            at = 1_000_000 + drop * 720_000
            events.append((at - 100_000, "drop", f"0,{drop},{at // 4},1"))
            events += [(at, "pulse", "0,0,600,500")] if drop < 100 else []
        events += [(73_500_000, "fault", "0,gate_blocked")] if fault else []
        lines += [f"{what},{seq},{at},{rest}" for seq, (at, what, rest) in enumerate(sorted(events, key=lambda one: one[0]))]
        path = self.folder / f"{name}.droplog"
        path.write_text("".join(f"{line}*{crc16(line.encode()):04X}\n" for line in lines))
        return path

    def test_a_gate_that_reported_itself_blocked_is_not_taken_for_missing_seed(self):
        for fault, judgement in ((False, "missing"), (True, "unknown")):
            found = held(run("field", self.half_silent("half", fault), "--json").stdout)
            self.assertEqual((found["drops"], found["rows_bad"]), (200, 0))
            self.assertEqual([(one["first_drop"], one["last_drop"], one["judgement"]) for one in found["gaps"]],
                             [(100, 199, judgement)])

    def test_of_a_line_are_refused(self):
        done = run("field", self.log(1, "line_regular"))
        self.assertEqual(done.returncode, 65)
        self.assertIn("commands no drops", done.stderr)


unittest.main(argv=sys.argv[:1])
