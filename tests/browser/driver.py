"""Chromium by way of chromedriver: the WebDriver protocol (W3C) over HTTP, as little of it as the tests need."""
import base64
import json
import shutil
import socket
import subprocess
import tempfile
import time
import urllib.error
import urllib.request

FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
         "--disable-extensions", "--disable-default-apps", "--hide-scrollbars"]
START = 60  # s that the driver may take to answer


def is_installed():
    return shutil.which("chromium") is not None and shutil.which("chromedriver") is not None


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


class Browser:
    def __init__(self, width=1280, height=900, scripts=True):
        self.profile = tempfile.TemporaryDirectory(prefix="sheave-browser-")
        port = free_port()
        self.url = f"http://127.0.0.1:{port}"
        self.process = subprocess.Popen(["chromedriver", f"--port={port}", "--silent"], stdout=subprocess.DEVNULL,
                                        stderr=subprocess.DEVNULL)
        self.opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        try:
            self.wait()
            self.begin(width, height, scripts)
        except BaseException:
            self.end_driver()
            raise

    def wait(self):
        until = time.monotonic() + START
        while True:
            try:
                if self.call("GET", "/status")["ready"]:
                    return
            except OSError:
                if time.monotonic() > until or self.process.poll() is not None:
                    raise
            time.sleep(0.05)

    def begin(self, width, height, scripts):
        options = {"args": FLAGS + [f"--user-data-dir={self.profile.name}", f"--window-size={width},{height}"],
                   "perfLoggingPrefs": {"enableNetwork": True}}
        if not scripts:
            options["prefs"] = {"profile.managed_default_content_settings.javascript": 2}
        wanted = {"browserName": "chrome", "goog:chromeOptions": options,
                  "goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"}}
        self.session = self.call("POST", "/session", {"capabilities": {"alwaysMatch": wanted}})["sessionId"]
        self.url += f"/session/{self.session}"

    def call(self, method, path, body=None):
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.url + path, data, {"Content-Type": "application/json"}, method=method)
        try:
            with self.opener.open(request, timeout=120) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            raise RuntimeError(json.load(error)["value"]["message"]) from None

    def go(self, url):
        self.call("POST", "/url", {"url": url})

    def run(self, script, *arguments):
        """The value of the body of a function."""
        return self.call("POST", "/execute/sync", {"script": script, "args": list(arguments)})

    def command(self, name, **parameters):
        """A command of the browser's own protocol."""
        return self.call("POST", "/goog/cdp/execute", {"cmd": name, "params": parameters})

    def log(self, kind):
        return self.call("POST", "/se/log", {"type": kind})

    def requests(self):
        """Addresses asked for since the last call."""
        events = [json.loads(entry["message"])["message"] for entry in self.log("performance")]
        return [e["params"]["request"]["url"] for e in events if e["method"] == "Network.requestWillBeSent"]

    def size(self, width, height):
        self.command("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1,
                     mobile=width < 600)

    def screenshot(self, path):
        with open(path, "wb") as file:
            file.write(base64.b64decode(self.call("GET", "/screenshot")))

    def print(self):
        """The page as a PDF, with its own sizes of paper."""
        return base64.b64decode(self.command("Page.printToPDF", preferCSSPageSize=True, printBackground=True)["data"])

    def keys(self, *keys):
        actions = [{"type": step, "value": key} for key in keys for step in ("keyDown", "keyUp")]
        self.call("POST", "/actions", {"actions": [{"type": "key", "id": "keyboard", "actions": actions}]})

    def end_driver(self):
        self.process.terminate()
        self.process.wait()
        self.profile.cleanup()

    def end(self):
        try:
            self.call("DELETE", "")
        finally:
            self.end_driver()
