#!/usr/bin/env python3
"""Plans of a batch beside the single sample, runs that are judged together, decisions that would lead nowhere, and
certificates that are taken back; all on the virtual bench, as a rehearsal."""
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))
import issuer  # noqa: E402

PROGRAM, SCENARIO = sys.argv[1:3]
MANY = [f"SU-{number:04}" for number in range(1, 41)]


class Plans(issuer.Case):
    program, scenario = PROGRAM, SCENARIO

    def test_a_clear_first_sample_decides_and_a_doubtful_one_calls_for_the_second(self):
        file, opened = self.me.open("two", MANY, plan=("--samples", "3,0,2,3,1"))
        chosen = opened["chosen"]
        self.assertEqual(len(chosen), 6)
        early = self.me.add(file, self.me.log(chosen[4]), status=64).stderr
        self.assertIn("is of the second sample", early)
        self.me.add(file, *[self.me.log(unit, fill=fill) for unit, fill in zip(chosen, [issuer.BAD, 0.985, 0.985])])
        waiting = self.me.run("batch", "decide", file, *self.me.signed(), status=2).stdout
        self.assertIn("the first sample is in doubt", waiting)
        self.me.add(file, *[self.me.log(unit) for unit in chosen[3:]])
        for log in self.me.logs.glob(f"{chosen[4]}-1*.droplog"):  # the early one, which was not taken
            if log.name not in file.read_text():
                log.unlink()
        self.me.run("batch", "decide", file, *self.me.signed())
        certificate = self.me.certificate(file)
        self.me.evidence(file)
        self.assertTrue(self.me.verified(certificate)["holds"])
        plan = issuer.read_json(certificate.read_text())["plan"]
        self.assertEqual((plan["kind"], plan["samples"]["n1"], plan["producers_risk"]), ("two_samples", 3, None))
        forged = self.me.forged(certificate, lambda value: value["plan"]["samples"].update(accept2=2))
        self.assertIn("plan_differs", self.me.codes(forged))

    def test_the_smallest_two_samples_are_found(self):
        _, opened = self.me.open("found", MANY, plan=("--good", 0.02, "--bad", 0.3, "--double"))
        samples = opened["plan"]["samples"]
        self.assertEqual(len(opened["chosen"]), samples["n1"] + samples["n2"])

    def test_a_batch_is_accepted_by_mean_and_spread(self):
        words = ("--good", 0.01, "--bad", 0.4, "--measure", "miss_index")
        file, opened = self.me.open("measured", MANY, plan=words)
        self.assertEqual(opened["plan"]["measured"]["limit"], "miss_index at most 0.12")
        self.me.add(file, *[self.me.log(unit) for unit in opened["chosen"]])
        _, certificate = self.issued(file)
        self.assertTrue(self.me.verified(certificate)["holds"])
        found = issuer.read_json(certificate.read_text())["decision"]["measured"]
        self.assertTrue(found["accepted"])
        values = [float(one["value"]) for one in found["units"]]
        mean = sum(values) / len(values)
        self.assertAlmostEqual(float(found["mean"]), mean)
        forged = self.me.forged(certificate, lambda value: value["decision"]["measured"].update(sd=issuer.Fraction("0.001")))
        self.assertIn("decision_differs", self.me.codes(forged))
        refused = self.me.open("other", ["X-1", "X-2"], plan=words[:4] + ("--measure", "offset_mm"), status=64)
        self.assertIn("has no limit of 'offset_mm'", refused)

    def test_a_plan_by_variables_does_not_accept_units_that_miss_much(self):
        file, opened = self.me.open("bad", MANY, plan=("--good", 0.01, "--bad", 0.4, "--measure", "miss_index"))
        self.me.add(file, *[self.me.log(unit, fill=0.87) for unit in opened["chosen"]])
        decided = self.me.result("batch", "decide", file, *self.me.signed(), status=1)
        self.assertEqual(decided["decision"], "not_accepted")

    def test_undecided_runs_of_a_unit_are_judged_together_by_a_rule_stated_before(self):
        for name, more in (("alone", ()), ("pooled", ("--pool-undecided", 3))):
            serials = [f"{name}-{unit}" for unit in range(4)]
            file, opened = self.me.open(name, serials, *more, n=1)
            unit = opened["chosen"][0]
            for seed in (4105, 4127, 4102):  # 5 to 7 % misses in 130 drops: each leaves it open
                self.me.add(file, self.me.log(unit, fill=0.94, drops=130, seed=seed))
            state = self.me.result("batch", "show", file)
            self.assertEqual([run["outcome"] for run in state["runs"]], ["undecided"] * 3)
            self.assertEqual(state["standing"]["undecided"], [unit] if name == "alone" else [])
        self.assertEqual(state["standing"]["conforming"], [unit])
        _, certificate = self.issued(file)
        self.assertTrue(self.me.verified(certificate)["holds"])
        pooled = issuer.read_json(certificate.read_text())["decision"]["pooled"][0]
        self.assertEqual((pooled["unit"], len(pooled["files"]), pooled["outcome"]), (unit, 3, "within"))
        self.assertIn("2 to 10", self.me.open("much", ["P-1", "P-2"], "--pool-undecided", 11, n=1, status=64))

    def test_small_and_large_aqls_are_computed_and_marked(self):
        _, opened = self.me.open("large", MANY, plan=("--aql", 10))
        self.assertEqual((opened["plan"]["computed"], opened["plan"]["n"], opened["plan"]["accept"]), (True, 8, 2))

    def test_a_decision_that_leads_to_no_certificate_is_not_made_by_chance(self):
        file, opened = self.me.open("typed", issuer.SERIALS)
        logs = [self.me.log(unit) for unit in opened["chosen"]]
        self.me.run("batch", "add", file, *logs, "--uncalibrated", *self.me.signed())
        refused = self.me.run("batch", "decide", file, *self.me.signed(), status=64).stderr
        self.assertIn("is judged without a calibration: no certificate can follow", refused)
        decided = self.me.result("batch", "decide", file, "--anyway", *self.me.signed())
        self.assertEqual(decided["decision"], "accepted")
        self.assertIn("uncalibrated", self.me.certificate(file, status=1))

    def test_a_certificate_that_was_taken_back_does_not_hold_and_is_replaced(self):
        file, first = self.certified()
        statement = self.me.top / "spring.revocation.json"
        kept = first.with_name("first.certificate.json")
        first.rename(kept)
        words = ("batch", "revoke", file, kept, "--reason", "another client", "--out", statement)
        self.me.run(*words, "--cause", "whim", *self.me.signed(), status=64)
        self.me.run(*words, "--cause", "wrong_report", *self.me.signed())
        self.assertTrue(self.me.verified(kept)["holds"])  # nobody told the verifier
        self.assertEqual(self.me.codes(kept, "--revocation", statement), {"revoked"})
        self.me.evidence(file)  # the batch file as it goes on says so too
        self.assertEqual(self.me.codes(kept), {"revoked"})
        report = self.me.top / "report.toml"
        report.write_text('number = "C-2"\nissuer = "Invented Works"\nclient = "A. Buyer"\n[[deviation]]\ntext = "none"\n')
        second = self.me.certificate(file, "--report", report)
        found = issuer.read_json(second.read_text())
        self.assertEqual((found["report"]["number"], found["replaces"][0]["text"]), ("C-2", "another client"))
        self.assertTrue(self.me.verified(second, "--revocation", statement)["holds"])
        forged = self.me.forged(second, lambda value: value["report"].update(client="two\nlines"))
        self.assertIn("report_refused", self.me.codes(forged))
        forged = self.me.forged(second, lambda value: value.update(replaces=[]))
        self.assertIn("member_differs", self.me.codes(forged))

    def test_after_wrong_evidence_no_certificate_follows_and_a_stranger_takes_none_back(self):
        file, certificate = self.certified()
        other = self.me.top / "other.key"
        self.me.run("batch", "key", other)
        copy = self.me.top / "copy.batch.json"
        copy.write_bytes(file.read_bytes())
        statement = self.me.top / "stranger.revocation.json"
        self.me.run("batch", "revoke", copy, certificate, "--cause", "key_lost", "--reason", "spite", "--out", statement, "--key",
                    other, "--at", self.me.later())
        self.assertTrue(self.me.verified(certificate, "--revocation", statement)["holds"])
        self.me.run("batch", "revoke", file, certificate, "--cause", "wrong_evidence", "--reason", "dust", "--out",
                    self.me.logs / "mine.revocation.json", *self.me.signed())
        self.assertEqual(self.me.codes(certificate), {"revoked"})
        self.assertIn("its evidence was taken back", self.me.certificate(file, status=64))


unittest.main(argv=sys.argv[:1] + sys.argv[3:])
