#!/usr/bin/env python3
"""What an issuer may try so that a bad batch is certified, replayed from his side: each is refused with its code, or
stands in plain words on the certificate. All is a rehearsal, because no seed falls here; a test of its own sees that a
batch which is none takes no simulated run."""
import json
import pathlib
import shutil
import subprocess
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))
import issuer  # noqa: E402

PROGRAM, SCENARIO = sys.argv[1:3]
SERIALS, BAD = issuer.SERIALS, issuer.BAD


class Forgery(issuer.Case):
    program, scenario = PROGRAM, SCENARIO

    # Order of events

    def test_an_honest_batch_holds(self):
        _, certificate = self.certified()
        found = self.me.verified(certificate, "--public-key", self.me.public_key)
        self.assertTrue(found["holds"])
        self.assertIn("no run is missing", self.remarks(certificate))

    def test_units_that_were_tested_before_the_batch_was_opened_do_not_count(self):
        logs = {unit: self.me.log(unit) for unit in SERIALS}
        file, opened = self.me.open("late", SERIALS, "--seed", 172)
        refused = self.me.add(file, *(logs[unit] for unit in opened["chosen"]), status=64).stderr
        self.assertIn("before the units were chosen", refused)
        self.assertIn("a choice made after the tests proves nothing", refused)

    def test_a_chain_written_by_hand_with_earlier_runs_does_not_verify(self):
        file, certificate = self.certified()
        bodies = self.me.chain(file)
        bodies[0]["at"] = "2026-01-05T12:00:00Z"  # opened after the tests
        for body in bodies[1:]:
            body["at"] = "2026-01-05T13:00:00Z"
        self.me.write_chain(file, bodies)
        self.assertIn("run_before_choice", self.me.certificate(file, status=1))

    def test_a_run_does_not_end_before_it_starts_or_after_it_was_added(self):
        file, opened = self.me.open("spring", SERIALS)
        late = self.me.log(opened["chosen"][0], started="2026-12-01T08:00:00Z")
        self.assertIn("when it was added", self.me.add(file, late, status=64).stderr)
        back = self.me.log(opened["chosen"][1])
        self.me.remade(back, lambda bodies: [body if not body.startswith("@at,") else
                                             ",".join(body.split(",")[:2] + ["1760000000000000"]) for body in bodies])
        self.assertIn("it began at", self.me.add(file, back, status=64).stderr)

    def test_a_bench_makes_one_run_at_a_time(self):
        file, opened = self.me.open("spring", SERIALS)
        at = self.me.later()
        logs = [self.me.log(unit, started=at) for unit in opened["chosen"][:2]]
        self.assertIn("one bench makes one run at a time", self.me.add(file, *logs, status=64).stderr)

    def test_the_run_of_one_unit_is_not_that_of_another(self):
        file, opened = self.me.open("spring", SERIALS)
        self.me.add(file, self.me.log(opened["chosen"][0], seed=7))
        twin = self.me.log(opened["chosen"][1], seed=7)
        self.assertIn("lines of boot", self.me.add(file, twin, status=64).stderr)
        self.me.remade(twin, lambda bodies: [",".join(body.split(",")[:4] + ["OTHER"] + body.split(",")[5:])
                                             if body.startswith("hello,") else body for body in bodies])
        self.assertIn("the very pulses", self.me.add(file, twin, status=64).stderr)

    def test_a_certificate_from_the_future_is_not_valid_yet(self):
        _, certificate = self.certified()
        self.assertEqual(self.me.codes(certificate, today="2025-12-31"), {"not_yet_valid"})
        early = self.me.forged(certificate, lambda value: value.update(issued="2026-01-05T07:00:00Z"))
        self.assertIn("times_out_of_order", self.me.codes(early))

    # The choice

    def test_a_seed_without_the_buyer_is_called_so(self):
        _, certificate = self.certified()
        self.assertIn("WITHOUT A BUYER'S PART", self.remarks(certificate))
        _, typed = self.me.open("typed", [f"T-{number}" for number in range(6)], "--seed", 172)
        self.assertEqual((typed["choice"]["origin"], typed["choice"]["seed"]), ("typed", "172"))

    def test_a_batch_opened_anew_for_another_choice_is_not_the_one_that_the_buyer_was_told(self):
        told = self.me.open("first", SERIALS, "--for-buyer")[1]["opening"]
        (self.me.top / "first.batch.json").unlink()
        file, _ = self.me.open("spring", SERIALS, "--for-buyer")
        self.me.run("batch", "choose", file, "--buyer-seed", "twelve green hens", *self.me.signed())
        chosen = self.me.result("batch", "show", file)["chosen"]
        self.me.add(file, *[self.me.log(unit) for unit in chosen])
        _, certificate = self.issued(file)
        honest = self.me.result("batch", "show", file)["opening"]
        self.assertTrue(self.me.verified(certificate, "--opening", honest, "--buyer-seed", "twelve green hens")["holds"])
        self.assertEqual(self.me.codes(certificate, "--opening", told), {"other_opening"})
        self.assertEqual(self.me.codes(certificate, "--buyer-seed", "eleven red cows"), {"other_buyer_text"})

    def test_the_benchs_part_is_bound_before_the_buyer_speaks(self):
        file, _ = self.me.open("spring", SERIALS, "--for-buyer")
        file.with_name(file.name + ".part").write_text("00" * 32)
        refused = self.me.run("batch", "choose", file, "--buyer-seed", "hens", *self.me.signed(), status=65)
        self.assertIn("not the one that was bound", refused.stderr)

    def test_a_choice_that_the_seed_does_not_give_does_not_verify(self):
        _, certificate = self.certified()
        def other(value):
            value["batch"]["chosen"][0] = next(unit for unit in SERIALS if unit not in value["batch"]["chosen"])
        self.assertIn("choice_differs", self.me.codes(self.me.forged(certificate, other)))

    # Nothing left out

    def test_a_batch_file_changed_in_an_editor_is_found(self):
        file, _, _ = self.batch(fills=[BAD])
        text = file.read_text()
        for old, new in (('"outcome":"outside"', '"outcome":"within"'), ("2026-01-05T", "2026-01-04T")):
            self.assertIn(old, text)
            file.write_text(text.replace(old, new))
            for words in (("decide", file, *self.me.signed()), ("show", file)):
                self.assertIn("signature does not fit", self.me.run("batch", *words, status=65).stderr)
        lines = text.splitlines()
        file.write_text("\n".join([lines[0], lines[1].rstrip(","), lines[-1]]) + "\n")  # the bad runs forgotten
        shown = self.me.result("batch", "show", file)
        self.assertEqual(shown["runs"], [])  # a chain cut at its end is a chain: the folder and the counter tell
        self.me.add(file, *[self.me.log(unit, fill=0.99) for unit in shown["chosen"]])
        self.me.run("batch", "decide", file, *self.me.signed())
        self.assertEqual(self.me.certificate(file, status=1), {"run_left_out"})

    def test_a_bad_run_that_is_left_out_is_found_in_the_folder_or_by_its_number(self):
        file, opened = self.me.open("spring", SERIALS)
        first, second, third = opened["chosen"]
        logs = [self.me.log(first)]
        bad = self.me.log(second, fill=BAD)
        logs += [self.me.log(second), self.me.log(third)]
        self.me.add(file, *logs)
        self.me.run("batch", "decide", file, *self.me.signed())
        self.assertEqual(self.me.certificate(file, status=1), {"run_left_out"})
        bad.unlink()
        certificate = self.me.certificate(file)
        self.me.evidence(file)
        self.assertIn("1 run between the first and the last of this batch is NOT LISTED here (numbers 2)",
                      self.remarks(certificate))

    def test_a_number_is_not_changed_to_close_a_gap(self):
        file, opened = self.me.open("spring", SERIALS)
        logs = [self.me.log(opened["chosen"][0])]
        self.me.log(opened["chosen"][1], fill=BAD).unlink()
        logs.append(self.me.log(opened["chosen"][1]))
        self.me.remade(logs[1], lambda bodies: [body.replace("@set,run_number,3", "@set,run_number,2") for body in bodies])
        self.assertIn("the last seal of the run before it is not that of", self.me.add(file, *logs, status=64).stderr)

    def test_runs_taken_out_stand_on_page_one_and_have_a_bound(self):
        file, chosen, logs = self.batch(fills=[BAD])
        self.me.run("batch", "void", file, logs[0].name, "--cause", "whim", "--reason", "bad", *self.me.signed(), status=64)
        self.me.run("batch", "void", file, logs[0].name, "--cause", "gate_fault", "--reason", "dust", *self.me.signed())
        self.me.add(file, self.me.log(chosen[0]))
        _, certificate = self.issued(file)
        self.assertIn("1 run was taken out of the count after it had been judged, 1 of them outside (gate_fault)",
                      self.remarks(certificate))

    def test_beyond_the_bound_a_batch_is_not_accepted(self):
        file, chosen, logs = self.batch(fills=[BAD, BAD])
        for log, unit in zip(logs[:2], chosen):
            self.me.run("batch", "void", file, log.name, "--cause", "gate_fault", "--reason", "dust", *self.me.signed())
            self.me.add(file, self.me.log(unit), more=["--reason", "dust was blown off"])
        decided = self.me.result("batch", "decide", file, *self.me.signed(), status=1)
        self.assertEqual(decided["decision"], "not_accepted")

    def test_the_same_units_opened_again_are_a_resubmission(self):
        first, _, _ = self.batch(fills=[BAD])
        self.me.run("batch", "decide", first, *self.me.signed(), status=1)
        self.assertIn("stands in batch spring", self.me.open("summer", SERIALS, status=64))
        file, opened = self.me.open("summer", SERIALS, "--resubmits", first)
        for log in list(self.me.logs.glob("*.droplog")):
            log.unlink()
        self.me.add(file, *[self.me.log(unit) for unit in opened["chosen"]])
        _, certificate = self.issued(file)
        self.assertIn("RESUBMITTED: units of this batch stood in batch spring", self.remarks(certificate))

    # Whose logs

    def test_a_simulated_run_counts_in_a_rehearsal_only(self):
        _, certificate = self.certified()
        self.assertEqual(self.me.codes(certificate, rehearsal=False), {"simulated"})
        listed = self.me.top / "real.txt"
        listed.write_text("A\nB\n")
        real = self.me.top / "real.batch.json"
        opened = self.me.result("batch", "open", real, "--serials-file", listed, "--profile", self.me.top / "short.toml", "--n",
                                2, "--accept", 0, "--key", self.me.key)
        log = self.me.log(opened["chosen"][0], started="2090-01-01T00:00:00Z")
        refused = self.me.run("batch", "add", real, log, "--uncalibrated", "--key", self.me.key, status=64)
        self.assertIn("it was simulated: no seed fell", refused.stderr)
        stated = self.me.run("batch", "decide", real, *self.me.signed(), status=64)
        self.assertIn("only a rehearsal may state its times", stated.stderr)

    def test_a_log_of_another_key_fails_where_that_key_was_not_named(self):
        other = self.me.top / "other.key"
        stranger = self.me.run("batch", "key", other).stdout.strip()
        file, opened = self.me.open("spring", SERIALS)
        logs = [self.me.log(unit, key=other if i == 1 else None) for i, unit in enumerate(opened["chosen"])]
        self.me.add(file, *logs)
        self.me.run("batch", "decide", file, *self.me.signed())
        self.assertEqual(self.me.certificate(file, status=1), {"log_other_key"})
        certificate = self.me.certificate(file, "--bench-key", stranger)
        self.me.evidence(file)
        mine = ("--public-key", self.me.public_key)
        self.assertEqual(self.me.codes(certificate, *mine), {"log_other_key"})
        found = self.me.verified(certificate, *mine, "--public-key", f"bench={stranger}")
        self.assertEqual({key["public_key"]: key["logs"] for key in found["keys"]}, {self.me.public_key: 2, stranger: 1})
        self.assertEqual(self.me.codes(certificate, "--public-key", f"bench={self.me.public_key}", "--public-key",
                                       f"bench={stranger}"), {"other_key"})
        self.assertIn("SEVERAL KEYS", self.remarks(certificate))

    def test_a_key_under_which_anyone_can_sign_is_refused(self):
        _, certificate = self.certified()
        for weak in ("01" + "0" * 62, "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
                     "ee" + "f" * 60 + "7f"):
            self.me.run("batch", "verify", certificate, "--logs", self.me.logs, "--public-key", weak, status=64)
        log = self.me.log("SU-0001")
        body = "@close,count," + "01" + "0" * 62 + "," + ("01" + "0" * 62 + "0" * 64)
        text = log.read_text()
        log.write_text(text[:text.rindex("@close")] + f"{body}*{issuer.crc(body)}\n")
        checked = subprocess.run([PROGRAM, "check", log], capture_output=True, text=True, timeout=60)
        self.assertNotEqual(checked.returncode, 0)
        self.assertIn("signature", checked.stdout)

    # Calibrations and conditions

    def test_a_run_that_contradicts_its_calibration_is_undecided(self):
        low = self.me.logs / "LOW.toml"
        low.write_text(issuer.RECORD.replace("CAL-1", "LOW").replace("0.999", "0.5").replace("0.996", "0.48").replace(
            "high = 1.0", "high = 0.52"))
        file, opened = self.me.open("spring", SERIALS)
        self.me.add(file, self.me.log(opened["chosen"][0]), record=low)
        run = self.me.result("batch", "show", file)["runs"][0]
        self.assertEqual((run["outcome"], run["held_back"]), ("undecided", "calibration_contradicted"))

    def test_an_efficiency_that_was_typed_is_called_so(self):
        _, certificate = self.certified()
        self.assertIn("CAL-1 (gate 1, bench bench-1, whichever unit hangs on it) rests on figures that were TYPED",
                      self.remarks(certificate))

    def test_a_run_that_was_halted_early_is_not_within(self):
        file, opened = self.me.open("spring", SERIALS)
        log = self.me.log(opened["chosen"][0], fill=1.0)
        self.me.remade(log, lambda bodies: [body.replace("@ending,count", "@ending,host").replace("@close,count", "@close,host")
                                            for body in bodies])
        self.me.add(file, log)
        run = self.me.result("batch", "show", file)["runs"][0]
        self.assertEqual((run["outcome"], run["held_back"]), ("undecided", "halted_early"))

    def test_other_conditions_are_named(self):
        file, opened = self.me.open("spring", SERIALS)
        self.me.add(file, *[self.me.log(unit, speed=0.25 + 0.15 * (i == 0)) for i, unit in enumerate(opened["chosen"])])
        _, certificate = self.issued(file)
        self.assertIn("2 DIFFERENT CONDITIONS", self.remarks(certificate))
        speeds = {one["conditions"]["speed_um_s"]: one["runs"] for one in json.loads(certificate.read_text())["conditions"]}
        self.assertEqual(speeds, {"250000": 2, "400000": 1})

    # What is written

    def test_every_member_follows_from_the_files(self):
        _, certificate = self.certified()
        def narrower(value):
            value["runs"][0]["corrected_miss"]["high"] = issuer.Fraction("0.5")
        forgeries = [
            (lambda value: value.update(praise="the best of units"), "member_differs"),
            (lambda value: value["batch"].update(praise="the best of units"), "member_differs"),
            (lambda value: value.update(not_said=["Nothing."]), "member_differs"),
            (lambda value: value.update(cautions=[]), "member_differs"),
            (lambda value: value.update(remarks=["All is well."]), "remarks_differ"),
            (lambda value: value["plan"].update(kind="own_best"), "not_a_certificate"),
            (lambda value: value["plan"].update(kind="two_point"), "plan_differs"),
            (lambda value: value["plan"].update(n=2), "plan_differs"),
            (lambda value: value["plan"]["risks"].pop(), "plan_differs"),
            (lambda value: value["statistics"]["share_outside"].update(high=issuer.Fraction("0.01"))
             if value["statistics"]["share_outside"] else value["statistics"].update(tarone_p=1), "statistics_differ"),
            (lambda value: value["decision"].update(nonconforming=1), "decision_differs"),
            (lambda value: value["decision"]["taken_out"].update(bound=9), "decision_differs"),
            (lambda value: value["profile"].update(confidence=issuer.Fraction("0.99")), "profile_changed"),
            (lambda value: value["profile"].update(text=value["profile"]["text"].replace("0.12", "0.50")), "profile_changed"),
            (lambda value: value["batch"].update(size=9), "member_differs"),
            (lambda value: value["batch"].update(rehearsal=False), "member_differs"),
            (lambda value: value["batch"]["choice"].update(origin="with_buyer"), "choice_differs"),
            (lambda value: value["runs"][0].update(run_number=9), "outcome_differs"),
            (lambda value: value["runs"][0]["conditions"].update(speed_um_s="1"), "outcome_differs"),
            (lambda value: value["conditions"][0]["conditions"].update(speed_um_s="1"), "member_differs"),
            (lambda value: value["keys"][0].update(logs=9), "member_differs"),
            (lambda value: value.update(tested_from="2026-01-01T00:00:00Z"), "member_differs"),
            (narrower, "outcome_differs"),
        ]
        for number, (change, code) in enumerate(forgeries):
            with self.subTest(number=number, code=code):
                self.assertIn(code, self.me.codes(self.me.forged(certificate, change)))

    def test_a_chain_with_a_decision_that_does_not_follow_is_no_batch_file(self):
        file, _, _ = self.batch(fills=[BAD])
        bodies = self.me.chain(file)
        bodies.append({"kind": "decide", "at": "2026-01-06T08:00:00Z", "outcome": "accepted", "nonconforming": 0})
        self.me.write_chain(file, bodies)
        self.assertIn("does not follow from the runs by the plan", self.me.run("batch", "show", file, status=65).stderr)

    def test_an_outcome_that_the_log_does_not_give_is_found_in_a_chain_written_by_hand(self):
        file, _, _ = self.batch(fills=[BAD])
        bodies = self.me.chain(file)
        bodies[1]["runs"][0]["outcome"] = "within"
        self.me.write_chain(file, bodies)
        self.me.run("batch", "decide", file, *self.me.signed())
        self.assertIn("outcome_differs", self.me.certificate(file, status=1))

    def test_pages_that_are_not_the_certificates_fail(self):
        file, _, _ = self.batch()
        self.me.run("batch", "decide", file, *self.me.signed())
        pdf = self.me.top / "spring.pdf"
        certificate = self.me.certificate(file, "--pdf", pdf)
        self.me.evidence(file)
        self.assertTrue(self.me.verified(pdf)["holds"])
        self.me.run("batch", "print", certificate, "--out", self.me.top / "again.pdf")
        self.assertEqual(pdf.read_bytes(), (self.me.top / "again.pdf").read_bytes())
        pdf.write_bytes(pdf.read_bytes().replace(b"/MediaBox [ 0 0 595 842 ]", b"/MediaBox [ 0 0 595 841 ]", 1))
        self.assertEqual(self.me.codes(pdf), {"pages_differ"})

    # The tool's own safety

    def test_files_that_would_exhaust_the_verifier_are_refused(self):
        deep = self.me.top / "deep.json"
        deep.write_text("[" * 100_000 + "]" * 100_000)
        found = self.me.run("batch", "verify", deep, "--logs", self.me.logs, status=1)
        self.assertIn("nested deeper", found.stdout)
        long = self.me.top / "long.json"
        long.write_text('{"schema":"dropledger/certificate/2","id":"' + "x" * 100_000_000 + '"}')
        self.assertIn("more than is read", self.me.run("batch", "verify", long, "--logs", self.me.logs, status=1).stdout)

    def test_names_that_can_not_be_told_apart_are_refused(self):
        for serials, words in ((["A-1", "A-1"], "is there twice"), (["A-01", "A-O1"], "read alike"),
                               (["A-1\u200b", "A-1"], "not printable ASCII"), (["\u0410-1", "A-1"], "not printable ASCII"),
                               (["A-1", "a-1"], "read alike"), (["A\x1b[2J", "A-1"], "not printable ASCII")):
            self.assertIn(words, self.me.open("names", serials, n=1, status=64), serials)
        self.assertIn("is empty", self.me.open("names", SERIALS, "--id", "", status=64))
        self.assertIn("not printable ASCII", self.me.open("names", SERIALS, "--id", "a\x1b[2Jb", status=64))
        for seed in ("9223372036854775808", "1,5", "-1", "1.5"):
            self.me.open("names", SERIALS, "--seed", seed, status=64)
        listed = self.me.top / "bom.txt"
        listed.write_bytes(b"\xef\xbb\xbfA-1\nA-2\n")
        refused = self.me.run("batch", "open", self.me.top / "bom.batch.json", "--serials-file", listed, "--profile", "single",
                              "--n", 1, "--accept", 0, "--key", self.me.key, status=65)
        self.assertIn("byte order mark", refused.stderr)

    # Without the program

    def test_openssl_and_sha256sum_alone_follow_the_chain(self):
        if not shutil.which("openssl") or not shutil.which("sha256sum"):
            self.skipTest("openssl or sha256sum is not installed")
        file, _ = self.certified()
        readme = (pathlib.Path(__file__).resolve().parents[3] / "bench/evidence/README.md").read_text()
        script = readme.split("```sh\n")[1].split("```")[0]
        for changed in (False, True):
            if changed:
                file.write_text(file.read_text().replace('"outcome":"within"', '"outcome":"outside"', 1))
            done = subprocess.run(["bash", "-c", script, "follow", str(file)], capture_output=True, text=True, timeout=60,
                                  cwd=self.room.name)
            self.assertEqual(done.returncode, 1 if changed else 0, done.stdout + done.stderr)
            self.assertIn("entry 2" if changed else "3 entries hold", done.stdout)


unittest.main(argv=sys.argv[:1] + sys.argv[3:])
