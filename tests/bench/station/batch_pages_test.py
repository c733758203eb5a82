#!/usr/bin/env python3
"""The quality engineer's pages in a real browser: batches, their certificates, packs and calibrations.

usage: batch_pages_test.py DROPLEDGER CHROMIUM FIXTURES [TEST…]"""
import json
import os
import re
import shutil
import subprocess
import time

from stations import DROPLEDGER, FIXTURES, WithStation, run_tests  # and with it the path to what tests share
import invented

PROFILE = invented.profile()
RECORD = invented.record("CAL-B1", expires="2099-12-31")


class OfBatches(WithStation):
    def test_a_batch_goes_from_its_opening_to_a_pack_that_holds(self):
        (self.folder / "short-test.toml").write_text(PROFILE)
        (self.folder / "CAL-B1.toml").write_text(RECORD)
        page = self.page("/batches")
        page.click("form[action='/batches/key'] button")
        self.loaded(page, "The bench")
        public = re.search(r"[0-9a-f]{64}", page.value("document.querySelector('pre').innerText"))[0]
        page.go(self.station.base + "/batches")
        answers = {"name": "spring", "serials": "U-0201..U-0203", "profile": "short-test.toml", "n": "2", "accept": "0"}
        for name, value in answers.items():
            page.value(f"document.getElementById({name!r}).value = {value!r}")
        page.value("document.querySelector(\"[name=rehearsal][value=yes]\").checked = true")
        self.look(page, "batches")
        page.value("document.querySelector(\"form[action='/batches/open']\").submit()")
        self.loaded(page, "Batch spring")
        self.assertIn("no unit is chosen before it", self.missing(page))
        page.value("document.getElementById('buyer-seed').value = 'a fine spring'")
        page.click("button.go")
        page.until("document.querySelector('h1')?.innerText == 'Batch spring' && document.body.innerText.includes('Add runs')")
        next_units = re.findall(r"U-020\d", re.search(r"to be tested next: (.*)", self.missing(page))[1])
        self.assertEqual(len(next_units), 2)
        self.look(page, "batch")
        self.run_units(page, next_units)
        base = self.station.base + "/batches/of/spring.batch.json"
        page.go(base)
        self.send(page, "add")
        page.until("document.querySelectorAll('tbody tr').length == 2")
        self.assertIn("The decision: everything", self.missing(page))
        self.look(page, "batch-added")
        self.spoil_a_run(page, base, next_units)
        self.send(page, "decide")
        page.until("document.body.innerText.includes('Decided: accepted')")
        page.value("document.getElementById('client').value = 'A client, invented'")
        self.send(page, "certificate")
        page.until("document.querySelector(\"a[href$='certificate.pdf']\")")
        self.look(page, "batch-certified")
        self.assertEqual(page.value(f"fetch('{base}/certificate.pdf').then((a) => a.text()).then((t) => t.slice(0, 5))"), "%PDF-")
        self.assertTrue(page.value("document.querySelector('iframe.paper').src.includes('/certificate.pdf#')"))
        words = subprocess.run(["pdftotext", self.folder / "spring.pdf", "-"], capture_output=True, text=True).stdout
        self.assertIn("A client, invented", words)
        self.assertIn("hopper not filled", words.replace("_", " "))
        self.send(page, "pack")
        self.written(self.folder / "spring-pack" / "spring.pdf")
        self.loaded(page, "Batch spring")
        self.assertIn(str(self.folder), page.value("document.querySelector('.word').innerText"))
        self.verified(page, public, "It holds, as a rehearsal: it certifies nothing")
        log = next((self.folder / "spring-pack").glob("*.droplog"))
        log.write_bytes(log.read_bytes().replace(b"drop,", b"drip,", 1))
        self.verified(page, public, "It does not hold")
        page.go(base)
        page.value("document.querySelector(\"form[action$='/revoke'] [name=reason]\").value = 'another client'")
        self.send(page, "revoke")
        self.written(self.folder / "spring.revocation.json")
        self.loaded(page, "Batch spring")
        self.assertRegex(self.words(page), r"was taken back on \d{4}-\d\d-\d\d \(wrong report\): another client")
        self.assertFalse(page.value("document.querySelector(\"form[action$='/pack']\")"))
        page.go(self.station.base + "/batches")
        self.assertIn("was taken back on", self.words(page))
        self.look(page, "batches-listed")
        self.no_complaints()

    def words(self, page):
        return page.value("document.querySelector('main').innerText")

    def command(self, *words):
        return subprocess.run([DROPLEDGER, *words], capture_output=True, text=True, cwd=self.folder)

    def opened(self, name, *words):
        plan = words if words else ("--n", "1", "--accept", "0")
        serials = () if "--serials" in plan else ("--serials", "U-0101..U-0101")
        said = self.command("batch", "open", f"{name}.batch.json", "--profile", "single", "--rehearsal", "--at", "2026-01-03T00:00:00Z",
                            "--key", "bench.key", *serials, *plan)
        self.assertEqual(said.returncode, 0, said.stderr)

    def a_signed_run(self, log, *words, unit="U-0101"):
        scenario = self.folder / "elsewhere.txt"
        scenario.write_text((FIXTURES / "scenarios/healthy.toml").read_text().replace("U-0101", unit))
        self.command("simulate", "--scenario", scenario, "--drops", "1500", "--log", log, "--key", "bench.key", *words)

    def released(self):
        """A batch of an earlier version, accepted, with its pack; the key that signed it."""
        there = FIXTURES / "released/0.2.0"
        for file in (*(there / "logs").glob("*.*"), there / "may.pdf", there / "may.certificate.json"):
            if "bench.book" not in file.name:
                shutil.copy(file, self.folder)
        return json.loads((there / "facts.json").read_text())["public_key"]

    def test_the_list_says_of_each_batch_what_its_own_page_says(self):
        self.released()
        self.command("batch", "key", "bench.key")
        self.opened("waits", "--serials", "U-0401..U-0404", "--n", "2", "--accept", "0", "--for-buyer")
        self.opened("half", "--serials", "U-0101..U-0103", "--n", "3", "--accept", "0")
        self.opened("ready", "--serials", "U-0201..U-0201", "--n", "1", "--accept", "0")
        self.a_signed_run("half.droplog")
        self.a_signed_run("ready.droplog", "--started", "2026-01-09T00:00:00Z", unit="U-0201")
        (self.folder / "CAL-B1.toml").write_text(RECORD)
        for name in ("half", "ready"):
            added = self.command("batch", "add", f"{name}.batch.json", f"{name}.droplog", "--calibration", "CAL-B1.toml", "--key", "bench.key")
            self.assertEqual(added.returncode, 0, added.stderr)
        (self.folder / "broken.batch.json").write_text("{}")
        page = self.page("/batches")
        listed = dict(zip(*page.value("[[...document.querySelectorAll('.batches a')].map((one) => one.innerText), "
                                      "[...document.querySelectorAll('.batches li')].map((one) => one.innerText)]")))
        self.assertEqual(set(listed), {"may.batch.json", "waits.batch.json", "half.batch.json", "ready.batch.json", "broken.batch.json"})
        self.assertIn("It can't be read", listed["broken.batch.json"])
        self.assertNotIn(str(self.folder), self.words(page))
        for name, decided in (("may", "Decided: accepted."), ("waits", "the buyer's part"), ("half", "Open: units are to be tested."),
                              ("ready", "Open: it can be decided now.")):
            said = listed[f"{name}.batch.json"]
            self.assertIn(decided, said)
            state = json.loads(self.command("batch", "show", f"{name}.batch.json", "--json").stdout)
            done = len(state["standing"]["conforming"]) + len(state["standing"]["nonconforming"])
            if state["chosen"]:
                self.assertIn(f"{done} of {len(state['chosen'])} chosen units have a run that decides.", said)
            page.go(self.station.base + f"/batches/of/{name}.batch.json")
            self.loaded(page, "Batch ")
            self.assertIn(page.value("document.querySelector('.lead').innerText"), said)
            if "What is missing" in self.words(page):
                self.assertIn("Missing: " + self.missing(page).split("\n")[0], said)
            else:
                self.assertNotIn("Missing", said)
        self.assertIn("Signed runs of 2 units, to be tested next", listed["half.batch.json"])

    def test_a_run_without_a_calibration_is_refused_with_what_was_ticked_and_shown_where_the_command_took_it(self):
        self.command("batch", "key", "bench.key")
        self.opened("spring")
        self.a_signed_run("u.droplog")
        self.a_signed_run("other.droplog", "--seed", "5", "--started", "2026-01-09T00:00:00Z")
        page = self.page("/batches/of/spring.batch.json")
        page.value("for (const one of document.querySelectorAll('[name=log]')) one.checked = one.value == 'u.droplog'")
        page.value("document.querySelector('#reason').value = 'a new disc'")
        self.send(page, "add")
        page.until("document.querySelector('.said-wrong')")
        said = page.value("document.querySelector('.said-wrong').innerText")
        self.assertIn("dropledger batch add --uncalibrated", said)
        self.assertEqual(page.value("[...document.querySelectorAll('[name=log]:checked')].map((one) => one.value).join()"), "u.droplog")
        self.assertEqual(page.value("document.querySelector('#reason').value"), "a new disc")
        self.assertEqual(self.command("batch", "add", "spring.batch.json", "u.droplog", "--uncalibrated", "--key", "bench.key").returncode, 0)
        page.go(self.station.base + "/batches/of/spring.batch.json")
        self.assertIn("judged without a calibration: no certificate can follow", self.missing(page))
        self.assertNotIn("everything that it rests on is here", self.missing(page))
        self.send(page, "decide")
        page.until("document.querySelector('.said-wrong')?.innerText.includes('dropledger batch decide --anyway')")
        page.go(self.station.base + "/batches")
        self.assertIn("no certificate can follow", self.words(page))

    def test_logs_from_before_a_batch_was_opened_are_not_ticked(self):
        self.command("batch", "key", "bench.key")
        self.a_signed_run("old.droplog")
        self.a_signed_run("new.droplog", "--seed", "5", "--started", "2026-01-09T00:00:00Z")
        os.utime(self.folder / "old.droplog", (1_767_225_600, 1_767_225_600))  # 2026-01-01
        self.opened("spring")
        page = self.page("/batches/of/spring.batch.json")
        self.assertEqual(page.value("[...document.querySelectorAll('[name=log]:checked')].map((one) => one.value).join()"), "new.droplog")
        self.assertIn("from before this batch was opened", self.words(page))

    def test_a_machine_calibrated_at_once_is_told_without_options(self):
        self.command("simulate", "--scenario", FIXTURES / "scenarios/six_units.toml", "--log", "six.droplog", "--drops", "300")
        page = self.page("/calibrations")
        page.value("document.querySelector('#name').value = 'GATE1'")
        page.click("button.go")
        self.loaded(page, "Calibrated")
        self.assertIn("U-0206", self.words(page))
        self.assertNotIn("--", self.words(page))

    def test_a_pack_is_held_against_delivered_serials_and_keys_by_role(self):
        public = self.released()
        (self.folder / "pack").mkdir()
        for file in (*self.folder.glob("*.droplog"), *self.folder.glob("*.toml"), *self.folder.glob("may.*")):
            shutil.copy(file, self.folder / "pack")
        page = self.page("/batches")
        page.choose_files(".drop input", *(self.folder / "pack").iterdir())
        self.loaded(page, "Does it hold?")
        self.look(page, "pack-asked")
        serials = [f"SU-{number:04}" for number in range(1, 13)]
        wrong = "not hexadecimal"
        answers = {"public-key": public, "bench-key": wrong, "serials": "\n".join(serials), "opening": "0123"}
        self.ask(page, answers)
        page.until("document.querySelector('.said-wrong')?.innerText.includes('no public key')")
        for name, value in answers.items():
            self.assertEqual(page.value(f"document.getElementById({name!r}).value"), value)
        self.assertEqual(page.value("document.querySelector('[name=rehearsal]:checked').value"), "yes")
        self.ask(page, {"bench-key": public, "opening": ""})
        self.loaded(page, "It holds")
        (self.folder / "delivered.txt").write_text("\n".join(serials) + "\n")
        same = self.command("batch", "verify", "pack/may.pdf", "--logs", "pack", "--public-key", "issuer=" + public, "--public-key",
                            "bench=" + public, "--serials-file", "delivered.txt", "--rehearsal").stdout
        self.assertNotIn("whether the serials", same)
        self.assertEqual(page.value("document.querySelector('pre').textContent"), same)
        self.assertEqual(page.value("document.querySelector('#serials').value"), answers["serials"])  # to ask again
        self.ask(page, {"bench-key": "0" * 63 + "1"})
        self.loaded(page, "It does not hold")
        self.assertIn("log_other_key", self.words(page))
        self.ask(page, {"bench-key": "", "serials": "\n".join(reversed(serials))})
        self.loaded(page, "It does not hold")
        self.assertIn("serials_changed", self.words(page))
        self.ask(page, {"serials": "a,b\n1,2"})
        page.until("document.querySelector('.said-wrong')")
        said = page.value("document.querySelector('.said-wrong').innerText")
        self.assertIn("the serials", said)
        self.assertNotIn("dropped-packs", said)

    def ask(self, page, answers):
        page.value("document.querySelector('[name=rehearsal][value=yes]').checked = true; document.querySelectorAll('details')"
                   ".forEach((one) => { one.open = true; });")
        for name, value in answers.items():
            page.value(f"document.getElementById({name!r}).value = {value!r}")
        page.value("document.title = 'asked'")
        page.click("form button.go")
        page.until("document.title != 'asked'")

    def test_a_hand_count_alone_says_whose_gate_was_counted(self):
        page = self.page("/calibrations")
        for name, value in {"name": "GATE1", "dropped": "500", "seen": "498", "crop": "red beet"}.items():
            page.value(f"document.getElementById({name!r}).value = {value!r}")
        page.click("button.go")
        page.until("document.querySelector('.said-wrong')?.innerText.startsWith('bench:')")
        self.assertEqual(list(self.folder.glob("*.toml")), [])
        self.assertEqual(page.value("document.querySelector('#dropped').value + document.querySelector('#crop').value"), "500red beet")
        self.look(page, "calibrations-refused")
        page.value("document.querySelector('#bench').value = 'bench-1'")
        page.click("button.go")
        self.loaded(page, "Calibrated")
        record = (self.folder / "GATE1.toml").read_text()
        for line in ("bench = 'bench-1'", "crop = 'red beet'", "gate = 1"):
            self.assertIn(line, record)
        page.go(self.station.base + "/calibrations")
        for name, value in {"name": "GATE0", "seen-by": "first", "dropped": "500", "seen": "490", "bench": "bench-1"}.items():
            page.value(f"document.getElementById({name!r}).value = {value!r}")
        page.click("button.go")
        page.until("document.querySelector('.said-wrong')?.innerText.startsWith('unit:')")
        page.value("document.querySelector('#unit').value = 'U-0101'")
        page.click("button.go")
        self.loaded(page, "Calibrated")
        self.assertIn("unit = 'U-0101'", (self.folder / "GATE0.toml").read_text())

    def test_an_opening_that_fails_keeps_what_was_said(self):
        page = self.page("/batches")
        page.click("form[action='/batches/key'] button")
        self.loaded(page, "The bench")
        page.go(self.station.base + "/batches")
        for name, value in {"name": "autumn", "serials": "U-9..U-1", "aql": "1.5"}.items():
            page.value(f"document.getElementById({name!r}).value = {value!r}")
        page.click("button.go")
        page.until("document.querySelector('.said-wrong')")
        self.assertEqual(page.value("document.querySelector('#serials').value + document.querySelector('#aql').value"), "U-9..U-11.5")
        self.assertNotIn(str(self.folder), page.value("document.body.innerText"))
        page.value("document.querySelector('#serials').value = 'U-0201..U-0203 U-0301'; "
                   "document.querySelector('details').open = true; document.querySelector('#good').value = '0.1'; "
                   "document.querySelector('#bad').value = '0.9'; document.querySelector('[name=choice][value=drawn]').click()")
        page.click("button.go")
        self.loaded(page, "Batch autumn")
        self.assertIn("4 units", page.value("document.querySelector('main').innerText"))

    def send(self, page, act):
        page.value(f"document.querySelector(\"form[action$='/{act}']\").submit()")

    def missing(self, page):
        return page.value("[...document.querySelectorAll('h2')].find((one) => one.innerText == 'What is missing')"
                          ".nextElementSibling.innerText")

    def written(self, file):
        deadline = time.monotonic() + 60
        while not file.exists():
            self.assertLess(time.monotonic(), deadline)
            time.sleep(0.1)

    def run_units(self, page, units):
        if (self.folder / "virtual-bench.toml").exists():
            page.go(self.station.base + "/machine/virtual-bench.toml")
        else:
            self.to_the_machine(page)
        page.value("for (const one of document.querySelectorAll('[name=channel]')) one.checked = "
                   f"{units!r}.some((unit) => one.parentElement.innerText.includes(unit)); "
                   "document.querySelector('[name=sign][value=yes]').checked = true")
        self.on_to_the_cautions(page, 300)
        page.click("button.go")
        page.until("location.pathname.startsWith('/verdict/')", 120)

    def spoil_a_run(self, page, base, units):
        """Taken out because the bench was at fault; its unit is wanted again, and run."""
        spoilt = page.value("document.querySelector('#run').selectedOptions[0].text").split(",")[0]
        page.value("document.querySelector('#cause').value = 'hopper_not_filled'; "
                   "document.querySelector(\"form[action$='/void'] [name=reason]\").value = 'the lid stood open'")
        self.send(page, "void")
        page.until("document.body.innerText.includes('taken out of the count')")
        self.assertIn(f"1 unit, to be tested next: {spoilt}", self.missing(page))
        self.run_units(page, [spoilt])
        page.go(base)
        self.send(page, "add")
        page.until("document.querySelectorAll('tbody tr').length == 3")

    def verified(self, page, public, verdict):
        page.go(self.station.base + "/batches")
        page.choose_files(".drop input", *(self.folder / "spring-pack").iterdir())
        self.loaded(page, "Does it hold?")
        page.value(f"document.getElementById('public-key').value = {public!r}; "
                   "document.querySelector('[name=rehearsal][value=yes]').checked = true")
        page.click("button.go")
        self.loaded(page, verdict)
        self.look(page, "pack-" + verdict.replace(" ", "-"))


if __name__ == "__main__":
    run_tests()
