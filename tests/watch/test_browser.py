"""The page in a real browser: what it shows, how it counts, and what it says when it hears nothing.

``skip`` moves both clocks of the browser, as minutes that pass; ``sleep`` only that of the wall, as a device that
sleeps, whose monotonic clock may stand still meanwhile (High Resolution Time, W3C, leaves that to the browser).
"""

from __future__ import annotations

import re
import urllib.parse
from collections.abc import Iterator
from pathlib import Path

import pytest

from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment
from dyeday.watch.serving import ServedPage
from tests.paper.browser import CHROMIUM
from tests.watch.chromium import Page, browser_page
from tests.watch.served import SECRET, demo_day, served, show

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no browser here")

SET_CLOCKS = """
window.skipped = 0; window.slept = 0;
const perf = performance.now.bind(performance), wall = Date.now;
performance.now = () => perf() + window.skipped;
Date.now = () => wall() + window.skipped + window.slept;
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Page]:
    with browser_page() as page:
        page.call("Page.addScriptToEvaluateOnNewDocument", source=SET_CLOCKS)
        page.call("Network.enable")
        yield page


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Day, Moment]:
    _, day, now = demo_day(tmp_path_factory.mktemp("demo"))
    return day, now


@pytest.fixture
def page(demo: tuple[Day, Moment]) -> Iterator[ServedPage]:
    with served() as one:
        show(one, *demo)
        yield one


@pytest.fixture
def shown(browser: Page, page: ServedPage) -> Iterator[Page]:
    browser.size("phone")
    browser.open(page.url)
    browser.wait(lambda: "HEAT OFF" in browser.text("#next"))
    yield browser
    offline(browser, False)


def offline(browser: Page, is_off: bool) -> None:
    browser.call(
        "Network.emulateNetworkConditions", offline=is_off, latency=0, downloadThroughput=-1, uploadThroughput=-1
    )


def is_lost(browser: Page) -> bool:
    browser.ask("draw()")
    return not browser.ask("document.getElementById('lost').hidden")


def unreachable(browser: Page) -> None:
    """Cut it off, and let the question under way fail."""
    offline(browser, True)
    browser.wait(lambda: "bench is off" in str(browser.ask("why")))


@pytest.mark.parametrize("size", ["phone", "tablet"])
@pytest.mark.parametrize("look", ["light", "dark"])
def test_it_tells_what_is_next_without_scrolling_and_fits_its_screen(shown: Page, size: str, look: str) -> None:
    shown.size(size, look)
    bottom = shown.ask("document.querySelector('#after').getBoundingClientRect().bottom")
    width, height = shown.ask("[innerWidth, innerHeight]")
    assert bottom < height
    assert shown.ask("document.documentElement.scrollWidth") <= width
    assert " ".join(shown.text("#next").split()) == "! 06 HEAT OFF steamer 2 · Bonfire Ash 9min over"
    assert "Never leave heat unattended" in shown.text(".care")
    digits = shown.ask("document.querySelector('.digits').getBoundingClientRect().height")
    assert digits > 90
    # WCAG 2, 1.4.6: 7:1 between what is glanced at and its ground, by the contrast of its 1.4.3.
    for selector in ("#next .about", "#next .digits", "#after p", "#clocks td", "footer"):
        assert contrast(shown, selector) >= 7


def contrast(browser: Page, selector: str) -> float:
    """Return the contrast of a text to the page's ground: (L1 + 0.05) / (L2 + 0.05), luminance as in WCAG 2."""

    def luminance(said: str) -> float:
        parts = [int(part) / 255 for part in said.removeprefix("rgb(").removesuffix(")").split(", ")]
        r, g, b = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    one = browser.ask(f"getComputedStyle(document.querySelector('{selector}')).color")
    other = browser.ask("getComputedStyle(document.body).backgroundColor")
    low, high = sorted((luminance(str(one)), luminance(str(other))))
    return (high + 0.05) / (low + 0.05)


def test_it_helps_and_is_not_a_safety_device(shown: Page) -> None:
    said = " ".join(shown.text("footer").split())
    assert "is not a safety device. Never leave heat unattended" in said
    assert "Others on this network could listen in" in said
    assert "a locked phone stays silent" in said.lower()


