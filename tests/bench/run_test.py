"""`dropledger run` as a person or a script meets it: questions, refusals, signals, full disks, ports.

usage: run_test.py DROPLEDGER SCENARIO
"""

import os
import pathlib
import pty
import resource
import signal
import subprocess
import sys
import tempfile
import termios
import time
import unittest

from wire import Bench, Log

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from schemas import held  # noqa: E402

PROGRAM, SCENARIO = sys.argv[1:3]
PLAN = ["--spacing-mm", "180", "--speed-mps", "0.25", "--drops", "60"]


def run(*options, **rest):
    return subprocess.run([PROGRAM, "run", *map(str, options)], capture_output=True, text=True, timeout=120,
                          stdin=rest.pop("stdin", subprocess.DEVNULL), **rest)


class WithoutABench(unittest.TestCase):
    def refused(self, status, part, *options):
        done = run(*options)
        self.assertEqual(done.returncode, status, done.stderr)
        self.assertIn(part, done.stderr)
        self.assertEqual(done.stdout, "")

    def test_names_what_is_missing_or_wrong(self):
        port = ["--port", "/dev/null", "--yes"]
        cases = [
            ("--port", ["--yes", *PLAN]),
            ("--resume", [*port, *PLAN, "--resume", "run.droplog"]),
            ("--spacing-mm", [*port, "--speed-mps", "0.25", "--drops", "5"]),
            ("--speed-mps", [*port, "--spacing-mm", "180", "--drops", "5"]),
            ("--drops", [*port, "--spacing-mm", "180", "--speed-mps", "0.25"]),
            ("--mode", [*port, *PLAN, "--mode", "double"]),
            ("--count", [*port, *PLAN, "--count", "2"]),
            ("--count", [*port, *PLAN, "--mode", "portion"]),
            ("--rate-per-m", [*port, *PLAN, "--rate-per-m", "20"]),
            ("--spacing-mm", [*port, *PLAN, "--mode", "line", "--rate-per-m", "20"]),
            ("--rate-per-m", [*port, "--mode", "line", "--speed-mps", "1", "--drops", "5"]),
            ("0.5 is out of range", [*port, "--spacing-mm", "0.5", "--speed-mps", "0.25", "--drops", "5"]),
            ("--channels", [*port, *PLAN, "--channels", "0,16"]),
            ("--channels", [*port, *PLAN, "--channels", "1,1"]),
            ("--channel-mask", [*port, *PLAN, "--channels", "1", "--channel-mask", "2"]),
            ("more units", [*port, *PLAN, "--channels", "0", "--unit", "A", "--unit", "B"]),
            ("channel 3 is not part", [*port, *PLAN, "--unit", "3=A"]),
            ("CH:KEY=VALUE", [*port, *PLAN, "--channel-set", "lead_us=5"]),
            ("no setting `led_us`", [*port, *PLAN, "--channel-set", "0:led_us=5"]),
            ("gate0_place", [*port, *PLAN, "--channel-set", "0:gate2_place=above"]),
            ("is not a place", [*port, *PLAN, "--gate-place", "beside"]),
            ("own option", [*port, *PLAN, "--set", "spacing_um=5"]),
            ("KEY=VALUE", [*port, *PLAN, "--set", "Colour=5"]),
            ("is not a channel", [*port, *PLAN, "--unit", "4294967296=A"]),
            ("is not a channel", [*port, *PLAN, "--channel-set", "4294967296:lead_us=5"]),
            ("is not a channel", [*port, *PLAN, "--channel-set", "-1:lead_us=5"]),
            ("too long", [*port, *PLAN, "--operator", "x" * 200]),
            ("no profile is called 'singel'; did you mean single?", [*port, *PLAN, "--profile", "singel"]),
            ("profile 'portion' is for mode portion, this run is single", [*port, *PLAN, "--profile", "portion"]),
            ("A is named twice: for channel 0 and channel 1", [*port, *PLAN, "--unit", "A", "--unit", "A"]),
            ("60 us is no fall", [*port, *PLAN, "--gate-place", "below", "--gate-fall-us", "60"]),
            ("did you mean 60 ms, 60000?", [*port, *PLAN, "--gate-place", "below", "--gate-fall-us", "60"]),
            ("no gate is 60 s over the ground", [*port, *PLAN, "--gate-fall-us", "60000000"]),
            ("250.0 drops a second, over the 100 that any unit makes",
             [*port, "--spacing-mm", "1", "--speed-mps", "0.25", "--drops", "5"]),
            ("13.9 drops a second, over the 10 that this unit can make",
             [*port, "--spacing-mm", "18", "--speed-mps", "0.25", "--drops", "5", "--most-drops-per-s", "10"]),
            ("is not a channel", [*port, *PLAN, "--channels", "6-1"]),
            ("option --spacing: `dropledger run` has no such option; did you mean --spacing-mm?",
             [*port, "--spacing", "180", "--speed-mps", "0.25", "--drops", "5"]),
            ("`wide` is not a number", [*port, "--spacing-mm", "wide", "--speed-mps", "0.25", "--drops", "5"]),
            ("write 1.000 or 1000", [*port, "--spacing-mm", "180", "--speed-mps", "0.25", "--drops", "1,000"]),
        ]
        for part, options in cases:
            with self.subTest(part=part, options=options):
                self.refused(64, part, *options)

    def test_starts_no_motor_unasked(self):
        done = run("--port", "/dev/null", *PLAN)
        self.assertEqual(done.returncode, 64)
        for caution in ("mask and gloves", "guard closed", "infrared", "unplug", "seed label"):
            self.assertIn(caution, done.stderr)
        self.assertIn("--yes", done.stderr)

    def test_refuses_a_place_for_the_log_before_the_cautions(self):
        with tempfile.TemporaryDirectory() as folder:
            there = pathlib.Path(folder) / "there.droplog"
            there.write_text("precious\n")
            for log, part in ((folder, "it is a folder; name a file in it with --log"), (there, "never overwritten"),
                              (pathlib.Path(folder) / "no" / "x.droplog", "make the folder first")):
                with self.subTest(log=log):
                    done = run("--port", "/dev/null", *PLAN, "--log", log)
                    self.assertEqual(done.returncode, 74)
                    self.assertIn(part, done.stderr)
                    self.assertNotIn("Before the motors start", done.stderr)

    def test_knows_a_mistyped_command(self):
        for words, part in ((["rn"], "no command 'rn' of `dropledger`; did you mean run?"),
                            (["book", "trnd"], "no command 'trnd' of `dropledger book`; did you mean trend?"),
                            (["audti"], "did you mean audit?"),
                            (["weigh"], "`dropledger --help` lists what there is\n")):
            done = subprocess.run([PROGRAM, *words], capture_output=True, text=True, timeout=60)
            self.assertEqual((done.returncode, done.stdout), (64, ""))
            self.assertIn(part, done.stderr)

    def test_tells_of_a_profile_that_is_not_there_by_itself(self):
        done = subprocess.run([PROGRAM, "audit", SCENARIO, "--profile", "nope.toml"], capture_output=True, text=True, timeout=60)
        self.assertEqual((done.returncode, done.stderr),
                         (65, "dropledger: nope.toml: there is no such file; check the spelling of the path\n"))

    def test_names_a_port_that_is_not_there(self):
        with tempfile.TemporaryDirectory() as folder:
            log = pathlib.Path(folder) / "x.droplog"
            self.refused(74, "/dev/nowhere", "--port", "/dev/nowhere", "--yes", *PLAN, "--log", log)
            self.assertFalse(log.exists())

    def test_lists_ports(self):
        listed = held(run("--list-ports", "--json").stdout)
        self.assertEqual(listed["schema"], "dropledger/ports/1")
        self.assertEqual(run("--list-ports").returncode, 0)

    def test_explains_a_wrong_settings_file(self):
        with tempfile.TemporaryDirectory() as folder:
            file = pathlib.Path(folder) / "s.toml"
            for text, part in (("[run]\nspacing = 3\n", ":2: [run] knows no key `spacing`"),
                               ("[run]\nspacing_mm = \"wide\"\n", ":2: `spacing_mm`"),
                               ("[[channel]]\nchannel = 4294967296\nunit = \"A\"\n", "is not a channel"),
                               ("[runs]\n", "unknown part `runs`"),
                               ("[run]\nspeed_mps = 0,25\n", ":2: a number has a decimal comma; write a decimal point"),
                               ("[run\n", ":1: "), ("channel = 3\n", "[[channel]]")):
                file.write_text(text)
                with self.subTest(text=text):
                    self.refused(65, part, "--settings", file, "--port", "/dev/null", "--yes")
            self.refused(65, "there is no such file; check the spelling", "--settings", file.parent / "none.toml")
            self.refused(65, "it is a folder", "--settings", ".")

    def test_has_nothing_to_go_on_with(self):
        self.refused(65, "none.droplog", "--port", "/dev/null", "--yes", "--resume", "none.droplog")


