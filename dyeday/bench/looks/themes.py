"""The five looks, each made by hand: dark and bright, both again in a terminal's sixteen colours, and none.

What is glanced at has a contrast of 7:1 or more (WCAG 2, 1.4.6). A word or a sign accompanies every colour; without
colour, reverse, bold and underline say the same.
"""

from __future__ import annotations

from enum import Enum

from dyeday.quick_dataclass import dataclass


class ColourDepth(Enum):
    """How many colours a terminal shows."""

    ALL = "truecolor"
    PALETTE = "256"
    SIXTEEN = "standard"
    NONE = "none"

    @classmethod
    def of_terminal(cls, colour_system: str | None) -> ColourDepth:
        """Return what a terminal shows, from Rich's name for its colour system; None for one without colour."""
        return {"truecolor": cls.ALL, "256": cls.PALETTE, None: cls.NONE}.get(colour_system, cls.SIXTEEN)


@dataclass(frozen=True, slots=True)
class LookStyles:
    """Styles of one look. ``ground`` and ``ink`` are what the rest stands on and is written in.

    Grounds are ``band`` for the first and last line, messages and questions, ``box`` for a field, and ``present`` for
    the column of now along a line of time, a line where it is "".
    """

    name: str
    ground: str
    ink: str
    due: str
    """ready: its time has come, and waiting harms nothing"""
    urgent: str
    """over: past its time, and waiting does harm"""
    alarm: str
    flag_style: str
    quiet: str
    """secondary text"""
    chosen: str
    """the chosen line, beside the sign in front of it"""
    band: str
    box: str
    present: str
    is_dark: bool = True

    @property
    def variables(self) -> dict[str, str]:
        """Return the colours that the style sheet has names for: its own, and those of Textual's widgets."""
        named = {"ground": self.ground, "ink": self.ink, "band": self.band, "box": self.box}
        variables = {name: css_colour(colour) for name, colour in named.items()}
        ground, ink = variables["ground"], variables["ink"]
        plain = self.ground == "default"
        marked = ground if plain else css_colour(self.chosen.removeprefix("on "))
        return variables | {
            "bar": ink if plain else css_colour(self.quiet),
            "rule": ink if plain else css_colour(self.due.removeprefix("bold ")),
            # What Textual's own widgets call a chosen line, a cursor and their grounds.
            "ansi-background": ground,
            "ansi-foreground": ink,
            "block-cursor-background": marked,
            "block-cursor-foreground": ink,
            "block-cursor-text-style": "underline" if plain else "bold",
            "input-cursor-background": ink,
            "input-cursor-foreground": ground,
            "input-cursor-text-style": "reverse" if plain else "none",
        }


def css_colour(colour: str) -> str:
    """Return a colour of Rich as the style sheet calls it: "#303030", or "ansi_blue" for "blue"."""
    return colour if colour.startswith("#") else f"ansi_{colour}"


# Every colour of these two is one of the 256 of a palette, so that a terminal with no more shows the same.
DARK = LookStyles(
    name="dark", ground="#000000", ink="#eeeeee", due="#5fd7ff", urgent="bold #ffaf00",
    alarm="bold #000000 on #ffaf00", flag_style="#ffd7af", quiet="#b2b2b2", chosen="on #00005f", band="#1c1c1c",
    box="#3a3a3a", present="#3a3a3a",
)  # fmt: skip
BRIGHT = LookStyles(
    name="bright", ground="#ffffff", ink="#000000", due="#0000af", urgent="bold #870000",
    alarm="bold #ffffff on #870000", flag_style="#5f005f", quiet="#3a3a3a", chosen="on #d7ffff", band="#eeeeee",
    box="#d7d7ff", present="#dadada", is_dark=False,
)  # fmt: skip
DARK_16 = LookStyles(
    name="dark in sixteen colours", ground="black", ink="bright_white", due="bold bright_cyan",
    urgent="bold bright_yellow", alarm="bold black on bright_yellow", flag_style="underline bright_white",
    quiet="white", chosen="on blue", band="black", box="blue", present="blue",
)  # fmt: skip
BRIGHT_16 = LookStyles(
    name="bright in sixteen colours", ground="bright_white", ink="black", due="blue",
    urgent="bold black on bright_yellow", alarm="bold bright_white on black", flag_style="underline black",
    quiet="black", chosen="on bright_cyan", band="bright_white", box="white", present="white", is_dark=False,
)  # fmt: skip
NO_COLOUR = LookStyles(
    name="no colour", ground="default", ink="default", due="bold", urgent="bold reverse", alarm="bold reverse",
    flag_style="underline", quiet="", chosen="underline", band="default", box="default", present="",
)  # fmt: skip
LOOKS = (DARK, BRIGHT, DARK_16, BRIGHT_16, NO_COLOUR)
_BESIDE = {
    ColourDepth.ALL: (DARK, BRIGHT),
    ColourDepth.PALETTE: (DARK, BRIGHT),
    ColourDepth.SIXTEEN: (DARK_16, BRIGHT_16),
    ColourDepth.NONE: (NO_COLOUR,),
}
"""the looks that a terminal can show, the first one at the start"""


def look_of(colours: ColourDepth, before: LookStyles | None = None) -> LookStyles:
    """Return the look that follows ``before`` on a terminal that shows ``colours``; the first one for None."""
    own = _BESIDE[colours]
    return own[(own.index(before) + 1) % len(own)] if before in own else own[0]
