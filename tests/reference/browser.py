"""A browser driven by its DevTools protocol, through a pipe: the standard library is all that it needs."""

import base64
import json
import os
import select
import subprocess
import tempfile
import time


class Browser:
    """Chromium without a window, and one page in it. Everything that the page says or asks for is kept."""

    def __init__(self, program, wide, high, **wants):
        self.profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        commands, self.write = os.pipe()
        self.read, answers = os.pipe()

        def places():
            # The protocol's own: commands on descriptor 3, answers on 4.
            first, second = os.dup(commands), os.dup(answers)
            os.dup2(first, 3)
            os.dup2(second, 4)

        self.process = subprocess.Popen(
            [program, "--headless", "--no-sandbox", "--remote-debugging-pipe", "--use-angle=swiftshader",
             "--enable-unsafe-swiftshader", "--disable-gpu-sandbox", "--disable-background-networking",
             "--no-first-run", "--disable-component-update", "--hide-scrollbars",
             f"--user-data-dir={self.profile.name}", "about:blank"],
            preexec_fn=places, close_fds=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(commands)
        os.close(answers)
        self.number, self.rest, self.session = 0, b"", None
        self.console, self.faults, self.requests = [], [], []
        target = self.command("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.command("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ["Page", "Runtime", "Network", "Log", "Accessibility"]:
            self.command(f"{domain}.enable")
        self.command("Emulation.setDeviceMetricsOverride", width=wide, height=high, deviceScaleFactor=1,
                     mobile=wants.get("touch", False))
        if wants.get("touch"):
            self.command("Emulation.setTouchEmulationEnabled", enabled=True, maxTouchPoints=2)
        features = [{"name": "prefers-color-scheme", "value": "dark" if wants.get("dark") else "light"},
                    {"name": "prefers-reduced-motion", "value": "reduce" if wants.get("calm", True) else "no-preference"}]
        self.command("Emulation.setEmulatedMedia", features=features)
        self.command("Emulation.setScriptExecutionDisabled", value=not wants.get("scripts", True))

    def command(self, method, **parameters):
        self.number += 1
        message = {"id": self.number, "method": method, "params": parameters}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.write, json.dumps(message).encode() + b"\0")
        while True:
            answer = self.message(60)
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]

    def message(self, seconds):
        """The next message; what happened on the page is kept aside as well."""
        while b"\0" not in self.rest:
            if not select.select([self.read], [], [], seconds)[0]:
                raise TimeoutError("the browser says nothing")
            data = os.read(self.read, 1 << 20)
            if not data:
                raise EOFError("the browser has ended")
            self.rest += data
        text, self.rest = self.rest.split(b"\0", 1)
        message = json.loads(text)
        method, parameters = message.get("method"), message.get("params", {})
        if method == "Runtime.consoleAPICalled":
            self.console.append([part.get("value", part.get("description")) for part in parameters["args"]])
        elif method == "Log.entryAdded":
            self.console.append(parameters["entry"]["text"])
        elif method == "Runtime.exceptionThrown":
            self.faults.append(parameters["exceptionDetails"])
        elif method == "Network.requestWillBeSent":
            self.requests.append(parameters["request"]["url"])
        return message

    def open(self, url):
        self.command("Page.navigate", url=url)
        self.until("document.readyState === 'complete'")

    def evaluate(self, text):
        result = self.command("Runtime.evaluate", expression=text, awaitPromise=True, returnByValue=True)
        if "exceptionDetails" in result:
            raise RuntimeError(result["exceptionDetails"])
        return result["result"].get("value")

    def until(self, text, seconds=60):
        end = time.monotonic() + seconds
        while not self.evaluate(text):
            if time.monotonic() > end:
                raise TimeoutError(text)
            time.sleep(0.05)

    def picture(self, whole=False):
        """What is seen, or the whole page, as PNG."""
        wants = {}
        if whole:
            size = self.command("Page.getLayoutMetrics")["cssContentSize"]
            wants = {"clip": {**size, "scale": 1}, "captureBeyondViewport": True}
        return base64.b64decode(self.command("Page.captureScreenshot", format="png", **wants)["data"])

    def mouse(self, kind, x, y, **more):
        self.command("Input.dispatchMouseEvent", type=kind, x=x, y=y, **more)

    def drag(self, x, y, dx, dy):
        self.mouse("mousePressed", x, y, button="left", clickCount=1)
        self.mouse("mouseMoved", x + dx, y + dy, button="left", buttons=1)
        self.mouse("mouseReleased", x + dx, y + dy, button="left")

    def key(self, name):
        for kind in ["keyDown", "keyUp"]:
            self.command("Input.dispatchKeyEvent", type=kind, key=name, code=name)

    def touch(self, kind, *points):
        touches = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(points)]
        self.command("Input.dispatchTouchEvent", type=kind, touchPoints=touches)

    def close(self):
        self.process.kill()
        self.process.wait()
        self.profile.cleanup()