def test_what_is_recorded_comes_by_itself(shown: Page, page: ServedPage, demo: tuple[Day, Moment]) -> None:
    day, now = demo
    show(page, day, now.later(60))
    shown.wait(lambda: "10" in shown.text("#next .digits"))
    assert not is_lost(shown)


def test_an_alarm_shows_and_sounds_and_shakes_after_one_tap(
    shown: Page, page: ServedPage, demo: tuple[Day, Moment]
) -> None:
    """Browsers let no page sound before it was touched; after that each new sound is one."""
    day, now = demo
    show(page, day, now.later(7 * 60))
    shown.wait(lambda: "so far" in shown.text("#alarms"))
    assert "06" in shown.text("#alarms")
    assert shown.ask("window.heardTones") == []
    shown.tap("#tap")
    shown.wait(lambda: len(shown.ask("window.heardTones")) == 3)
    assert {state for _, state in shown.ask("window.heardTones")} <= {"running", "suspended"}
    assert len(shown.ask("window.shaken")) == 1
    show(page, day, now.later(12 * 60))
    shown.wait(lambda: len(shown.ask("window.heardTones")) >= 6)
    assert shown.ask("audio.state") == "running"


def test_after_ten_seconds_without_a_word_it_says_so_louder_than_anything_else(shown: Page) -> None:
    """It stands on top, larger than all else, with its sound; every time on the page is struck through."""
    shown.tap("#tap")
    unreachable(shown)
    shown.ask("window.skipped += 5000 - (performance.now() - heardAt)")
    assert not is_lost(shown)
    before = len(shown.ask("window.heardTones"))
    shown.ask("window.skipped += 10000 - (performance.now() - heardAt)")
    assert is_lost(shown)
    assert "NO WORD FROM THE BENCH" in shown.text("#lost")
    assert "Nothing heard for 10 s" in shown.text("#lost")
    top, height, whole = shown.ask(
        "(() => { const b = document.getElementById('lost').getBoundingClientRect();"
        " return [b.top, b.height, innerHeight]; })()"
    )
    assert top <= 0 < whole / 2 < height
    assert (
        shown.ask("getComputedStyle(document.querySelector('#clocks td:last-child')).textDecorationLine")
        == "line-through"
    )
    assert len(shown.ask("window.heardTones")) == before + 6
    shown.ask("window.skipped += 10000")
    is_lost(shown)
    assert len(shown.ask("window.heardTones")) == before + 12


def test_it_finds_back_by_itself_when_the_server_does(browser: Page, demo: tuple[Day, Moment]) -> None:
    """The server ends, and one with the same address and secret begins: no hand touches the page."""
    day, now = demo
    with served() as first:
        show(first, day, now)
        browser.size("phone")
        browser.open(first.url)
        browser.wait(lambda: "HEAT OFF" in browser.text("#next"))
        port = urllib.parse.urlsplit(first.url).port or 0
    browser.wait(lambda: "bench is off" in str(browser.ask("why")))
    browser.ask("window.skipped += 10000")
    assert is_lost(browser)
    with served(port) as second:
        show(second, day, now.later(60))
        browser.wait(lambda: not is_lost(browser))
        assert "10" in browser.text("#next .digits")


def test_a_bench_that_stands_still_behind_its_server_is_not_taken_for_one_that_works(
    browser: Page, demo: tuple[Day, Moment]
) -> None:
    with served() as page:
        behind_s = [0.0]
        page.values._monotonic = lambda: behind_s[0]
        show(page, *demo)
        behind_s[0] = 11.0
        browser.open(page.url)
        browser.wait(lambda: is_lost(browser) and "HEAT OFF" in browser.text("#next"))
        assert "the bench behind it does not answer" in browser.text("#lost")


def test_a_device_that_slept_shows_no_old_time_as_a_true_one(shown: Page) -> None:
    """Before the first question after waking is answered, and whatever the monotonic clock did meanwhile."""
    unreachable(shown)
    assert not is_lost(shown)
    shown.ask("window.slept += 1800000")
    assert is_lost(shown)
    assert "This device slept" in shown.text("#lost")
    offline(shown, False)
    shown.wait(lambda: not is_lost(shown))


