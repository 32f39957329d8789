"""Pictures of the page on a phone and a tablet: ``python -m tests.watch.pictures``, or with all others."""

from __future__ import annotations

import tempfile
from pathlib import Path

from dyeday.ahead.advising.advice import advice
from dyeday.ahead.forecast import forecast
from tests.fakes import ROOT
from tests.paper.browser import CHROMIUM
from tests.watch.chromium import browser_page
from tests.watch.served import demo_day, served

FOLDER = ROOT / "screenshots"
SHOTS = {
    "watch-phone": ("phone", "light", 0),
    "watch-tablet": ("tablet", "dark", 0),
    "watch-phone-alarm": ("phone", "dark", 7),
    "watch-tablet-alarm": ("tablet", "light", 7),
}
"""by its name: size, look, minutes after the demo's moment"""
LOST = "watch-phone-lost"
NAMES = (*SHOTS, LOST)


def main() -> None:
    """Write every picture, where there is a browser."""
    if CHROMIUM is None:
        print("no chromium here: pictures of the page stay as they are")
        return
    with tempfile.TemporaryDirectory() as data, served() as page, browser_page() as browser:
        _, day, moment = demo_day(Path(data))
        for name, (size, look, minutes) in SHOTS.items():
            now = moment.later(minutes * 60)
            found = forecast(day, now, evaluations=400)
            page.show(day, now, advice(day, now, 6, found), found)
            browser.size(size, look)
            browser.open(page.url)
            browser.wait(lambda: "HEAT OFF" in browser.text("#next"))
            (FOLDER / f"{name}.png").write_bytes(browser.picture())
        browser.size("phone")
        page.close()
        browser.wait(lambda: not browser.ask("document.getElementById('lost').hidden"))
        (FOLDER / f"{LOST}.png").write_bytes(browser.picture())


if __name__ == "__main__":
    main()
