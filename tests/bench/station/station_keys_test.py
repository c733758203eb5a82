#!/usr/bin/env python3
"""The farmer's and the quality engineer's pages by keyboard alone; and long work beside a run that is on.

usage: station_keys_test.py DROPLEDGER CHROMIUM FIXTURES [TEST…]"""
import os
import subprocess

from stations import DROPLEDGER, WithStation, run_tests  # and with it the path to what tests share
import invented

# What the tab key should reach: of radio buttons of one name one.
REACHABLE = """[...document.querySelectorAll("a[href], button, input, select, summary, [tabindex='0']")].filter((one) =>
  one.type != "hidden" && !one.disabled && one.checkVisibility() && (one.type != "radio" || one.checked))"""
KEYS = {"Tab": 9, "Enter": 13, " ": 32, "ArrowDown": 40}


class ByKeyboard(WithStation):
    def press(self, page, key):
        text = {"Enter": "\r", " ": " "}.get(key)
        page.order("Input.dispatchKeyEvent", type="keyDown", key=key, code="Space" if key == " " else key,
                   windowsVirtualKeyCode=KEYS[key], **({"text": text} if text else {}))
        page.order("Input.dispatchKeyEvent", type="keyUp", key=key, code="Space" if key == " " else key,
                   windowsVirtualKeyCode=KEYS[key])

    def focus_by_tab(self, page, selector):
        for _ in range(150):
            if page.value(f"document.activeElement.matches({selector!r})"):
                return
            self.press(page, "Tab")
        self.fail(f"no way to {selector} by keyboard")

    def reaches_all(self, page, name):
        """Each control in turn by the tab key, and whoever looks sees where it is."""
        page.value("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        page.value(f"window.wanted = {REACHABLE}; document.activeElement.blur(); window.scrollTo(0, 0)")
        wanted = page.value("wanted.length")
        self.assertGreater(wanted, 5, name)
        reached, unseen = set(), []
        for _ in range(wanted + 5):
            self.press(page, "Tab")
            at = page.value("wanted.indexOf(document.activeElement)")
            if at in reached:
                break
            if at >= 0:
                reached.add(at)
            if page.value("(() => { const style = getComputedStyle(document.activeElement), box = document.activeElement"
                          ".getBoundingClientRect(); return document.activeElement != document.body && (style.outlineStyle == 'none' "
                          "|| parseFloat(style.outlineWidth) < 2 || box.bottom < 0 || box.top > innerHeight); })()"):
                unseen.append(page.value("document.activeElement.outerHTML.slice(0, 120)"))
        missed = [page.value(f"wanted[{i}].outerHTML.slice(0, 120)") for i in range(wanted) if i not in reached]
        self.assertEqual((missed, unseen), ([], []), name)

    def night(self, name="night.csv", header=None):
        file = self.folder / "elsewhere" / name
        file.parent.mkdir(exist_ok=True)
        subprocess.run([DROPLEDGER, "simulate", "--field", file, "--seed", "4"], check=True, capture_output=True)
        if header:
            file.write_text(file.read_text().replace("time,pass", header, 1))
        return file

    def test_the_columns_are_said_by_keyboard_alone(self):
        rows = "".join(f"3/4/2026 22:00:{drop % 60:02},1,1,{drop},52.{drop:07},10.1,1,1\n" for drop in range(300))
        table = self.folder / "slashes.csv"
        table.write_text("time,pass,row,drop,lat,lon,target,seen\n" + rows)
        page = self.page("/field/look?table=slashes.csv")
        self.reaches_all(page, "columns")
        self.focus_by_tab(page, "#date-order")
        self.press(page, "ArrowDown")
        page.until("document.querySelector('#comes').innerText.includes('2026-04-03 22:00:00')")
        self.assertEqual(page.value("document.activeElement.id"), "date-order")  # what came did not take the focus
        self.press(page, "ArrowDown")
        page.until("document.querySelector('#comes').innerText.includes('2026-03-04 22:00:00')")
        self.focus_by_tab(page, "#time-zone")
        page.order("Input.insertText", text="Europe/Berlin")
        self.focus_by_tab(page, "button.go")
        page.until("document.querySelector('#comes').innerText.includes('2026-03-04 22:00:00+01:00')")
        self.focus_by_tab(page, "button.go")
        self.press(page, "Enter")
        page.until("document.querySelector('h1.do')")
        self.assertIn('date_order = "month"', (self.folder / "slashes.csv.mapping.toml").read_text())

    def test_the_farmers_pages_are_worked_by_keyboard_alone(self):
        (self.folder / "night.csv").write_bytes(self.night().read_bytes())
        page = self.page("/field")
        self.reaches_all(page, "field")
        self.focus_by_tab(page, "[name=table]")
        self.press(page, " ")
        self.focus_by_tab(page, "button.go")
        self.press(page, "Enter")
        self.loaded(page, "What do the columns mean")
        self.focus_by_tab(page, "button.go")
        self.press(page, "Enter")
        page.until("document.querySelector('h1.do')")
        self.reaches_all(page, "night")
        self.focus_by_tab(page, "#cost-lost-plant")
        page.order("Input.insertText", text="0,2")
        self.press(page, "Enter")
        page.until("document.querySelector('h1.do') && document.querySelector('#cost-lost-plant').defaultValue == '0,2'")

    def test_the_quality_engineers_pages_are_reached_by_keyboard_alone(self):
        (self.folder / "short-test.toml").write_text(invented.profile())
        page = self.page("/batches")
        self.focus_by_tab(page, "form[action='/batches/key'] button")
        self.press(page, "Enter")
        self.loaded(page, "The bench")
        page.go(self.station.base + "/batches")
        self.reaches_all(page, "batches")
        for name, text in (("name", "spring"), ("serials", "U-0201..U-0203")):
            page.value("document.activeElement.blur()")
            self.focus_by_tab(page, "#" + name)
            page.order("Input.insertText", text=text)
        self.press(page, "Enter")
        self.loaded(page, "Batch spring")
        self.reaches_all(page, "batch before its choice")
        self.focus_by_tab(page, "#buyer-seed")
        page.order("Input.insertText", text="a fine spring")
        self.press(page, "Enter")
        page.until("document.body.innerText.includes('Add runs')")
        self.reaches_all(page, "batch")
        self.focus_by_tab(page, "form[action$='/decide'] button")
        self.press(page, "Enter")
        page.until("document.querySelector('.said-wrong')?.innerText.includes('decided yet')")

    def test_long_work_tells_how_far_it_is_beside_a_run_and_is_cancelled(self):
        night = self.night().read_bytes()
        for number in range(8):
            (self.folder / f"field-{number}.csv").write_bytes(night)
        tables = "?" + "&".join(f"table=field-{number}.csv" for number in range(8))
        page = self.page()
        self.to_the_cautions(page, 2000)
        self.start(page)
        drops = "parseInt(document.querySelector('#live .lead').innerText)"
        page.until(drops + " > 10")
        work = self.page("/field/look" + tables)
        work.value("document.querySelector('button.go').click()")
        work.until("document.querySelector('h1')?.innerText == 'Judging the night' && /MB read/.test(document.body.innerText)")
        before = page.value(drops)
        page.until(f"{drops} > {before}")  # live values go on
        self.assertIn("Running", work.value("document.querySelector('#bar').innerText"))
        self.assertTrue(work.value("!document.querySelector('h1.do')"))
        work.until("(document.querySelector(\"form[action$='/cancel'] button\")?.click(), location.pathname == '/field')")
        self.loaded(work, "After a night")
        page.until(f"{drops} > {before + 10}")

    def test_long_work_on_a_batch_tells_how_far_it_is_and_is_cancelled(self):
        (self.folder / "CAL-B1.toml").write_text(invented.record("CAL-B1", expires="2099-12-31"))
        key = self.folder / "bench.key"
        batch = self.folder / "spring.batch.json"
        log = self.folder / "elsewhere.droplog"
        for words in (("batch", "key", key), ("batch", "open", batch, "--serials", "U-0101..U-0101", "--profile", "single", "--n", "1",
                                              "--accept", "0", "--rehearsal", "--at", "2026-01-03T00:00:00Z", "--key", key),
                      ("simulate", "--scenario", "healthy", "--drops", "4000", "--log", log, "--key", key)):
            subprocess.run([DROPLEDGER, *words], check=False, capture_output=True)
        before = batch.read_bytes()
        rest = log.read_bytes()
        os.mkfifo(self.folder / "slow.droplog")  # a log whose end does not come
        page = self.page("/batches/of/spring.batch.json")
        pipe = os.open(self.folder / "slow.droplog", os.O_RDWR)
        try:
            page.value("(() => { const form = document.querySelector(\"form[action$='/add']\"); "
                       "form.querySelector('[name=log]').value = 'slow.droplog'; form.submit(); })()")
            page.until("document.querySelector('h1')?.innerText == 'Batch spring.batch.json' && /MB read/.test(document.body.innerText)")
            for enough in (0.3, 0.8):
                while len(rest) > 0 and not page.value(f"parseFloat(document.querySelector('.lead')?.innerText) >= {enough}"):
                    rest = rest[os.write(pipe, rest[:30000]):]
                page.until(f"parseFloat(document.querySelector('.lead')?.innerText) >= {enough}")
            page.until("(document.querySelector(\"form[action$='/cancel'] button\")?.click(), "
                       "location.pathname == '/batches/of/spring.batch.json' && document.body.innerText.includes('Add runs'))")
        finally:
            os.close(pipe)
        self.assertEqual(batch.read_bytes(), before)


if __name__ == "__main__":
    run_tests()
