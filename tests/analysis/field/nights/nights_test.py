#!/usr/bin/env python3
"""The targets of the field audit on a few nights of each mix; `measure.py` shows them on as many as you like."""
import pathlib
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import measure  # noqa: E402

DROPLEDGER, MAKER, NIGHTS = sys.argv[1], sys.argv[2], int(sys.argv[3])


class Nights(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.scores = {mix: measure.measure(DROPLEDGER, MAKER, mix, NIGHTS, 501) for mix in measure.MIXES}

    def total(self, name):
        return sum(getattr(score, name) for score in self.scores.values())

    def test_what_is_stated_missing_is_missing_on_every_mix(self):
        for mix, score in self.scores.items():
            with self.subTest(mix):
                self.assertGreaterEqual(score.missing_right, 0.88 * score.missing_stated, score.odd[:5])
        self.assertGreater(self.total("missing_stated"), 100)

    def test_healthy_rows_are_not_blamed(self):
        healthy = sum(score.rows["healthy"] for score in self.scores.values())
        self.assertGreater(healthy, 60)
        self.assertLessEqual(self.total("healthy_blamed"), 0.01 * healthy + 1)

    def test_each_fault_or_its_set_is_named(self):
        rows = sum((score.rows for score in self.scores.values()), measure.collections.Counter())
        named = sum((score.named for score in self.scores.values()), measure.collections.Counter())
        for kind in set(rows) - {"healthy"}:
            with self.subTest(kind):
                self.assertGreaterEqual(named[kind], 0.9 * rows[kind] - 1)

    def test_metres_are_not_reseeded_for_nothing(self):
        self.assertGreater(self.total("true_m"), 200.0)
        self.assertLess(self.total("false_m"), 0.02 * self.total("true_m"))

    def test_a_look_settles_as_many_alerts_as_the_report_says(self):
        looked = 0
        for mix in ("cables, exact", "constant, exact, bridging too", "all kinds, none known"):
            for seed in range(501, 501 + NIGHTS):
                with self.subTest(f"{mix} {seed}"), tempfile.TemporaryDirectory() as folder:
                    looked += self.look(measure.MAKERS[MAKER](f"{mix} {seed}", *measure.MIXES[mix]), folder)
        self.assertGreater(looked, 2)

    def look(self, night, folder):
        before = measure.audit(DROPLEDGER, night, folder)
        dig = before["dig"]
        if not dig or dig["single_drops"]:
            return 0
        gap = before["gaps"][dig["gap"]]
        place = [gap[name] for name in ("pass", "row", "first_drop", "last_drop")]
        word = "none" if night.missing_share(*place) > 0.5 else "seed"
        found = pathlib.Path(folder) / "found.csv"
        name = before["row_names"].get(str(gap["row"]), gap["row"])
        found.write_text("pass,row,first_drop,last_drop,found\n"
                         f"{gap['pass']},{name},{gap['first_drop']},{gap['last_drop']},{word}\n")
        after = measure.audit(DROPLEDGER, night, folder, "--found", found)
        still = [sum(one["judgement"] == "unknown" for one in audit["alerts"]) for audit in (before, after)]
        self.assertGreaterEqual(still[0] - still[1], dig["settles_alerts"])
        return 1

    def test_intervals_of_plants_lost_hold(self):
        self.assertGreaterEqual(self.total("covered"), 0.9 * self.total("nights"))


unittest.main(argv=sys.argv[:1])
