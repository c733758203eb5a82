"""What every command does with files and standard output: nothing of another kind is written over, a write that fails
is told, and text from files cannot steer a terminal.

usage: deliver_test.py DROPLEDGER SCENARIOS SAMPLE_BATCH PROFILE
"""

import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

PROGRAM, SCENARIOS, SAMPLE, PROFILE = sys.argv[1], pathlib.Path(sys.argv[2]), sys.argv[3], sys.argv[4]
FILE_TROUBLE = 74
WRONG_USAGE = 64


def run(*arguments, **options):
    options.setdefault("stdout", subprocess.PIPE)
    return subprocess.run([PROGRAM, *map(str, arguments)], stderr=subprocess.PIPE, timeout=120, **options)


class Folder(unittest.TestCase):
    def setUp(self):
        self.keeper = tempfile.TemporaryDirectory()
        self.folder = pathlib.Path(self.keeper.name)
        self.addCleanup(self.keeper.cleanup)

    def simulate(self, name, *arguments):
        log = self.folder / name
        done = run("simulate", "--scenario", SCENARIOS / "healthy.toml", "--log", log, "--drops", 60, *arguments)
        self.assertEqual(done.returncode, 0, done.stderr)
        return log

    def refused(self, kept, *arguments):
        """The command refuses with 64 and `kept` keeps its bytes."""
        before = kept.read_bytes()
        done = run(*arguments)
        self.assertEqual(done.returncode, WRONG_USAGE, (arguments, done.stdout, done.stderr))
        self.assertEqual(kept.read_bytes(), before)
        return done.stderr.decode()


class NothingIsLost(Folder):
    def test_a_log_is_not_simulated_over(self):
        log = self.simulate("a.droplog")
        said = self.refused(log, "simulate", "--scenario", SCENARIOS / "healthy.toml", "--log", log, "--drops", 60)
        self.assertIn("never written over", said)

    def test_no_output_goes_over_a_log_key_batch_or_letter(self):
        log = self.simulate("a.droplog")
        key = self.folder / "bench.key"
        self.assertEqual(run("batch", "key", key).returncode, 0)
        letter = self.folder / "letter.txt"
        letter.write_text("Dear all, the units came on Monday.\n")
        other = self.simulate("b.droplog")
        for kept in (key, letter, other):
            self.refused(kept, "audit", log, "--html", kept)
            self.refused(kept, "plan", "fixed", "--good", 0.01, "--bad", 0.1, "--html", kept)
            self.refused(kept, "simulate", "--scenario", SCENARIOS / "healthy.toml", "--log", self.folder / "c.droplog",
                         "--truth", kept)
            self.refused(kept, "simulate", "--field", kept)
        self.refused(log, "audit", log, "--html", log)

    def test_a_batch_keeps_itself_and_the_key_from_its_own_certificate(self):
        batch = self.folder / "a.batch.json"
        batch.write_text(subprocess.run([SAMPLE, PROFILE, "B-01", "2026-01-03T08:00:00Z", "7,8,9,7,8"],
                                        capture_output=True, text=True, check=True).stdout)
        key = self.folder / "issuer.key"
        self.assertEqual(run("batch", "key", key).returncode, 0)
        issue = ("batch", "certificate", batch, "--key", key, "--logs", batch.parent)
        self.refused(key, *issue, "--out", key)
        self.refused(key, *issue, "--out", self.folder / "c.json", "--pdf", key)
        self.refused(batch, *issue, "--out", batch)
        self.refused(batch, "batch", "trend", batch, "--html", batch)
        self.assertFalse((self.folder / "c.json").exists())

    def test_the_same_kind_is_replaced(self):
        log = self.simulate("a.droplog")
        page = self.folder / "page.html"
        for _ in range(2):
            self.assertIn(run("audit", log, "--html", page).returncode, (0, 1, 2))
        self.assertTrue(page.read_text().lower().startswith("<!doctype html"))
        self.assertEqual(sorted(p.name for p in self.folder.iterdir()), ["a.droplog", "page.html"])

    def test_two_outputs_are_two_files(self):
        table = self.folder / "night.csv"
        self.assertEqual(run("simulate", "--field", table, "--seed", 4).returncode, 0)
        both = self.folder / "both"
        done = run("field", table, "--html", both, "--csv", both)
        self.assertEqual(done.returncode, WRONG_USAGE)
        self.assertFalse(both.exists())

    def test_a_table_with_other_columns_is_kept(self):
        table = self.folder / "night.csv"
        self.assertEqual(run("simulate", "--field", table, "--seed", 4).returncode, 0)
        mine = self.folder / "mine.csv"
        mine.write_text("unit,n,misses\nSU-1,200,3\n")
        self.refused(mine, "field", table, "--csv", mine)
        self.refused(mine, "simulate", "--field", self.folder / "n2.csv", "--truth", mine)


