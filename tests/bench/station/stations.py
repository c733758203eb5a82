"""A station and a browser for tests of its pages; what they share.

argv of each test: DROPLEDGER CHROMIUM FIXTURES [TEST…]; PICTURES=FOLDER keeps what was seen, and its print.

Each page that is looked at is looked at by axe-core too, in light and dark, on a desktop and a phone; where that was not
fetched (axe/fetch.sh) all else is tested, and the test says that it was skipped."""
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "support"))
from browser import Browser  # noqa: E402

DROPLEDGER, CHROMIUM, FIXTURES = str(pathlib.Path(sys.argv[1]).absolute()), sys.argv[2], pathlib.Path(sys.argv[3]).absolute()
SIX_UNITS = FIXTURES / "scenarios/six_units.toml"
PICTURES = os.environ.get("PICTURES")
AXE = pathlib.Path(os.environ.get("AXE", pathlib.Path(__file__).resolve().parents[3] / "build/axe/node_modules/axe-core/axe.min.js"))
SKIPPED = 77
ESCAPE = 27
# Text whose contrast with what is behind it is under WCAG 2.1, 1.4.3: 4.5, or 3 where it is large (24 px, bold 18.66 px).
# Behind it is the nearest background that is not seen through; pictures have words of their own and are left out.
PALE = """(() => {
  const channels = (colour) => (colour.match(/[\\d.]+/g) || [0, 0, 0, 0]).map(Number);
  const light = (colour) => channels(colour).slice(0, 3).map((c) => c / 255)
    .map((c) => c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
    .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
  const isClear = (colour) => channels(colour).length == 4 && channels(colour)[3] == 0;
  const behind = (one) => { for (; one; one = one.parentElement) { const colour = getComputedStyle(one).backgroundColor;
    if (!isClear(colour)) return colour; } return getComputedStyle(document.documentElement).colorScheme.includes("dark") &&
    matchMedia("(prefers-color-scheme: dark)").matches ? "rgb(18, 18, 18)" : "rgb(255, 255, 255)"; };
  const found = [];
  for (const one of document.body.querySelectorAll("*")) {
    if (one.closest("svg, script, style") || one.disabled || !one.checkVisibility()) continue;
    if (![...one.childNodes].some((node) => node.nodeType == 3 && node.data.trim())) continue;
    const style = getComputedStyle(one), size = parseFloat(style.fontSize);
    const ground = channels(behind(one)), ink = channels(style.color), part = ink[3] ?? 1;
    const seen = `rgb(${[0, 1, 2].map((i) => ink[i] * part + ground[i] * (1 - part)).join()})`;
    const [lighter, darker] = [light(seen), light(behind(one))].sort((a, b) => b - a);
    const ratio = (lighter + 0.05) / (darker + 0.05);
    if (ratio < (size >= 24 || (size >= 18.66 && style.fontWeight >= 700) ? 3 : 4.5))
      found.push(ratio.toFixed(2) + " " + one.tagName + " " + one.innerText.slice(0, 40));
  }
  return found;
})()"""
# What axe-core finds, and what it cannot tell.
LOOKED_AT = """axe.run(document, { resultTypes: ["violations", "incomplete"], preload: false }).then((said) =>
  ["violations", "incomplete"].flatMap((kind) => said[kind].flatMap((rule) => rule.nodes.map((node) =>
    [kind, rule.id, node.target.flat().join(" "), node.html.slice(0, 100), node.any.concat(node.all, node.none)
      .map((check) => check.message).join("; ")].join(" | ")))))"""
WIDER = "Math.max(window.innerWidth - screen.width, document.documentElement.scrollWidth - window.innerWidth)"


WIDTHS = ((390, 844, True), (1280, 900, False))


def keeps_nobody_out(test, page, name, widths=()):
    """By axe-core, at each width (or as the page stands), in the scheme that is set."""
    if not AXE.exists():
        return
    if page.value("typeof axe") == "undefined":
        page.value(AXE.read_text() + ";0")
    before = page.size
    for size in widths or (before,):
        page.resize(*size)
        found = page.value(LOOKED_AT)
        test.assertEqual([one for one in found if not is_answered(one)], [], f"{name}, {size[0]} px: axe-core")
    page.resize(*before)


