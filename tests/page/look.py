"""Opens pages in a headless browser and tells what a person would see, as JSON.

    look.py STEPS.json

The steps are a list: {"open": path, "width": px, "height": px}, {"ask": expression},
{"time": expression}, {"press": key}, {"picture": path}, {"print": path}. Answers come in the same
order; "errors" holds what the browser's console complained of. The browser is driven over a pipe,
so nothing but Python itself is needed.
"""

import base64
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time

BROWSER = os.environ.get("CHROMIUM", "/usr/bin/chromium")
QUIET = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --hide-scrollbars "
    "--disable-background-networking --disable-component-update --disable-sync"
).split()


class Browser:
    def __init__(self, profile):
        to_read, self.out = os.pipe()
        self.inp, to_write = os.pipe()

        def wire():
            # The browser reads descriptor 3 and writes descriptor 4.
            a, b = os.dup(to_read), os.dup(to_write)
            os.dup2(a, 3)
            os.dup2(b, 4)

        self.process = subprocess.Popen(
            [BROWSER, *QUIET, "--remote-debugging-pipe", f"--user-data-dir={profile}", "about:blank"],
            preexec_fn=wire,
            close_fds=False,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_read)
        os.close(to_write)
        self.rest = b""
        self.number = 0
        self.errors = []
        self.loaded = False
        target = next(
            t
            for t in self.call("Target.getTargets")["targetInfos"]
            if t["type"] == "page"
        )
        self.session = None
        self.session = self.call(
            "Target.attachToTarget", targetId=target["targetId"], flatten=True
        )["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(domain + ".enable")

    def receive(self):
        while b"\0" not in self.rest:
            part = os.read(self.inp, 1 << 20)
            if not part:
                raise SystemExit("the browser ended")
            self.rest += part
        text, self.rest = self.rest.split(b"\0", 1)
        return json.loads(text)

    def call(self, method, **params):
        self.number += 1
        message = {"id": self.number, "method": method, "params": params}
        if getattr(self, "session", None):
            message["sessionId"] = self.session
        os.write(self.out, json.dumps(message).encode() + b"\0")
        while True:
            answer = self.receive()
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise SystemExit(f"{method}: {answer['error']['message']}")
                return answer["result"]
            self.heard(answer)

    def heard(self, event):
        params = event.get("params", {})
        match event.get("method"):
            case "Page.loadEventFired":
                self.loaded = True
            case "Runtime.exceptionThrown":
                self.errors.append(params["exceptionDetails"].get("text", "exception"))
            case "Log.entryAdded" if params["entry"]["level"] in ("error", "warning"):
                self.errors.append(params["entry"]["text"])
            case "Runtime.consoleAPICalled" if params["type"] in ("error", "warning", "assert"):
                self.errors.append(params["type"])
            case "Network.requestWillBeSent":
                url = params["request"]["url"]
                if not url.startswith(("file:", "about:", "data:")):
                    self.errors.append("fetched " + url)
            case "Page.javascriptDialogOpening":
                self.errors.append("a dialog opened: " + params["message"])

    def evaluate(self, expression):
        answer = self.call(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True
        )
        if "exceptionDetails" in answer:
            raise SystemExit(f"{expression}: {answer['exceptionDetails']}")
        return answer["result"].get("value")

    def step(self, step):
        match step:
            case {"open": path, "width": width, "height": height}:
                self.call(
                    "Emulation.setDeviceMetricsOverride",
                    width=width,
                    height=height,
                    deviceScaleFactor=1,
                    mobile=width < 600,
                )
                self.loaded = False
                from_ = time.monotonic()
                self.call("Page.navigate", url=pathlib.Path(path).resolve().as_uri())
                while not self.loaded:
                    self.heard(self.receive())
                # Two frames later it is on the screen.
                self.evaluate("new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)))")
                return round(1000 * (time.monotonic() - from_))
            case {"ask": expression}:
                return self.evaluate(expression)
            case {"time": expression}:
                return self.evaluate(
                    "(() => { const from = performance.now(); " + expression + "; "
                    "document.body.offsetHeight; return Math.round(performance.now() - from); })()"
                )
            case {"press": key}:
                for kind in ("keyDown", "keyUp"):
                    self.call("Input.dispatchKeyEvent", type=kind, key=key, code=key,
                              windowsVirtualKeyCode={"Tab": 9, "Enter": 13}[key],
                              text="\r" if key == "Enter" and kind == "keyDown" else "")
                return None
            case {"picture": path, **rest}:
                shot = self.call("Page.captureScreenshot", format="png",
                                 captureBeyondViewport=False)
                pathlib.Path(path).write_bytes(base64.b64decode(shot["data"]))
                return None
            case {"print": path}:
                pdf = self.call("Page.printToPDF", preferCSSPageSize=True, printBackground=True)
                pathlib.Path(path).write_bytes(base64.b64decode(pdf["data"]))
                return None
            case _:
                raise SystemExit(f"no such step: {step}")


def main():
    steps = json.loads(pathlib.Path(sys.argv[1]).read_text())
    profile = tempfile.mkdtemp()
    browser = Browser(profile)
    try:
        answers = [browser.step(step) for step in steps]
        print(json.dumps({"answers": answers, "errors": browser.errors}))
    finally:
        browser.process.kill()
        browser.process.wait()
        shutil.rmtree(profile, ignore_errors=True)


main()