class WritesThatFail(Folder):
    def everything(self):
        log = self.simulate("a.droplog")
        table = self.folder / "units.csv"
        table.write_text("unit,n,misses\n" + "".join(f"SU-{i},200,{i % 5}\n" for i in range(20)))
        key = self.folder / "bench.key"
        self.assertEqual(run("batch", "key", key).returncode, 0)
        plan = ("plan", "fixed", "--good", 0.01, "--bad", 0.1)
        return [("--help",), ("--version",), ("audit", "--help"), ("audit", log), ("audit", log, "--json"), ("check", log),
                ("check", log, "--json"), plan, (*plan, "--json"), ("plan", "variables", "--n", 20),
                ("batch", "units", table), ("batch", "units", table, "--json"), ("batch", "key", key, "--show"),
                ("calibrate", "efficiency", "--both", 930, "--first", 950, "--second", 960),
                ("calibrate", "gauge", "plan"), ("run", "--list-ports"), ("run", "--list-ports", "--json")]

    def test_a_full_disk_on_standard_output_is_74(self):
        for arguments in self.everything():
            with open("/dev/full", "wb") as full:
                done = run(*arguments, stdout=full)
            self.assertEqual(done.returncode, FILE_TROUBLE, (arguments, done.stderr))
            self.assertIn(b"standard output", done.stderr)

    def test_a_reader_that_went_away_is_74(self):
        for arguments in self.everything():
            reader, writer = os.pipe()
            os.close(reader)
            with os.fdopen(writer, "wb") as gone:
                done = run(*arguments, stdout=gone)
            self.assertEqual(done.returncode, FILE_TROUBLE, (arguments, done.stderr))

    def test_a_standard_output_that_is_closed_is_74_and_no_file_comes_to_lie_there(self):
        log = self.simulate("a.droplog")
        page = self.folder / "page.html"
        done = subprocess.run(["sh", "-c", '"$0" "$@" >&-', PROGRAM, "audit", log, "--html", page],
                              stderr=subprocess.PIPE, timeout=120)
        self.assertEqual(done.returncode, FILE_TROUBLE, done.stderr)
        self.assertTrue(page.read_text().rstrip().endswith("</html>"))

    def test_a_full_disk_under_a_file_is_74(self):
        log = self.simulate("a.droplog")
        self.assertEqual(run("audit", log, "--html", "/dev/full").returncode, FILE_TROUBLE)
        for option in ("--log", "--truth"):
            rest = () if option == "--log" else ("--log", self.folder / "b.droplog")
            done = run("simulate", "--scenario", SCENARIOS / "healthy.toml", option, "/dev/full", *rest, "--drops", 60)
            self.assertEqual(done.returncode, FILE_TROUBLE, (option, done.stderr))
        self.assertTrue(os.path.exists("/dev/full") and not os.path.isfile("/dev/full"))

    def test_a_standard_error_that_takes_nothing_changes_no_status(self):
        with open("/dev/full", "wb") as full:
            done = subprocess.run([PROGRAM, "check", "/nowhere.droplog"], stdout=subprocess.PIPE, stderr=full, timeout=60)
        self.assertEqual(done.returncode, 65)


