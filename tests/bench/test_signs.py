"""Without colour, in sixteen colours, in a locale of ASCII only, and at the foot of every screen."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from dyeday.ahead.forecast import forecast
from dyeday.bench.looks.ascii_signs import knows_ascii_only, plain
from dyeday.bench.looks.swatches import LETTERS, colour_word, colour_words
from dyeday.bench.looks.themes import ColourDepth
from dyeday.bench.widgets.one_line import Foot
from dyeday.paper import help_pages
from tests.bench.driving import Bench, drive
from tests.fakes import HEAVY_DAY, SHORT_DAY


@given(st.text())
def test_whatever_is_written_is_ascii_and_as_wide_as_before(text: str) -> None:
    """No column moves because a sign is missing."""
    shown = "".join(char for char in text if char.isprintable())
    assert plain(shown).isascii()
    assert cell_len(plain(shown)) == cell_len(shown)


def test_letters_keep_their_sense_without_their_accents() -> None:
    """é is e, blocks are blocks, and what has no like is a question mark."""
    assert plain("Café °C █▀▄ … 染") == "Cafe 'C #'. . ??"


@pytest.mark.parametrize(
    ("environment", "dumb"),
    [
        ({"LANG": "C"}, True),
        ({"LANG": "C", "LC_CTYPE": "C.UTF-8"}, True),
        ({"LC_ALL": "POSIX", "LANG": "de_DE.UTF-8"}, True),
        ({"LANG": "fr_FR.ISO8859-1"}, True),
        ({"LANG": "en_GB.UTF-8"}, False),
        ({"LANG": "C.utf8"}, False),
        ({"LC_ALL": "", "LC_CTYPE": "de_DE.UTF-8", "LANG": "C"}, False),
        ({}, False),
    ],
)
def test_the_locale_says_whether_more_than_ascii_may_be_written(environment: dict[str, str], dumb: bool) -> None:
    """LC_ALL before LC_CTYPE before LANG, as POSIX has it; what Python puts there itself is not counted (PEP 538)."""
    assert knows_ascii_only(environment) is dumb


def test_every_screen_is_ascii_where_the_locale_knows_no_more(tmp_path: Path) -> None:
    """Rows, far view, questions, pages: nothing but ASCII, and the same words."""

    async def script(bench: Bench) -> None:
        bench.app.outlook.forecast = forecast(bench.app.live.day, bench.clock(), evaluations=20)
        await bench.press("m", "1")
        await bench.on(1)
        screens = [bench.screen]
        assert "19 min left" in bench.row("01")
        for opens, closes in (("v", "v"), ("y", "escape"), ("p", "escape"), ("f", "escape"), ("c", "escape"),
                              ("question_mark", "escape"), ("space", "escape"), ("r", "escape")):  # fmt: skip
            await bench.press(opens)
            screens.append(bench.screen)
            await bench.press(closes)
        assert all(screen.isascii() for screen in screens)
        assert "#" in screens[1]

    drive(tmp_path, script, ascii_only=True, text=SHORT_DAY.read_text(encoding="utf-8").replace("Kelp", "Kélp"))


@pytest.mark.parametrize(
    ("swatch", "word"),
    [
        ("#000000", "black"), ("#ffffff", "white"), ("#808080", "grey"), ("#ff0000", "red"), ("#ffa500", "orange"),
        ("#8b4513", "brown"), ("#ffff00", "yellow"), ("#008000", "green"), ("#008080", "teal"), ("#0000ff", "blue"),
        ("#8a2be2", "violet"), ("#ff69b4", "pink"), ("#8b008b", "violet"), ("#f5f5dc", "cream"),
    ],
)  # fmt: skip
def test_a_colour_is_called_as_the_web_calls_it(swatch: str, word: str) -> None:
    """CSS Color Module Level 4, 6.1: saddlebrown, blueviolet, hotpink, darkmagenta; beige is cream here."""
    assert colour_word(swatch) == word


def test_every_colour_has_a_name_and_every_name_a_letter_of_its_own() -> None:
    """A coarse grid through all of them."""
    steps = range(0, 256, 51)
    words = {colour_word(f"#{r:02x}{g:02x}{b:02x}") for r in steps for g in steps for b in steps}
    assert words == set(LETTERS)
    assert len(set(LETTERS.values())) == len(LETTERS)
    explained = dict(help_pages.WORDS)["colour letters"]
    assert all(f" {letter} {word}" in explained for word, letter in LETTERS.items())
    assert colour_words(("#ffff00", "#0000ff", "#ffff00")) == "yellow, blue"


@pytest.mark.parametrize("how", ["sixteen colours", "NO_COLOR"])
def test_a_swatch_is_named_where_it_cannot_be_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: str
) -> None:
    """A letter for each section on the row, words on the batch's own page."""
    if how == "NO_COLOR":
        monkeypatch.setenv("NO_COLOR", "1")

    async def script(bench: Bench) -> None:
        before = bench.row("01")
        if how == "sixteen colours":
            bench.app.show_colours(ColourDepth.SIXTEEN)
            bench.app.bench.paint()
            await bench.settle()
            assert bench.row("01") != before
        section = bench.app.live.day.batches["01"].colourway.layers[0].sections[0]
        letter = LETTERS[colour_word(str(section.swatch))]
        assert f" {letter}" in bench.row("01")[:20]
        await bench.press("f")
        assert f"colours: {colour_word(str(section.swatch))}" in bench.screen

    drive(tmp_path, script, plan=HEAVY_DAY)


