"""A real browser without a window, driven through its own pipe (Chrome DevTools Protocol): no network, no port, no library.

    with Browser("chromium") as browser:
        page = browser.open(path, width=390, height=844, touch=True)
        page.value("document.title")"""
import base64
import json
import os
import pathlib
import select
import subprocess
import tempfile
import time

PATIENCE_S = 60
# Where the first such element is, once two frames of the page have shown it at the same place.
STILL = """new Promise((found) => {
  const next = (before) => requestAnimationFrame(() => {
    const one = document.querySelector(%s);
    one?.scrollIntoView({block: 'center'});
    const {x, y, width, height} = one?.getBoundingClientRect() ?? {};
    const now = [one ? 1 : 0, x, y, width, height].join();
    if (one && now === before) found({x, y, width, height}); else next(now);
  });
  next();
})"""


class Browser:
    def __init__(self, program):
        self.kept = tempfile.TemporaryDirectory(prefix="browser")
        to_read, self.write_end = os.pipe()
        self.read_end, to_write = os.pipe()
        words = [program, "--headless=new", "--remote-debugging-pipe", "--no-sandbox", "--disable-gpu",
                 "--disable-background-networking", "--disable-component-update", "--no-first-run", "--hide-scrollbars",
                 "--font-render-hinting=none", "--disable-dev-shm-usage", f"--user-data-dir={self.kept.name}/profile",
                 "about:blank"]
        # The browser reads orders at 3 and answers at 4.
        joined = f"exec 3<&{to_read} 4>&{to_write}; exec \"$@\" 2>/dev/null"
        self.process = subprocess.Popen(["bash", "-c", joined, "browser", *words], pass_fds=(to_read, to_write),
                                        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
        os.close(to_read)
        os.close(to_write)
        self.last, self.rest, self.events = 0, b"", []

    def __enter__(self):
        return self

    def __exit__(self, *_):
        try:
            self.order("Browser.close")
            self.process.wait(PATIENCE_S)
        finally:
            self.process.kill()
            self.process.wait()
            os.close(self.write_end)
            os.close(self.read_end)
            self.kept.cleanup()

    def message(self):
        while b"\0" not in self.rest:
            ready, _, _ = select.select([self.read_end], [], [], PATIENCE_S)
            part = os.read(self.read_end, 1 << 16) if ready else b""
            if not part:
                raise RuntimeError("the browser says nothing")
            self.rest += part
        one, self.rest = self.rest.split(b"\0", 1)
        return json.loads(one)

    def order(self, method, session=None, **words):
        self.last += 1
        order = {"id": self.last, "method": method, "params": words, **({"sessionId": session} if session else {})}
        os.write(self.write_end, json.dumps(order).encode() + b"\0")
        while True:
            answer = self.message()
            if answer.get("id") == self.last:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]
            self.events.append(answer)

    def wait_for(self, session, method, **words):
        """The next event of this page that says these words; what it said before that is forgotten."""
        while True:
            for i, event in enumerate(self.events):
                if event.get("sessionId") == session and event.get("method") == method \
                        and words.items() <= event.get("params", {}).items():
                    self.events = [one for j, one in enumerate(self.events) if j > i or one.get("sessionId") != session]
                    return event
            self.events.append(self.message())

    def open(self, path, width=1280, height=900, touch=False):
        target = self.order("Target.createTarget", url="about:blank")["targetId"]
        return Page(self, self.order("Target.attachToTarget", targetId=target, flatten=True)["sessionId"], path, width,
                    height, touch)