class TextThatReachesAPerson(Folder):
    HOSTILE = "\x1b[2Jevil\r\u202enihtiw\u200b\x9b"

    def assert_shown(self, text):
        for character in "\x1b\r\u202e\u200b\x9b":
            self.assertNotIn(character, text)
        self.assertIn("\\x1B[2Jevil\\r\\u{202E}nihtiw\\u{200B}\\u{009B}", text)

    def test_a_name_of_a_file_is_shown_escaped_in_errors(self):
        done = run("audit", self.folder / (self.HOSTILE + ".droplog"))
        self.assert_shown(done.stderr.decode())

    def test_a_unit_of_a_table_is_shown_escaped(self):
        table = self.folder / "values.csv"
        rows = "".join(f"SU-{i},{10 + i % 3}\n" for i in range(20))
        table.write_bytes((f"unit,value\n{rows}" + self.HOSTILE.replace("\r", "") + ",99\n").encode())
        done = run("batch", "variables", table, "--column", "value", "--upper", 20)
        text = done.stdout.decode()
        self.assertIn("\\x1B[2Jevil", text)
        for character in "\x1b\u202e\u200b\x9b":
            self.assertNotIn(character, text)

    def test_lines_of_our_own_stay_lines(self):
        key = self.folder / "bench.key"
        self.assertEqual(run("batch", "key", key).returncode, 0)
        done = run("batch", "open", self.folder / "a.batch.json", "--serials", "SU-1..SU-280", "--profile", "single",
                   "--aql", 1.0, "--for-buyer", "--key", key)
        lines = done.stdout.decode().splitlines()
        plan = next(at for at, line in enumerate(lines) if line.startswith("plan  "))
        self.assertTrue(lines[plan].endswith("from 2 on"), lines[plan])
        self.assertTrue(lines[plan + 1].startswith("              level II, AQL 1 %"), lines[plan + 1])

    def test_a_page_shows_it_too_and_stays_well_formed_text(self):
        log = self.simulate("a.droplog")
        hostile = self.folder / (self.HOSTILE.replace("\r", "") + ".droplog")
        hostile.write_bytes(log.read_bytes())
        page = self.folder / "page.html"
        run("audit", hostile, "--html", page)
        text = page.read_bytes().decode()
        for character in "\x1b\u202e\u200b\x9b":
            self.assertNotIn(character, text)
        self.assertIn("\\u{202E}nihtiw", text)

    def test_json_stays_utf_8(self):
        log = self.simulate("a.droplog")
        odd = os.fsencode(self.folder) + b"/\xff\x1b.droplog"
        with open(odd, "wb") as copy:
            copy.write(log.read_bytes())
        done = subprocess.run([PROGRAM, "audit", odd, "--json"], stdout=subprocess.PIPE, timeout=120)
        self.assertNotIn(b"\x1b", done.stdout)
        done.stdout.decode("utf-8")


class SeveralAtOnce(Folder):
    def test_ten_records_of_one_calibration_at_once_lose_none(self):
        """Each writes another value of the same record: all must stand in it at the end."""
        record = self.folder / "CAL-1.toml"
        base = ("--write", record, "--id", "CAL-1", "--date", "2026-01-05", "--expires", "2027-01-05", "--unit", "SU-1")
        ways = [("calibrate", "efficiency", "--dropped", 1000, "--seen", 980, *base),
                ("calibrate", "flight", "--gate", 0, "--height-mm", 300, "--height-u-mm", 2, "--exit-mps", 0.5, "--exit-u-mps", 0.05,
                 *base)]
        self.assertEqual(run(*ways[0]).returncode, 0)
        started = [subprocess.Popen([PROGRAM, *map(str, ways[i % 2])], stdout=subprocess.DEVNULL,
                                    stderr=subprocess.PIPE) for i in range(10)]
        for one in started:
            _, said = one.communicate(timeout=120)
            self.assertEqual(one.returncode, 0, said)
        text = record.read_text()
        self.assertIn("[efficiency]", text)
        self.assertIn("[flight", text)
        self.assertEqual([p.name for p in self.folder.iterdir()], ["CAL-1.toml"])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
