"""The colours of the bench, dark and bright, from the Okabe-Ito set that colour-blind eyes tell apart.

What is glanced at has a contrast of 7:1 or more against its ground (WCAG 2, 1.4.6). A word or a sign always stands
beside a colour.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Look:
    """Styles of one theme. ``ground`` and ``ink`` are what the rest stands on and is written in.

    ``band`` is the ground of the first and the last line, ``strip`` of messages and questions, ``box`` of a field.
    """

    name: str
    ground: str
    ink: str
    due: str
    alarm: str
    urgent: str
    doubt: str
    quiet: str
    band: str
    strip: str
    box: str


DARK = Look(
    name="dark",
    ground="#000000",
    ink="#f2f2f2",
    due="bold #f0e442",
    alarm="bold #000000 on #e69f00",
    urgent="bold #e69f00",
    doubt="#e69f00",
    quiet="#b8b8b8",
    band="#303030",
    strip="#1c1c1c",
    box="#3a3a3a",
)
BRIGHT = Look(
    name="bright",
    ground="#ffffff",
    ink="#000000",
    due="bold #00446b",
    alarm="bold #ffffff on #7a2f00",
    urgent="bold #7a2f00",
    doubt="#7a2f00",
    quiet="#4a4a4a",
    band="#e0e0e0",
    strip="#f0f0f0",
    box="#ffffff",
)