class Page:
    def __init__(self, browser, session, path, width, height, touch):
        self.browser, self.session = browser, session
        self.order("Page.enable")
        self.order("Page.setLifecycleEventsEnabled", enabled=True)
        self.resize(width, height, touch)
        self.go(path if str(path).startswith("http") else pathlib.Path(path).absolute().as_uri())

    def order(self, method, **words):
        return self.browser.order(method, self.session, **words)

    def resize(self, width, height, touch):
        """A phone (touch) or a desktop of this size."""
        self.size = (width, height, touch)
        self.order("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=2 if touch else 1,
                   mobile=touch)
        self.order("Emulation.setTouchEmulationEnabled", enabled=touch, **({"maxTouchPoints": 5} if touch else {}))

    def value(self, expression):
        answer = self.order("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(f"{expression}: {answer['exceptionDetails']}")
        return answer["result"].get("value")

    def box(self, selector):
        """Of the first such element, in the window: x, y, width, height."""
        return self.value(f"(() => {{ const b = document.querySelector({json.dumps(selector)}).getBoundingClientRect();"
                          "return {x: b.x, y: b.y, width: b.width, height: b.height}; })()")

    def touch(self, kind, *points):
        self.order("Input.dispatchTouchEvent", type=kind,
                   touchPoints=[{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(points)])

    def drag(self, *ways, steps=8):
        """Each way ((x, y), (x, y)) is a finger's."""
        self.touch("touchStart", *[start for start, _ in ways])
        for step in range(1, steps + 1):
            part = step / steps
            self.touch("touchMove", *[(a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])) for a, b in ways])
        self.touch("touchEnd")

    def tap(self, x, y):
        self.touch("touchStart", (x, y))
        self.touch("touchEnd")

    def go(self, url):
        """Comes back once this page is loaded: one before it, still loading, says the same of itself."""
        self.order("Page.stopLoading")
        told = self.order("Page.navigate", url=url)
        if told.get("errorText"):
            raise RuntimeError(f"{url}: {told['errorText']}")
        if "loaderId" in told:  # otherwise a place in the same page
            self.browser.wait_for(self.session, "Page.lifecycleEvent", name="load", loaderId=told["loaderId"])

    def until(self, expression, seconds=PATIENCE_S):
        """Asks until it is true of a page that is whole; on one that is being left meanwhile, too."""
        last = time.monotonic() + seconds
        while time.monotonic() < last:
            try:
                found = self.value(f"(() => {{ const it = document.readyState == 'complete' && ({expression}); "
                                   "return it instanceof Node ? true : it; })()")
                if found:
                    return found
            except RuntimeError:
                pass
            time.sleep(0.05)
        raise AssertionError(f"never true on {self.value('location.href')}: {expression}\n"
                             + str(self.value("document.body.innerText"))[:2000])

    def click(self, selector):
        """With the mouse, in the middle of the first such element, which is brought into view and stands still."""
        self.mouse("mouseReleased", *self.press(selector))

    def press(self, selector):
        """The first half of a click, and where it was."""
        self.order("Page.bringToFront")  # a page that nobody sees draws no frames
        box = self.value(STILL % json.dumps(selector))
        at = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        self.mouse("mousePressed", *at)
        return at

    def mouse(self, kind, x, y):
        self.order("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def key(self, name, code=0):
        for kind in ("keyDown", "keyUp"):
            self.order("Input.dispatchKeyEvent", type=kind, key=name, code=name, windowsVirtualKeyCode=code)

    def choose_files(self, selector, *paths):
        root = self.order("DOM.getDocument")["root"]["nodeId"]
        node = self.order("DOM.querySelector", nodeId=root, selector=selector)["nodeId"]
        self.order("DOM.setFileInputFiles", files=[str(path) for path in paths], nodeId=node)

    def printed(self, path):
        """As it comes out of the printer, on A4."""
        data = self.order("Page.printToPDF", paperWidth=8.27, paperHeight=11.69, preferCSSPageSize=True, printBackground=True)
        pathlib.Path(path).write_bytes(base64.b64decode(data["data"]))

    def close(self):
        self.order("Page.close")

    def media(self, name, **features):
        if features:
            return self.order("Emulation.setEmulatedMedia", media=name,
                              features=[{"name": k.replace("_", "-"), "value": v} for k, v in features.items()])
        return self.order("Emulation.setEmulatedMedia", media=name)

    def picture(self, path, whole=False):
        data = self.order("Page.captureScreenshot", captureBeyondViewport=whole,
                          **({"clip": {**self.order("Page.getLayoutMetrics")["cssContentSize"], "scale": 1}} if whole else {}))
        pathlib.Path(path).write_bytes(base64.b64decode(data["data"]))