def test_thirty_minutes_on_its_own_each_clock_is_right_within_a_second(shown: Page, demo: tuple[Day, Moment]) -> None:
    """From the instants it was given once; what they are against is the day itself half an hour later."""
    from dyeday.track.timers.timers import all_timers

    day, now = demo
    unreachable(shown)
    shown.ask("window.skipped += 1800000 - (serverNow() - latest.now_ms + latest.age_s * 1000)")
    left_s = {
        f"{timer.batch or timer.unit}/{timer.kind.value}": (timer.due_at(now) or now.utc).timestamp()
        - now.later(1800).utc.timestamp()
        for timer in all_timers(day, now)
        if timer.left_s is not None
    }
    found = shown.ask(
        "(draw(), [...document.querySelectorAll('[data-clock]')].map((e) => [e.dataset.clock, e.textContent]))"
    )
    assert len(found) == len(left_s) > 5
    for name, said in found:
        off_s = abs(left_s[name]) - seconds(said)
        assert -1 <= off_s <= (60 if " h" in said else 1), (name, said, left_s[name])


def seconds(said: str) -> float:
    """Return "2 min 03 s left" or "1 h 02 left" as seconds."""
    figures = re.findall(r"\d+", said)
    of_s = [3600, 60] if " h" in said else [60, 1][-len(figures) :]
    return sum(int(figure) * unit_s for figure, unit_s in zip(figures, of_s, strict=True))


def test_a_page_that_ends_says_why_and_is_not_shown_as_lost(shown: Page, page: ServedPage) -> None:
    page.end("the day is closed")
    shown.wait(lambda: "the day is closed" in shown.text("#ended"))
    shown.ask("window.skipped += 60000")
    assert not is_lost(shown)


def test_an_address_of_yesterday_says_to_scan_the_new_code(shown: Page, page: ServedPage) -> None:
    port = urllib.parse.urlsplit(page.url).port or 0
    page.close()
    fresh = ServedPage(port=port)
    try:
        assert SECRET not in fresh.url
        shown.wait(lambda: "scan the new code" in str(shown.ask("why")))
        shown.ask("window.skipped += 10000")
        assert is_lost(shown)
    finally:
        fresh.close()


def test_a_name_is_text_on_the_page_and_never_markup(browser: Page, demo: tuple[Day, Moment]) -> None:
    with served() as page:
        show(page, *demo)
        value = dict(page.values._value or {})
        value["next"] = [{**value["next"][0], "colourway": "<img src=x onerror='window.hurt = 1'>"}]
        page.values.put(value)
        browser.open(page.url)
        browser.wait(lambda: "<img" in browser.text("#next"))
        assert browser.ask("document.querySelectorAll('img').length") == 0
        assert browser.ask("window.hurt") is None


def test_the_policy_keeps_a_script_out_that_was_smuggled_in(shown: Page) -> None:
    """The header itself, in the browser it is for: nothing inline runs, nothing is sent elsewhere."""
    shown.ask(
        "(() => { const s = document.createElement('script'); s.textContent = 'window.hurt = 1';"
        " document.body.append(s); window.sent = 'not yet';"
        " fetch('http://127.0.0.1:9/x').then(() => { window.sent = 'yes'; }, () => { window.sent = 'no'; }); })()"
    )
    shown.wait(lambda: shown.ask("window.sent") != "not yet")
    assert shown.ask("window.hurt") is None
    assert shown.ask("window.sent") == "no"
    assert shown.ask("document.cookie") == ""
    assert shown.ask("document.referrer") == ""


def test_pictures_are_kept_of_the_page(tmp_path: Path) -> None:
    """Phone and tablet, light and dark; `python -m tests.screenshots` makes them."""
    from tests.fakes import ROOT
    from tests.watch.pictures import NAMES

    assert all((ROOT / "screenshots" / f"{name}.png").read_bytes()[:4] == b"\x89PNG" for name in NAMES)