def is_answered(found):
    """What axe-core cannot tell and something else does: contrast is held by PALE (behind the bar too), names of buttons
    that show one sign by the test of what is heard, headings on a page that changes meanwhile by the count of its first;
    and the frame of the certificate holds a PDF, which is the browser's to show."""
    return found.startswith(("incomplete | color-contrast |", "incomplete | label-content-name-mismatch |",
                             "incomplete | heading-order |", "incomplete | frame-tested | iframe | <iframe class=\"paper\""))


class Station:
    """The program, serving."""

    def __init__(self, folder, *words):
        self.folder = pathlib.Path(folder)
        self.process = subprocess.Popen([DROPLEDGER, "serve", "--folder", folder, *words],
                                        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.first = self.process.stdout.readline().strip()
        self.base = self.first.split("/?")[0]

    def end(self):
        self.process.terminate()
        status = self.process.wait(60)
        self.process.stdout.close()
        return status

    def kill(self):
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()

    def logs(self):
        return sorted(self.folder.glob("*.droplog"))


class WithStation(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.browser = Browser(CHROMIUM)

    @classmethod
    def tearDownClass(cls):
        cls.browser.__exit__()

    def setUp(self):
        self.kept = tempfile.TemporaryDirectory(prefix="station")
        self.folder = pathlib.Path(self.kept.name)
        self.bench = None
        self.station = Station(self.folder)
        self.pages = []

    def tearDown(self):
        for page in self.pages:
            page.close()
        if self.station.process.poll() is None:
            self.station.end()
        if self.bench:
            self.bench.terminate()
            self.bench.wait()
        self.kept.cleanup()

    def page(self, path="/bench", **how):
        page = self.browser.open(self.station.first, **how)
        self.pages.append(page)
        page.order("Log.enable")
        page.go(self.station.base + path)
        return page

    def outside_bench(self, pace=4, scenario=SIX_UNITS, *words):
        """A virtual bench that outlives the station, as a real one does."""
        link = str(self.folder / "outside")
        self.bench = subprocess.Popen([DROPLEDGER, "simulate", "--scenario", scenario, "--link", link, "--pace", str(pace), *words],
                                      stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.bench.stdout.readline()
        self.bench.stdout.close()
        return link

    def loaded(self, page, heading):
        page.until(f"document.readyState == 'complete' && document.querySelector('h1')?.innerText.startsWith({heading!r})")

    def to_the_machine(self, page):
        page.go(self.station.base + "/bench")
        page.click("form[action='/bench/virtual'] button")
        self.loaded(page, "Run ")

    def to_the_cautions(self, page, drops=None):
        self.to_the_machine(page)
        self.on_to_the_cautions(page, drops)

    def on_to_the_cautions(self, page, drops=None):
        if drops:
            page.value(f"document.querySelector('#drops').value = '{drops}'")
        page.click("button.go")
        self.loaded(page, "Ready to start")

    def start(self, page):
        page.click("button.go")
        self.loaded(page, "The run")
        page.until("document.querySelectorAll('#live tbody tr').length == 6")

    def look(self, page, name, whole=True, dark=False):
        """`whole`: not only what the window shows, nor as wide only as it is."""
        for scheme in ("light", "dark") if dark else ("dark", "light"):
            page.media("", prefers_color_scheme=scheme)  # "screen" would be printed, too
            self.assertEqual(page.value(PALE), [], f"{name}, {scheme}")
            keeps_nobody_out(self, page, f"{name}, {scheme}", WIDTHS if whole else ())
        if PICTURES:
            page.picture(f"{PICTURES}/{name}.png", whole=whole)
            page.printed(f"{PICTURES}/{name}.pdf")

    def no_complaints(self):
        told = [event["params"]["entry"]["text"] for event in self.browser.events if event.get("method") == "Log.entryAdded"]
        self.assertEqual([text for text in told if "Content Security Policy" in text or "Refused" in text], [])


def run_tests():
    done = unittest.main(argv=[sys.argv[0], "-v", *sys.argv[4:]], exit=False).result
    if done.wasSuccessful() and not AXE.exists():
        print(f"All else passed, but axe-core is not here ({AXE}): what it would find is not known.", file=sys.stderr)
        sys.exit(SKIPPED)
    sys.exit(0 if done.wasSuccessful() else 1)
