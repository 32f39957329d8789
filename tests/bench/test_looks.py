"""The five looks: contrast, what colour-blind eyes keep apart, the 256 colours, and their themes."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.color import Color, ColorSystem
from rich.style import Style

from dyeday.bench.looks.swatches import (
    LETTERS,
    MOST_OFF,
    cell_of,
    colour_word,
    contrast,
    difference,
    in_palette,
    ink_on,
    lab_of,
    mixed,
)
from dyeday.bench.looks.themes import BRIGHT, DARK, LOOKS, NO_COLOUR, ColourDepth, LookStyles, look_of
from dyeday.bench.view.batch_row import Urgency
from tests.bench.driving import Bench, drive

XTERM = {
    "black": "#000000", "red": "#cd0000", "green": "#00cd00", "yellow": "#cdcd00", "blue": "#0000ee",
    "magenta": "#cd00cd", "cyan": "#00cdcd", "white": "#e5e5e5", "bright_black": "#7f7f7f", "bright_red": "#ff0000",
    "bright_green": "#00ff00", "bright_yellow": "#ffff00", "bright_blue": "#5c5cff", "bright_magenta": "#ff00ff",
    "bright_cyan": "#00ffff", "bright_white": "#ffffff",
}  # fmt: skip
"""the sixteen colours as xterm has them by default (XTerm-col.ad); every terminal may have its own"""
COLOURED = [look for look in LOOKS if look is not NO_COLOUR]
STYLES = ("ink", "quiet", "due", "urgent", "alarm", "flag_style")
BY_NAME = {"ids": lambda look: look.name if isinstance(look, LookStyles) else None}
COLOURS = st.builds("#{:02x}{:02x}{:02x}".format, *[st.integers(0, 255)] * 3)


def hexed(colour: str) -> str:
    return colour if colour.startswith("#") else XTERM[colour]


def ink_and_ground(style: str, look: LookStyles) -> tuple[str, str]:
    """Return what a style is written in, and what it stands on."""
    parsed = Style.parse(style)
    ink = parsed.color.name if parsed.color is not None else look.ink
    ground = parsed.bgcolor.name if parsed.bgcolor is not None else look.ground
    return hexed(ink), hexed(ground)


@pytest.mark.parametrize("look", COLOURED, **BY_NAME)  # type: ignore[arg-type]
def test_what_is_glanced_at_has_a_contrast_of_seven_to_one(look: LookStyles) -> None:
    """WCAG 2.2, 1.4.6, wherever a style stands; the formula gives 21:1 for black on white."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    for name in STYLES:
        assert contrast(*ink_and_ground(getattr(look, name), look)) >= 7.0, name
        _, own = ink_and_ground(getattr(look, name), look)
        for ground in (look.band, look.box, look.chosen.removeprefix("on ")):
            if own == hexed(look.ground) and name in ("ink", "due", "urgent"):
                assert contrast(ink_and_ground(getattr(look, name), look)[0], hexed(ground)) >= 4.5, (name, ground)


@pytest.mark.reference
@pytest.mark.filterwarnings("ignore:.*simulation of tritanomaly")
@pytest.mark.parametrize("deficiency", ["Protanomaly", "Deuteranomaly", "Tritanomaly"])
@pytest.mark.parametrize("look", COLOURED, **BY_NAME)  # type: ignore[arg-type]
def test_colour_blind_eyes_keep_every_urgency_apart(look: LookStyles, deficiency: str) -> None:
    """As Machado, Oliveira and Fernandes (2009) simulate it at full severity, by colour-science: ΔE2000 of 10.

    Two styles in one ink differ in their ground or their weight; signs and words stand beside all of them.
    """
    colour = pytest.importorskip("colour")
    numpy = pytest.importorskip("numpy")
    matrix = colour.matrix_cvd_Machado2009(deficiency, 1.0)

    def seen(shade: str) -> object:
        rgb = numpy.array([int(shade[n : n + 2], 16) / 255 for n in (1, 3, 5)])
        linear = colour.cctf_decoding(rgb, function="sRGB")
        shown = colour.cctf_encoding(numpy.clip(matrix @ linear, 0, 1), function="sRGB")
        return colour.XYZ_to_Lab(colour.sRGB_to_XYZ(shown))

    def apart(one: str, other: str) -> bool:
        return bool(colour.delta_E(seen(one), seen(other), method="CIE 2000") >= 10)

    for one, other in combinations(("ink", "due", "urgent", "alarm", "flag_style"), 2):
        first, second = Style.parse(getattr(look, one)), Style.parse(getattr(look, other))
        inks, grounds = zip(ink_and_ground(str(first), look), ink_and_ground(str(second), look), strict=True)
        weight = (first.bold, first.underline) != (second.bold, second.underline)
        assert apart(*inks) or apart(*grounds) or weight, (one, other)