SCREENS = ("f", "d", "y", "p", "c", "question_mark", "l", "v", "g", "ctrl+p", "space", "r", "m", "e", "k", "u", "w",
           "n", "b", "i", "o", "z", "x", "q")  # fmt: skip


@pytest.mark.parametrize("opens", SCREENS)
def test_the_keys_at_the_foot_of_a_screen_are_six_at_most_and_none_is_clipped(tmp_path: Path, opens: str) -> None:
    """At 80 columns, on every screen a key opens."""

    async def script(bench: Bench) -> None:
        bench.app.outlook.forecast = forecast(bench.app.live.day, bench.clock(), evaluations=20)
        await bench.press("m", "2", opens)
        assert bench.app.screen is not bench.app.bench
        assert all(len(line) <= 80 for line in bench.screen.split("\n"))
        for foot in bench.app.screen.query(Foot):
            assert len(foot.keys) <= 6
            last = bench.screen.split("\n")[-1]
            assert all(f"[{key}] {word}".replace("escape", "esc") in last for key, word in foot.keys)
            assert foot.keys[-1][0] == "escape"

    drive(tmp_path, script)


def test_every_screen_lives_through_a_terminal_of_ten_columns_and_three_rows(tmp_path: Path) -> None:
    """A window is drawn small and large again under pages, lists and questions; each is there as before."""

    async def script(bench: Bench) -> None:
        bench.app.outlook.forecast = forecast(bench.app.live.day, bench.clock(), evaluations=20)
        await bench.press("m", "2")
        for opens in ("f", "y", "p", "l", "v", "ctrl+p", "space", "m", "n"):
            await bench.press(opens)
            screen, before = bench.app.screen, bench.screen
            await bench.resize(10, 3)
            bench.app.tick()
            await bench.settle()
            assert all(len(line) <= 10 for line in bench.screen.split("\n")), opens
            await bench.resize(80, 24)
            assert bench.app.screen is screen
            assert bench.screen.split("\n")[0] == before.split("\n")[0]
            await bench.press("escape")

    drive(tmp_path, script)


def test_the_banner_of_an_alarm_stands_on_its_colour(tmp_path: Path) -> None:
    """What is glanced at looks as the look has it, not only says so."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        await bench.on(56)
        lines = bench.app.screen._compositor.render_strips(bench.app.screen.size)
        styles = {
            segment.text.strip()[:10]: segment.style for line in lines for segment in line if segment.text.strip()
        }
        banner = next(style for text, style in styles.items() if text.startswith("▌! 04 stea"))
        assert banner is not None
        assert banner.bgcolor is not None
        assert banner.bgcolor.get_truecolor().hex == bench.app.look.alarm.split(" on ")[1]

    drive(tmp_path, script)