class WithABench(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.log = self.folder / "run.droplog"
        self.bench = Bench(PROGRAM, SCENARIO, self.folder, pace=20)
        self.addCleanup(self.bench.close, finish=False)

    def drive(self, *options, **rest):
        return run("--port", self.bench.wire.host_port, "--yes", "--log", self.log, *PLAN, *options, **rest)

    def test_notes_what_goes_on_but_not_into_a_log(self):
        notes = self.folder / "notes.log"
        done = self.drive("--diagnostics", notes, "--verbose")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("[debug] port ", notes.read_text())
        self.assertIn("[debug] end: ", notes.read_text())
        self.assertIn("lines taken", done.stderr)
        before = self.log.read_bytes()
        refused = self.drive("--diagnostics", self.log)
        self.assertEqual(refused.returncode, 64)
        self.assertIn("would be written over", refused.stderr)
        self.assertEqual(self.log.read_bytes(), before)

    def test_notes_into_no_file_that_is_read_or_is_another_s(self):
        settings = self.folder / "machine.toml"
        settings.write_text('[run]\noperator = "A. Example"\n')
        letter = self.folder / "letter.txt"
        letter.write_text("Dear all, the units came on Monday.\n")
        for kept in (settings, letter):
            before = kept.read_bytes()
            refused = self.drive("--settings", settings, "--diagnostics", kept)
            self.assertEqual(refused.returncode, 64, refused.stderr)
            self.assertEqual(kept.read_bytes(), before)
        refused = self.drive("--diagnostics", self.log)
        self.assertEqual(refused.returncode, 64, refused.stderr)
        self.assertFalse(self.log.exists())
        notes = self.folder / "notes.log"
        self.assertEqual(self.drive("--diagnostics", notes).returncode, 0)
        first = notes.read_text()
        self.drive("--diagnostics", notes)  # the log is there: it ends at once
        self.assertTrue(notes.read_text().startswith(first))

    def started(self, *options):
        driver = self.bench.driver("--log", self.log, *PLAN[:4], "--drops", 100000, *options)
        while not (self.log.exists() and any(line[2] == "drop" for line in Log(self.log).controller)):
            self.assertIsNone(driver.poll(), "the driver ended early")
            time.sleep(0.05)
        return driver

    def test_tells_where_the_log_is_and_what_to_do_with_it(self):
        done = self.drive("--unit", "U-7")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn(f"audit it with: dropledger audit {self.log}", done.stdout)
        self.assertIn("provisional", done.stderr)
        self.assertNotIn("\x1b", done.stderr)
        Log(self.log).check_seals()

    def test_signs_its_log_with_the_bench_key_and_tells_nobody_the_key(self):
        key = self.log.with_name("bench.key")
        made = subprocess.run([PROGRAM, "batch", "key", key], capture_output=True, text=True, timeout=60)
        self.assertEqual(made.returncode, 0, made.stderr)
        done = self.drive("--key", key)
        self.assertEqual(done.returncode, 0, done.stderr)
        checked = held(subprocess.run([PROGRAM, "check", self.log, "--json"], capture_output=True, text=True,
                                      timeout=60).stdout)
        self.assertTrue(checked["signed"])
        self.assertEqual(checked["public_key"], made.stdout.strip().split()[-1])
        os.chmod(key, 0o640)
        refused = run("--port", "/dev/null", "--yes", *PLAN, "--key", key)
        self.assertEqual(refused.returncode, 74)
        self.assertIn("chmod 600", refused.stderr)

    def test_counts_the_runs_of_its_key_and_names_the_last_seal_of_the_one_before(self):
        key = self.log.with_name("bench.key")
        self.assertEqual(subprocess.run([PROGRAM, "batch", "key", key], capture_output=True, timeout=60).returncode, 0)
        self.assertEqual(self.drive("--key", key).returncode, 0)
        first = self.log.read_text()
        self.log.rename(self.log.with_name("first.droplog"))
        self.assertEqual(self.drive("--key", key).returncode, 0)
        second = self.log.read_text()
        seal = [line for line in first.splitlines() if line.startswith("@seal,")][-1].split(",")[2][:64]
        self.assertIn("@set,run_number,1*", first)
        self.assertIn("@set,previous_seal," + "0" * 64, first)
        self.assertIn("@set,run_number,2*", second)
        self.assertIn(f"@set,previous_seal,{seal}*", second)
        counter = key.with_name("bench.key.runs")
        self.assertRegex(counter.read_text(), r"^dropledger run counter, version 1\n2 [0-9a-f]{64}\n$")
        counter.write_text("2\n")  # a count that began anew would hide runs
        self.log.rename(self.log.with_name("second.droplog"))
        refused = self.drive("--key", key)
        self.assertEqual(refused.returncode, 65)
        self.assertIn("the run counter is damaged", refused.stderr)

    def test_writes_nothing_but_json_to_standard_output(self):
        told = held(self.drive("--json").stdout)
        self.assertEqual((told["schema"], told["end_reason"]), ("dropledger/run/1", "count"))
        self.assertEqual(told["channels"][0]["drops"], 60)

    def test_takes_settings_from_a_file_and_options_over_them(self):
        file = self.folder / "bench.toml"
        file.write_text('[run]\nmode = "single"\nspacing_mm = 150\nspeed_mps = 0.3\ndrops = 20\nseed_lot = "L,1"\n'
                        '[[channel]]\nunit = "U-1"\nlead_us = 8000\ngate0_place = "below"\ngate0_fall_us = 60000\n')
        done = run("--port", self.bench.wire.host_port, "--yes", "--log", self.log, "--settings", file, "--spacing-mm",
                   "200", "--channel-set", "0:lead_us=9000", "--set", "shift=late", "--json")
        self.assertEqual(done.returncode, 0, done.stderr)
        settings = {fields[1]: fields[2] for fields in Log(self.log).host("@set")}
        channel = {fields[2]: fields[3] for fields in Log(self.log).host("@channel")}
        self.assertEqual((settings["spacing_um"], settings["speed_um_s"], settings["seed_lot"], settings["shift"]),
                         ("200000", "300000", "L%2C1", "late"))
        self.assertEqual((channel["unit"], channel["lead_us"], channel["gate0_fall_us"]), ("U-1", "9000", "60000"))

    def asked(self, answer, *options):
        ours, theirs = pty.openpty()
        os.write(ours, answer)
        done = run("--port", self.bench.wire.host_port, "--log", self.log, *PLAN, *options, stdin=theirs)
        os.close(ours)
        os.close(theirs)
        return done

    def test_asks_at_a_terminal_and_takes_no_for_an_answer(self):
        done = self.asked(b"no\n")
        self.assertEqual(done.returncode, 64)
        self.assertIn("nothing was started", done.stderr)
        self.assertFalse(self.log.exists())

    def test_takes_yes_however_it_is_written(self):
        for answer in (b"Yes\n", b"y\n"):
            self.log.unlink(missing_ok=True)
            done = self.asked(answer)
            self.assertEqual(done.returncode, 0, done.stderr)

    def test_looks_at_the_bench_before_it_asks_anybody(self):
        done = self.asked(b"yes\n", "--channels", "0-7")
        self.assertEqual(done.returncode, 74)
        self.assertIn("has 1 channel (0 to 0); this run names 8, up to channel 7", done.stderr)
        self.assertNotIn("Before the motors start", done.stderr)
        self.assertFalse(self.log.exists())

    def test_runs_only_the_unit_that_is_named_of_a_settings_file(self):
        file = self.folder / "machine.toml"
        file.write_text('[run]\nspacing_mm = 180\nspeed_mps = 0.25\ndrops = 20\n[[channel]]\nunit = "U-0203"\n'
                        'lead_us = 7000\n[[channel]]\nunit = "U-0204"\n')
        done = run("--port", self.bench.wire.host_port, "--yes", "--settings", file, "--unit", "U-0203", "--log", self.log)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(sorted(Log(self.log).host("@channel")),
                         [["@channel", "0", "lead_us", "7000"], ["@channel", "0", "unit", "U-0203"]])
        wrong = run("--port", "/dev/null", "--yes", "--settings", file, "--unit", "U-0205")
        self.assertEqual(wrong.returncode, 64)
        self.assertIn("the settings file has no unit U-0205", wrong.stderr)

    def test_quotes_a_name_in_the_command_that_it_hands_on(self):
        self.log = self.folder / "unit 42.droplog"
        done = self.drive()
        self.assertIn(f"audit it with: dropledger audit '{self.log}'", done.stdout)

    def test_never_writes_over_a_log(self):
        self.log.write_text("precious\n")
        done = self.drive()
        self.assertEqual(done.returncode, 74)
        self.assertIn("never overwritten", done.stderr)
        self.assertEqual(self.log.read_text(), "precious\n")

    def test_says_that_a_folder_cannot_be_written(self):
        self.log = pathlib.Path("/proc/run.droplog")
        done = self.drive()
        self.assertEqual(done.returncode, 74)
        self.assertIn("/proc/run.droplog", done.stderr)

    def test_halts_seals_and_closes_on_every_signal_that_asks_it_to_end(self):
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT):
            with self.subTest(number=number):
                self.log.unlink(missing_ok=True)
                driver = self.started()
                driver.send_signal(number)
                _, told = driver.communicate(timeout=60)
                self.assertEqual(driver.returncode, 2, told)
                read = Log(self.log)
                self.assertEqual(read.close_reason, "interrupted")
                self.assertTrue(any(line[2] == "halted" for line in read.controller))
                read.check_order()
                read.check_seals()

    def test_is_the_only_one_on_its_port(self):
        driver = self.started()
        other = run("--port", self.bench.wire.host_port, "--yes", *PLAN, "--log", self.folder / "b.droplog")
        self.assertEqual(other.returncode, 74)
        self.assertIn("in use", other.stderr)
        driver.send_signal(signal.SIGTERM)
        driver.communicate(timeout=60)
        self.assertEqual(Log(self.log).close_reason, "interrupted")

    def test_halts_on_a_full_disk_and_goes_on_later(self):
        done = self.drive(preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (6000, resource.RLIM_INFINITY)))
        self.assertEqual(done.returncode, 74, done.stderr)
        self.assertIn("the motors are halted", done.stderr)
        self.assertIn(f"go on with dropledger run --port {self.bench.wire.host_port} --resume {self.log}", done.stderr)
        cut = Log(self.log)
        self.assertEqual(cut.torn, b"")
        self.assertGreaterEqual(cut.controller[-1][1], self.bench.wire.acknowledged)
        rest = run("--port", self.bench.wire.host_port, "--yes", "--resume", self.log)
        self.assertEqual(rest.returncode, 0, rest.stderr)
        read = Log(self.log)
        self.assertEqual(read.close_reason, "count")
        self.assertEqual(sum(line[2] == "drop" for line in read.controller), 60)
        read.check_order()
        read.check_seals()

    def killed_in_mid_run(self):
        driver = self.started()
        driver.kill()
        driver.communicate(timeout=60)
        time.sleep(2.6)  # the controller halts by itself
        return Log(self.log).controller[-1][1]

    def test_goes_on_after_a_kill_with_what_is_left_and_the_audit_takes_it_for_one_run(self):
        driver = self.bench.driver("--log", self.log, *PLAN[:4], "--drops", "200", "--unit", "U-1")
        while not (self.log.exists() and sum(line[2] == "drop" for line in Log(self.log).controller) > 20):
            self.assertIsNone(driver.poll(), "the driver ended early")
            time.sleep(0.05)
        driver.kill()
        driver.communicate(timeout=60)
        time.sleep(2.6)  # the controller halts by itself
        done = run("--port", self.bench.wire.host_port, "--yes", "--resume", self.log)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("drops a channel are left: the motors start again for those", done.stderr)
        read = Log(self.log)
        self.assertEqual((read.close_reason, len(read.host("@confirmed"))), ("count", 2))
        told = subprocess.run([PROGRAM, "audit", self.log, "--json"], capture_output=True, text=True, timeout=60)
        audited = held(told.stdout)
        self.assertTrue(audited["source"]["complete"], audited["source"])
        self.assertEqual(audited["channels"][0]["ledger"]["drops"], 200)
        self.assertTrue(any("gone on with" in note for note in audited["notes"]), audited["notes"])

    def test_judges_a_stopped_run_and_the_log_that_goes_on_as_one(self):
        driver = self.started("--unit", "U-1")
        driver.send_signal(signal.SIGINT)
        told, _ = driver.communicate(timeout=60)
        self.assertIn(b"--as-one", told)
        made = sum(line[2] == "drop" for line in Log(self.log).controller)
        rest, other = self.folder / "rest.droplog", self.folder / "other.droplog"
        for log, unit in ((rest, "U-1"), (other, "U-2")):
            done = run("--port", self.bench.wire.host_port, "--yes", *PLAN, "--unit", unit, "--log", log)
            self.assertEqual(done.returncode, 0, done.stderr)

        def audit(*logs):
            return subprocess.run([PROGRAM, "audit", *logs, "--as-one", "--json"], capture_output=True, text=True, timeout=60)

        joined = held(audit(self.log, rest).stdout)
        self.assertEqual(joined["channels"][0]["ledger"]["drops"], made + 60)
        self.assertTrue(any("Judged as one run with" in note for note in joined["notes"]), joined["notes"])
        for logs, part in (((rest, self.log), "it did not end early"), ((self.log, other), "unit of channel 0 differs"),
                           ((self.log, self.log), "it is the same run")):
            refused = audit(*logs)
            self.assertEqual(refused.returncode, 65, refused.stdout)
            self.assertIn(part, refused.stderr)

    def test_asks_before_it_goes_on_and_closes_where_told(self):
        self.killed_in_mid_run()
        for answer, status, closed in ((b"no\n", 64, None), (b"close\n", 2, "host_silent")):
            ours, theirs = pty.openpty()
            os.write(ours, answer)
            done = run("--port", self.bench.wire.host_port, "--resume", self.log, stdin=theirs)
            os.close(ours)
            os.close(theirs)
            self.assertEqual(done.returncode, status, done.stderr)
            self.assertIn("are left as far as this log goes", done.stderr)
            self.assertIn("mask and gloves", done.stderr)
            self.assertEqual(Log(self.log).close_reason, closed)
            self.assertEqual(sum(line[2] == "started" for line in Log(self.log).controller), 1)

    def test_destroys_nothing_that_the_controller_holds_of_a_killed_run(self):
        last = self.killed_in_mid_run()
        other = self.folder / "other.droplog"
        drive = ["--port", self.bench.wire.host_port, "--yes", *PLAN, "--log", other]
        refused = run(*drive)
        self.assertEqual(refused.returncode, 74)
        self.assertIn("--resume", refused.stderr)
        self.assertIn("--discard-held", refused.stderr)
        self.assertFalse(other.exists())
        rest = run("--port", self.bench.wire.host_port, "--resume", self.log)  # asks nothing: it can start nothing
        self.assertEqual(rest.returncode, 2, rest.stderr)
        read = Log(self.log)
        self.assertGreater(read.controller[-1][1], last)
        read.check_order()
        read.check_seals()
        done = run(*drive)
        self.assertEqual(done.returncode, 0, done.stderr)

    def test_neither_takes_over_nor_keeps_alive_a_run_that_is_still_on(self):
        driver = self.started()
        driver.kill()
        driver.communicate(timeout=60)
        other = self.folder / "other.droplog"
        refused = run("--port", self.bench.wire.host_port, "--yes", *PLAN, "--log", other)
        self.assertEqual(refused.returncode, 74)
        self.assertFalse(other.exists())
        time.sleep(2.6)
        rest = run("--port", self.bench.wire.host_port, "--resume", self.log)
        self.assertEqual(rest.returncode, 2, rest.stderr)
        self.assertIn(Log(self.log).close_reason, ("host_silent", "host"))
        Log(self.log).check_order()

    def test_gives_held_lines_up_where_told_and_then_tells_the_old_log_so(self):
        self.killed_in_mid_run()
        other = self.folder / "other.droplog"
        done = run("--port", self.bench.wire.host_port, "--yes", *PLAN, "--log", other, "--discard-held")
        self.assertEqual(done.returncode, 0, done.stderr)
        before = Log(self.log).controller
        rest = run("--port", self.bench.wire.host_port, "--yes", "--resume", self.log)
        self.assertEqual(rest.returncode, 74)
        self.assertIn("another run has acknowledged", rest.stderr)
        self.assertEqual(Log(self.log).controller, before)
        self.assertIsNone(Log(self.log).close_reason)

    def test_asks_again_before_it_starts_what_was_never_started(self):
        done = self.drive()
        whole = self.log.read_bytes()
        self.log.write_bytes(whole[:whole.index(b"armed,")])  # killed before `go`
        asked = run("--port", self.bench.wire.host_port, "--resume", self.log)
        self.assertEqual(asked.returncode, 64, done.stderr)
        self.assertIn("--yes", asked.stderr)

    def test_halts_when_its_log_is_taken_away_and_leaves_what_stands_in_its_place(self):
        driver = self.started()
        moved = self.folder / "moved.droplog"
        self.log.rename(moved)
        self.log.write_text("precious\n")
        _, told = driver.communicate(timeout=60)
        self.assertEqual(driver.returncode, 74, told)
        self.assertIn(b"another file stands in the log's place", told)
        self.assertIn(b"the motors are halted", told)
        self.assertEqual(self.log.read_text(), "precious\n")
        self.assertGreaterEqual(Log(moved).controller[-1][1], self.bench.wire.acknowledged)

    def test_runs_on_while_its_terminal_is_held(self):
        ours, theirs = pty.openpty()
        environment = {**os.environ, "TERM": "vt100"}
        driver = subprocess.Popen(
            [PROGRAM, "run", "--port", self.bench.wire.host_port, "--yes", "--log", self.log, *PLAN[:4], "--drops", "400"],
            stdout=subprocess.DEVNULL, stderr=theirs, env=environment)
        while not (self.log.exists() and Log(self.log).host("@confirmed")):
            self.assertIsNone(driver.poll(), "the driver ended early")
            time.sleep(0.02)
        termios.tcflow(theirs, termios.TCOOFF)  # Ctrl-S
        driver.wait(120)
        self.assertEqual(driver.returncode, 0)
        self.assertEqual(Log(self.log).close_reason, "count")
        os.close(ours)
        os.close(theirs)

    def test_runs_on_when_nobody_reads_what_it_says(self):
        reader, writer = os.pipe()
        driver = subprocess.Popen(
            [PROGRAM, "run", "--port", self.bench.wire.host_port, "--yes", "--log", self.log, *PLAN],
            stdout=subprocess.DEVNULL, stderr=writer)
        os.close(writer)
        while not (self.log.exists() and Log(self.log).host("@confirmed")):
            time.sleep(0.02)
        os.close(reader)
        driver.wait(120)
        self.assertEqual(driver.returncode, 0)
        self.assertEqual(Log(self.log).close_reason, "count")

    def test_finds_the_bench_by_asking(self):
        listed = held(run("--list-ports", "--probe", "--port", self.bench.wire.host_port, "--json").stdout)
        self.assertTrue(listed["ports"][0]["looks_like_bench"])
        self.assertTrue(listed["ports"][0]["firmware"])


unittest.main(argv=sys.argv[:1])
