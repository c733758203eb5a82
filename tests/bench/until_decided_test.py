"""`run --until-decided` against the virtual bench: a bad unit and a good one stop early, each as what it is.

usage: until_decided_test.py DROPLEDGER SCENARIO
"""

import pathlib
import signal
import subprocess
import sys
import tempfile
import time
import unittest

from wire import Bench, Log, unquote

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from schemas import held  # noqa: E402

PROGRAM, SCENARIO = sys.argv[1:3]
PLAN = ["--spacing-mm", "180", "--speed-mps", "0.25", "--channel-set", "0:gate0_place=above",
        "--channel-set", "0:gate1_place=below", "--channel-set", "0:gate1_fall_us=19538"]
MOST = 2000  # of the general profile, with at least 250 drops where all is good


class UntilDecided(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.log = self.folder / "run.droplog"

    def bench(self, fill):
        scenario = self.folder / "unit.toml"
        scenario.write_text(pathlib.Path(SCENARIO).read_text().replace("fill = 0.985", f"fill = {fill}"))
        bench = Bench(PROGRAM, scenario, self.folder, pace=40, seed=3)
        self.addCleanup(bench.close, finish=False)
        return bench

    def drive(self, bench, *options):
        done = subprocess.run([PROGRAM, "run", "--port", bench.wire.host_port, "--yes", "--log", self.log, *PLAN,
                               "--until-decided", "--json", *options], capture_output=True, text=True, timeout=120)
        self.assertEqual(done.returncode, 0, done.stderr)
        return held(done.stdout)

    def audit(self):
        done = subprocess.run([PROGRAM, "audit", self.log, "--json"], capture_output=True, text=True, timeout=60)
        self.assertIn(done.returncode, (0, 1, 2), done.stderr)
        return held(done.stdout)["channels"][0]

    def notes(self):
        return [unquote(fields[1]).decode() for fields in Log(self.log).host("@note")]

    def test_a_bad_unit_is_bad_after_few_drops(self):
        told = self.drive(self.bench(0.8))
        self.assertEqual((told["end_reason"], told["as_planned"]), ("decided", True))
        self.assertEqual(Log(self.log).close_reason, "decided")
        miss = next(each for each in told["decisions"] if each["criterion"] == "miss")
        self.assertLess(miss["drops"], 250)  # the run goes on until multiples are decided, too
        self.assertEqual(miss["decision"], "bad")
        self.assertIn("sequential miss limit 0.05 confidence 0.95 first 50 every 10 events 3 most 2000 least 250",
                      self.notes()[:2])
        self.assertIn(f"decision channel 0 miss bad after {miss['drops']} drops with {miss['hits']}", self.notes())
        channel = self.audit()
        self.assertEqual(channel["sequential"]["miss"]["decision"], "bad")
        self.assertEqual(channel["verdict"]["outcome"], "outside")

    def test_a_good_unit_is_good_long_before_the_maximum(self):
        told = self.drive(self.bench(0.999))
        self.assertEqual(told["end_reason"], "decided")
        self.assertEqual({each["decision"] for each in told["decisions"]}, {"good"})
        drops = told["channels"][0]["drops"]
        self.assertTrue(250 <= drops < MOST / 2, drops)
        channel = self.audit()
        self.assertEqual(channel["sequential"]["multiples"]["decision"], "good")
        for criterion in channel["verdict"]["criteria"]:
            if criterion["name"] in ("miss_index", "multiples_index"):
                self.assertEqual(criterion["outcome"], "within", criterion)

    def test_portions_are_decided_by_their_empty_places(self):
        # Rows of ten that make 2 % start at one drop in 490: the chance that 1,806 drops hold none is 2.5 %.
        bench = Bench(PROGRAM, pathlib.Path(SCENARIO).with_name("portion_healthy.toml"), self.folder, pace=0, seed=3)
        self.addCleanup(bench.close, finish=False)
        done = subprocess.run([PROGRAM, "run", "--port", bench.wire.host_port, "--yes", "--log", self.log, "--mode", "portion",
                               "--count", "5", "--profile", "portion", "--until-decided", "--json", "--spacing-mm", "500",
                               *PLAN[2:]], capture_output=True, text=True, timeout=120)
        self.assertEqual(done.returncode, 0, done.stderr)
        told = held(done.stdout)
        self.assertEqual([(each["criterion"], each["decision"], each["drops"], each["hits"]) for each in told["decisions"]],
                         [("miss", "good", 1810, 0)])
        self.assertGreaterEqual(told["channels"][0]["drops"], 200)  # the profile's least
        channel = self.audit()
        self.assertEqual(channel["sequential"]["miss"]["decision"], "good")
        self.assertEqual(channel["verdict"]["criteria"][0]["outcome"], "within")

    def test_the_hard_end_is_the_smaller(self):
        told = self.drive(self.bench(0.97), "--drops", "40")
        self.assertEqual((told["end_reason"], told["channels"][0]["drops"]), ("count", 40))
        self.assertIn("most 40 least 40", self.notes()[0])

    def test_a_killed_run_goes_on_by_the_rule_of_its_log(self):
        bench = self.bench(0.8)
        driver = bench.driver("--log", self.log, *PLAN, "--until-decided")
        while not (self.log.exists() and sum(line[2] == "drop" for line in Log(self.log).controller) >= 12):
            self.assertIsNone(driver.poll(), "the driver ended early")
            time.sleep(0.02)
        driver.send_signal(signal.SIGKILL)
        driver.communicate()
        rest = subprocess.run([PROGRAM, "run", "--port", bench.wire.host_port, "--yes", "--resume", self.log, "--json"],
                              capture_output=True, text=True, timeout=120)
        told = held(rest.stdout)
        self.assertIn(told["end_reason"], ("decided", "host_silent"))
        miss = next(each for each in told["decisions"] if each["criterion"] == "miss")
        channel = self.audit()["sequential"]["miss"]
        self.assertEqual((miss["decision"], miss["drops"]), (channel["decision"], channel["drops"]))

    def test_is_refused_where_there_is_nothing_to_decide_by(self):
        bare = self.folder / "bare.toml"
        bare.write_text('name = "bare"\nmode = "single"\nleast_drops = 100\n[limits]\nmiss_index = 0.05\n'
                        'multiples_index = 0.05\n')
        for part, options in (("--drops", ["--mode", "line", "--rate-per-m", "20", "--speed-mps", "1"]),
                              ("[sequential]", [*PLAN, "--profile", str(bare)]),
                              ("is for mode portion", [*PLAN, "--profile", "portion"])):
            done = subprocess.run([PROGRAM, "run", "--port", "/dev/null", "--yes", "--until-decided", *options],
                                  capture_output=True, text=True, timeout=60)
            with self.subTest(part=part):
                self.assertEqual((done.returncode, done.stdout), (64, ""), done.stderr)
                self.assertIn(part, done.stderr)


unittest.main(argv=sys.argv[:1])
