"""A real browser steered through its own pipe (the DevTools protocol): a page opened, asked, tapped and pictured."""

from __future__ import annotations

import base64
import contextlib
import json
import os
import select
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from typing import Any

from tests.paper.browser import CHROMIUM, FLAGS

LONGEST_S = 60.0
SIZES = {"phone": (390, 844, 2), "tablet": (820, 1180, 1)}
"""width and height in CSS pixels, and how many of the screen's pixels are one of them"""
COUNTING = """
window.heardTones = []; window.shaken = [];
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (at) {
  window.heardTones.push([this.frequency.value, this.context.state]); return start.call(this, at);
};
const vibrate = (turns) => { window.shaken.push(turns); return true; };
Object.defineProperty(Navigator.prototype, "vibrate", { value: vibrate });
"""
"""notes each tone that starts and each vibration, before any script of the page runs"""


class Page:
    """One page of a browser."""

    def __init__(self, to: int, back: int) -> None:
        self._to, self._back = to, back
        self._left = b""
        self._number = 0
        target = self._send("Target.createTarget", {"url": "about:blank"})["targetId"]
        self._at = self._send("Target.attachToTarget", {"targetId": target, "flatten": True})["sessionId"]
        self.call("Page.enable")
        self.call("Page.addScriptToEvaluateOnNewDocument", source=COUNTING)

    def call(self, method: str, **how: Any) -> dict[str, Any]:
        return self._send(method, how, self._at)

    def _send(self, method: str, how: dict[str, Any], session: str = "") -> dict[str, Any]:
        self._number += 1
        said = {"id": self._number, "method": method, "params": how, **({"sessionId": session} if session else {})}
        os.write(self._to, json.dumps(said).encode() + b"\0")
        until = time.monotonic() + LONGEST_S
        while True:
            answer = self._next(until)
            if answer.get("id") == self._number:
                assert "error" not in answer, answer
                result = answer["result"]
                assert isinstance(result, dict)
                return result

    def _next(self, until: float) -> dict[str, Any]:
        while b"\0" not in self._left:
            ready, _, _ = select.select([self._back], [], [], max(0.0, until - time.monotonic()))
            assert ready, "the browser does not answer"
            more = os.read(self._back, 1 << 16)
            assert more, "the browser has gone"
            self._left += more
        one, _, self._left = self._left.partition(b"\0")
        found = json.loads(one)
        assert isinstance(found, dict)
        return found

    def open(self, url: str) -> None:
        self.call("Page.navigate", url=url)
        while self._next(time.monotonic() + LONGEST_S).get("method") != "Page.loadEventFired":
            pass

    def ask(self, script: str) -> Any:
        """Return the value of an expression in the page."""
        answer = self.call("Runtime.evaluate", expression=script, returnByValue=True)
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def text(self, selector: str = "body") -> str:
        return str(self.ask(f"document.querySelector({selector!r})?.innerText ?? ''"))

    def wait(self, holds: Callable[[], bool], longest_s: float = LONGEST_S) -> float:
        """Return after how many seconds something came to hold."""
        began = time.monotonic()
        while not holds():
            assert time.monotonic() - began < longest_s, self.text()
            select.select([], [], [], 0.05)
        return time.monotonic() - began

    def tap(self, selector: str) -> None:
        """Press as a finger does: a script's own click would not let sound begin."""
        box = f"(() => {{ const e = document.querySelector({selector!r}); e.scrollIntoView(); "
        box += "const b = e.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]; })()"
        x, y = self.ask(box)
        for kind in ("mousePressed", "mouseReleased"):
            self.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def size(self, name: str, look: str = "light") -> None:
        """Make it a phone or a tablet, "light" or "dark"."""
        width, height, scale = SIZES[name]
        self.call(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=scale, mobile=True
        )
        self.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": look}])

    def picture(self) -> bytes:
        return base64.b64decode(self.call("Page.captureScreenshot", format="png")["data"])


@contextlib.contextmanager
def browser_page() -> Iterator[Page]:
    """Give a page of a browser of its own, ended after."""
    assert CHROMIUM is not None
    theirs_in, to = os.pipe()
    back, theirs_out = os.pipe()
    # A flag about PDF has its renderer end when it is steered.
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        # The browser reads from 3 and writes to 4; a shell puts our pipes there.
        put = f'exec 3<&{theirs_in} 4>&{theirs_out}; exec "$@"'
        running = subprocess.Popen(
            [
                *("bash", "-c", put, "bash", CHROMIUM, *(flag for flag in FLAGS if "pdf" not in flag)),
                *(
                    f"--user-data-dir={profile}",
                    "--remote-debugging-pipe",
                    "--mute-audio",
                    "--disable-dev-shm-usage",
                    "about:blank",
                ),
            ],
            pass_fds=(theirs_in, theirs_out),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(theirs_in)
        os.close(theirs_out)
        try:
            yield Page(to, back)
        finally:
            running.terminate()
            running.wait(LONGEST_S)
            os.close(to)
            os.close(back)