def test_without_colour_urgencies_differ_by_sign_weight_and_reverse() -> None:
    """Nothing that matters is fainter than what stands beside it."""
    signs = [(urgency.sign, urgency.style(NO_COLOUR)) for urgency in Urgency]
    assert signs[: Urgency.ALARM] == [(" ", ""), ("•", "bold"), ("!", "bold reverse")]
    assert len(set(signs)) >= len(Urgency) - 1
    assert NO_COLOUR.alarm == "bold reverse"
    assert not any("dim" in getattr(NO_COLOUR, name) for name in STYLES)


@pytest.mark.reference
@given(COLOURS, COLOURS)
def test_colours_are_compared_as_the_reference_library_compares_them(one: str, other: str) -> None:
    """CIELAB and ΔE*ab of colour-science, D65 and 2°, from sRGB; the white point and matrix in four figures."""
    colour = pytest.importorskip("colour")
    numpy = pytest.importorskip("numpy")
    labs = []
    for shade in (one, other):
        rgb = numpy.array([int(shade[n : n + 2], 16) / 255 for n in (1, 3, 5)])
        labs.append(colour.XYZ_to_Lab(colour.sRGB_to_XYZ(rgb)))
        assert lab_of(shade) == pytest.approx(tuple(labs[-1]), abs=0.1)
    assert difference(one, other) == pytest.approx(float(colour.delta_E(*labs, method="CIE 1976")), abs=0.15)


@given(COLOURS)
def test_a_swatch_in_256_colours_is_the_nearest_and_named_where_it_is_another(shade: str) -> None:
    """No entry of the palette is nearer, and the terminal gets the entry that was chosen."""
    shown, off = in_palette(shade)
    assert off == pytest.approx(difference(shade, shown))
    for number in range(16, 256, 7):
        entry = Color.from_ansi(number).get_truecolor().hex
        sent = Color.parse(entry).downgrade(ColorSystem.EIGHT_BIT).number
        assert sent != number or difference(shade, entry) >= off - 1e-9
    sent_as = Color.parse(shown).downgrade(ColorSystem.EIGHT_BIT).number
    assert sent_as is not None and Color.from_ansi(sent_as).get_truecolor().hex == shown
    sign, style = cell_of(shade, ColourDepth.PALETTE)
    assert sign == (LETTERS[colour_word(shade)] if off > MOST_OFF else " ")
    assert style.endswith(f"on {shown}")


def test_navy_stays_blue_and_brown_says_that_it_is_brown() -> None:
    """By numbers alone navy was sent as teal, and brown as red."""
    assert colour_word(in_palette("#000080")[0]) == "blue"
    assert cell_of("#8b4513", ColourDepth.PALETTE)[0] == LETTERS["brown"]


@given(COLOURS)
def test_what_is_written_on_a_swatch_reads(shade: str) -> None:
    """Black or white always has 4.5:1 (WCAG 2.2, 1.4.3)."""
    assert contrast(ink_on(shade), shade) >= 4.5
    assert mixed(shade, "#ffffff", 0.0) == shade
    assert mixed(shade, "#123456", 1.0) == "#123456"


def test_dark_and_bright_are_of_the_256_colours() -> None:
    """So that a terminal with no more shows them as they were measured: a grey at most one step off."""
    for look in (DARK, BRIGHT):
        for name in ("ground", *STYLES, "band", "box", "present"):
            for word in getattr(look, name).split():
                if word.startswith("#"):
                    number = Color.parse(word).downgrade(ColorSystem.EIGHT_BIT).number
                    assert number is not None
                    sent = Color.from_ansi(number).get_truecolor().hex
                    assert sent == word or difference(sent, word) < 4, (look.name, name)


def test_each_terminal_has_its_looks_and_t_goes_round_them(tmp_path: Path) -> None:
    """Dark and bright in full, in 256 and in sixteen colours; one look without colour. Each is a theme of Textual."""

    async def script(bench: Bench) -> None:
        assert {look.name for look in LOOKS} <= set(bench.app.available_themes)
        for colours in ColourDepth:
            bench.app.show_colours(colours)
            seen = []
            for _press in range(2):
                await bench.press("t")
                assert bench.app.theme == bench.app.look.name
                seen.append(bench.app.look)
            assert seen == [look_of(colours, look_of(colours)), look_of(colours)]
        assert bench.app.look is NO_COLOUR

    drive(tmp_path, script)
