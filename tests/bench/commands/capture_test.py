"""A capture becomes a log whose ledger is what happened: from a maker of captures of this test's own, from the virtual
bench, and through the conversions of a general-purpose tool (sigrok-cli, Debian).

usage: capture_test.py DROPLEDGER SCENARIOS
"""
import csv
import pathlib
import random
import shutil
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

PROGRAM, SCENARIOS = sys.argv[1], pathlib.Path(sys.argv[2])
SPACING_MM, SPEED_MPS, LEAD_US, FALL_US = 100.0, 0.5, 40_000, 20_000


def run(*arguments, **options):
    return subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, timeout=300, **options)


def drops_of_a_run(seed, count):
    """For each drop what falls: errors of its seeds in µs against the moment they are due on the ground."""
    random.seed(seed)
    drops = []
    for _ in range(count):
        seeds = random.choices((0, 1, 2), weights=(4, 93, 3))[0]
        drops.append([random.gauss(0, 4000) + 24_000 * i for i in range(seeds)])
    return drops


def capture_of(drops, step_us=1):
    """Levels of four signals as (time in µs, signal, level), in order of time; a jittering hand pushes nothing."""
    edges = []
    spacing_us = SPACING_MM / 1000 / SPEED_MPS * 1e6
    for index, seeds in enumerate(drops):
        ground_us = (index + 5) * spacing_us
        command_us = round(ground_us - LEAD_US)
        edges += [(command_us, "valve", 1), (command_us + 6000, "valve", 0)]
        for error_us in seeds:
            beam_us = round(ground_us + error_us - FALL_US)
            edges += [(beam_us, "beam", 0), (beam_us + random.randint(500, 1500), "beam", 1)]
    end_us = round((len(drops) + 10) * spacing_us)
    count_us = 100  # 50 µm at 0.5 m/s
    for count in range(1, end_us // count_us):
        signal = "a" if count % 2 else "b"
        edges.append((count * count_us, signal, int(count % 4 in (1, 2))))
    edges = [(at // step_us * step_us, signal, level) for at, signal, level in edges]
    return sorted(edges, key=lambda edge: edge[0]), end_us


def write_vcd(path, edges, end_us):
    codes = {"a": "!", "b": '"', "valve": "#", "beam": "$x"}
    with path.open("w") as out:
        print("$version a maker of the tests $end\n$timescale 1 us $end\n$scope module probe $end", file=out)
        for name, code in codes.items():
            print(f"$var wire 1 {code} {name} $end", file=out)
        print("$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n0!\n0\"\n0#\n1$x\n$end", file=out)
        for at_us, signal, level in edges:
            print(f"#{at_us}\n{level}{codes[signal]}", file=out)
        print(f"#{end_us}", file=out)


def write_rows(path, edges, end_us):
    levels = {"a": 0, "b": 0, "valve": 0, "beam": 1}
    with path.open("w") as out:
        print("time_us;" + ";".join(levels), file=out)
        print("0;" + ";".join(map(str, levels.values())), file=out)
        for at_us, signal, level in edges:
            levels[signal] = level
            print(f"{at_us};" + ";".join(map(str, levels.values())), file=out)
        print(f"{end_us};" + ";".join(map(str, levels.values())), file=out)


WIRING = """
[travel]
a = "a"
b = "b"
mm_per_count = 0.05
[[channel]]
channel = 0
command = "valve"
gate1 = "beam"
gate1_dark = "low"
gate1_glitch_us = 5
"""

SETTINGS = f"""
[run]
mode = "single"
spacing_mm = {SPACING_MM}
speed_mps = {SPEED_MPS}
bench = "bench-1"
crop = "chicory, invented"
[[channel]]
channel = 0
unit = "SU-0201"
lead_us = {LEAD_US}
gate1_place = "below"
gate1_fall_us = {FALL_US}
"""


class Folder(unittest.TestCase):
    def setUp(self):
        self.keeper = tempfile.TemporaryDirectory()
        self.folder = pathlib.Path(self.keeper.name)
        self.addCleanup(self.keeper.cleanup)

    def file(self, name, text=None):
        if text is not None:
            (self.folder / name).write_text(text)
        return self.folder / name

    def capture(self, source, wiring, settings, log, *more, **options):
        return run("capture", source, "--wiring", wiring, "--settings", settings, "--log", log, *more, **options)

    def ledger(self, log):
        done = run("audit", "--json", log)
        self.assertIn(done.returncode, (0, 1, 2), done.stderr)
        [channel] = held(done.stdout)["channels"]
        return channel


class OwnMaker(Folder):
    def expect(self, drops, source):
        wiring, settings = self.file("wiring.toml", WIRING), self.file("machine.toml", SETTINGS)
        log = self.folder / (source.name + ".droplog")
        done = self.capture(source, wiring, settings, log, "--json")
        self.assertEqual(done.returncode, 0, done.stderr)
        found = held(done.stdout)
        self.assertEqual(found["channels"][0]["drops"], len(drops))
        self.assertEqual(found["doubts"], [])
        channel = self.ledger(log)
        table = channel["ledger"]
        self.assertEqual(table["drops"], len(drops))
        self.assertEqual(table["miss"], sum(len(seeds) == 0 for seeds in drops))
        self.assertEqual(table["multiple"], sum(len(seeds) == 2 for seeds in drops))
        self.assertEqual(table["single"], sum(len(seeds) == 1 for seeds in drops))
        errors_mm = [error / 1e6 * SPEED_MPS * 1000 for seeds in drops for error in seeds]
        errors_mm.sort()
        middle = errors_mm[len(errors_mm) // 2]
        self.assertAlmostEqual(channel["placement"]["offset_mm"]["value"], middle, delta=0.05)
        return found

    def test_a_dump_and_a_table_of_the_same_run(self):
        drops = drops_of_a_run(1, 300)
        edges, end_us = capture_of(drops)
        write_vcd(self.file("run.vcd"), edges, end_us)
        write_rows(self.file("run.csv"), edges, end_us)
        found = self.expect(drops, self.folder / "run.vcd")
        self.assertAlmostEqual(found["travelled_mm"], end_us / 1e6 * SPEED_MPS * 1000, delta=0.2)
        self.expect(drops, self.folder / "run.csv")

    def test_a_slower_instrument_says_so(self):
        edges, end_us = capture_of(drops_of_a_run(2, 50), step_us=50)
        write_vcd(self.file("run.vcd"), edges, end_us)
        done = self.capture(self.folder / "run.vcd", self.file("w.toml", WIRING), self.file("m.toml", SETTINGS),
                            self.folder / "slow.droplog")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn(b"one sample is 50 us", done.stdout)
        text = " ".join(run("audit", "--full", self.folder / "slow.droplog").stdout.decode().split())
        self.assertIn("capture of an instrument", text)
        self.assertIn("One sample is 50 us", text)

    def test_what_cannot_be_leaves_no_log(self):
        edges, end_us = capture_of(drops_of_a_run(3, 20))
        write_vcd(self.file("run.vcd"), edges, end_us)
        whole = (self.folder / "run.vcd").read_text()
        wiring, settings = self.file("w.toml", WIRING), self.file("m.toml", SETTINGS)
        cases = {
            "cut off": (whole[: len(whole) // 2].rstrip("\n")[:-1] or "x", 65, "middle of a word"),
            "no signal": (whole.replace(" beam $end", " other $end"), 65, "has no signal `beam`"),
            "unknown level": (whole.replace("\n0$x\n", "\nx$x\n", 1), 65, "neither high nor low"),
            "time": (whole + "#5\n", 65, "time goes back"),
            "empty": ("", 65, "is empty"),
        }
        for name, (text, status, says) in cases.items():
            with self.subTest(name):
                log = self.folder / "never.droplog"
                done = self.capture(self.file("bad.vcd", text), wiring, settings, log)
                self.assertEqual(done.returncode, status, done.stderr)
                self.assertIn(says, done.stderr.decode())
                self.assertFalse(log.exists())
        log = self.file("there.droplog", "kept")
        self.assertEqual(self.capture(self.folder / "run.vcd", wiring, settings, log).returncode, 64)
        self.assertEqual(log.read_text(), "kept")
        missing = self.capture(self.folder / "nope.vcd", wiring, settings, self.folder / "n.droplog")
        self.assertEqual(missing.returncode, 65, missing.stderr)


class VirtualBench(Folder):
    """What the bench logs itself, and what an analyser beside it would have seen, are one ledger."""

    def both(self, scenario, drops):
        common = ("--scenario", SCENARIOS / f"{scenario}.toml", "--drops", drops)
        done = run("simulate", *common, "--vcd", self.folder / "run.vcd", "--wiring", self.folder / "wiring.toml",
                   "--settings", self.folder / "machine.toml", "--truth", self.folder / "truth.csv")
        self.assertEqual(done.returncode, 0, done.stderr)
        done = run("simulate", *common, "--log", self.folder / "direct.droplog")
        self.assertEqual(done.returncode, 0, done.stderr)
        return self.folder / "run.vcd"

    def captured(self, source, **options):
        log = self.folder / "captured.droplog"
        log.unlink(missing_ok=True)
        done = self.capture(source, self.folder / "wiring.toml", self.folder / "machine.toml", log, **options)
        self.assertEqual(done.returncode, 0, done.stderr)
        check = run("check", log)
        self.assertEqual(check.returncode, 0, check.stdout)
        return log

    def same_ledger(self, log):
        seen, direct = (held(run("audit", "--json", each).stdout)["channels"]
                        for each in (log, self.folder / "direct.droplog"))
        self.assertEqual(len(seen), len(direct))
        for one, other in zip(seen, direct):
            self.assertEqual(one["ledger"], other["ledger"])
            self.assertEqual(one["unit"], other["unit"])
            if "placement" in one and one["placement"]:
                self.assertAlmostEqual(one["placement"]["bias_mm"]["value"], other["placement"]["bias_mm"]["value"],
                                       delta=0.06)  # a count of the encoder is 0.05 mm

    def test_single_portion_and_line(self):
        for scenario, drops in (("healthy", 400), ("portion_short", 200), ("line_clumpy", 600), ("six_units", 150)):
            with self.subTest(scenario):
                for file in self.folder.iterdir():
                    file.unlink()
                self.same_ledger(self.captured(self.both(scenario, drops)))

    def test_the_truth_is_the_ledger(self):
        self.both("healthy", 400)
        table = self.ledger(self.captured(self.folder / "run.vcd"))["ledger"]
        with (self.folder / "truth.csv").open() as rows:
            seeds = [int(row["seeds"]) for row in csv.DictReader(rows) if row["kind"] == "drop"]
        self.assertEqual(table["drops"], len(seeds))
        self.assertLessEqual(abs(table["miss"] - seeds.count(0)), 2)  # the bench's gate overlooks a seed in 1,000

    def test_a_pipe(self):
        dump = self.both("healthy", 100)
        with dump.open("rb") as pipe:
            self.same_ledger(self.captured("-", stdin=pipe))

    @unittest.skipUnless(shutil.which("sigrok-cli"), "sigrok-cli is not installed")
    def test_through_another_program_and_back(self):
        dump = self.both("healthy", 60)
        session = self.folder / "run.sr"
        converted = self.folder / "converted.vcd"
        for source, target, form in ((dump, session, "srzip"), (session, converted, "vcd")):
            kind = ["-I", "vcd"] if source == dump else []
            done = subprocess.run(["sigrok-cli", "-i", source, *kind, "-O", form, "-o", target], capture_output=True,
                                  timeout=300)
            self.assertEqual(done.returncode, 0, done.stderr)
        self.assertNotEqual(dump.read_bytes(), converted.read_bytes())
        self.same_ledger(self.captured(converted))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
