#!/usr/bin/env python3
"""Causes that an audit names on the virtual bench, whose faults are known: logs with both gates, and several speeds."""
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from schemas import held  # noqa: E402

DROPLEDGER, SCENARIOS = sys.argv[1], pathlib.Path(sys.argv[2])


def run(*words, status=(0, 1, 2)):
    done = subprocess.run([DROPLEDGER, *map(str, words)], capture_output=True, text=True, timeout=120)
    assert done.returncode in status, (words, done.returncode, done.stderr)
    return done.stdout


class Causes(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def log(self, scenario, name="run", drops=500, **more):
        path = pathlib.Path(self.folder.name) / f"{name}.droplog"
        words = [word for key, value in more.items() for word in (f"--{key}", value)]
        pathlib.Path(path).unlink(missing_ok=True)  # a log is never written over
        run("simulate", "--scenario", SCENARIOS / f"{scenario}.toml", "--log", path, "--drops", drops, *words, status=(0,))
        return path

    def causes(self, scenario, **more):
        channel = held(run("audit", self.log(scenario, **more), "--json"))["channels"][0]
        return channel, {cause["kind"]: cause for cause in channel["causes"]}

    def test_a_reference_gate_going_blind_is_told_from_a_failing_meter(self):
        channel, causes = self.causes("dirty_gate")
        self.assertEqual((channel["gate"], list(causes)), (1, ["gate_going_blind"]))
        self.assertIn("gate 1's windows", causes["gate_going_blind"]["look_at"])
        self.assertIn("gate 0", causes["gate_going_blind"]["evidence"])

    def test_the_units_own_sensor_going_blind_is_seen_by_its_depth(self):
        channel, causes = self.causes("dirty_sensor")
        self.assertEqual((channel["gate"], list(causes)), (1, ["gate_going_blind"]))
        self.assertIn("gate 0's windows", causes["gate_going_blind"]["look_at"])
        self.assertIn("depth", causes["gate_going_blind"]["evidence"])

    def test_a_meter_that_picks_two_is_named(self):
        self.assertEqual(list(self.causes("double_feeding", drops=1500)[1]), ["double_feeding"])

    def test_healthy_units_and_portions_are_not_blamed(self):
        for scenario in ("healthy", "portion_healthy"):
            self.assertEqual(self.causes(scenario)[1], {}, scenario)

    def series(self, scenario, speeds):
        logs = [self.log(scenario, name=f"at-{speed}", drops=800, seed=40 + i, **{"speed-mps": speed})
                for i, speed in enumerate(speeds)]
        self.assertIn("at several speeds", run("audit", *logs))
        return held(run("audit", *logs, "--json"))["series"][0]

    def test_an_offset_that_grows_with_speed_is_found_over_three_logs(self):
        found = self.series("slow_valve", (0.15, 0.25, 0.4))
        self.assertEqual([round(one["speed_mps"], 2) for one in found["runs"]], [0.15, 0.25, 0.4])
        self.assertEqual([cause["kind"] for cause in found["causes"]], ["speed_dependence"])
        self.assertIn("offset", found["causes"][0]["evidence"])

    def test_two_speeds_make_no_series(self):
        logs = [self.log("healthy", name=f"at-{speed}", **{"speed-mps": speed}) for speed in (0.15, 0.25)]
        self.assertEqual(held(run("audit", *logs, "--json"))["series"], [])


unittest.main(argv=sys.argv[:1])
