"""Usual things to begin from, under the names people know them by, and a palette of named colours.

Figures are common practice, no source; each is there to be changed. What must be measured is left out.
"""

from __future__ import annotations

from collections.abc import Mapping

Typed = Mapping[str, str]
KIT: tuple[tuple[str, Typed], ...] = (
    ("soaking trays", {"name": "tray", "kind": "tray", "units": "2", "holds": "4"}),
    ("stockpot on a hob", {"name": "pot", "kind": "pot", "holds": "400 g", "warm_up": "30"}),
    ("slow cooker", {"name": "slow cooker", "kind": "pot", "holds": "200 g", "power": "250", "warm_up": "90"}),
    ("urn or jam kettle", {"name": "urn", "kind": "pot", "holds": "600 g", "power": "1800"}),
    ("steamer", {"name": "steamer", "kind": "steamer", "holds": "4", "power": "1500"}),
    ("microwave", {"name": "microwave", "kind": "microwave", "holds": "2", "power": "1300"}),
    ("spin dryer", {"name": "spinner", "kind": "spinner", "holds": "6"}),
    ("sink", {"name": "sink", "kind": "sink"}),
    ("drying rack or line", {"name": "rack", "kind": "pegs", "holds": "20"}),
)
BASES: tuple[tuple[str, Typed], ...] = (
    ("sock yarn, 75 superwash merino, 25 nylon", {"name": "Sock", "fibre": "75 superwash merino, 25 nylon"}),
    ("superwash merino", {"name": "Merino", "fibre": "100 superwash merino"}),
    ("merino, not superwash", {"name": "Soft Merino", "fibre": "100 merino"}),
    ("bluefaced leicester", {"name": "Leicester", "fibre": "100 bluefaced leicester"}),
    ("merino and silk", {"name": "Silk Blend", "fibre": "50 merino, 50 silk"}),
    ("kid mohair and silk lace", {"name": "Mohair Lace", "fibre": "72 kid mohair, 28 silk", "skein": "50"}),
    ("alpaca", {"name": "Alpaca", "fibre": "100 alpaca"}),
    ("sock mini of 20 g", {"name": "Mini", "fibre": "75 superwash merino, 25 nylon", "skein": "20", "form": "mini"}),
)
USUAL: Mapping[str, tuple[tuple[str, Typed], ...]] = {"kit": KIT, "bases": BASES}
"""by the library's field"""

COLOURWAYS: tuple[tuple[str, Typed], ...] = (
    ("painted and steamed", {"layers": "1", "1.sections": "1", "1.how": "painted", "1.fix": "steam 45 min"}),
    ("immersed in a pot", {"layers": "1", "1.sections": "1", "1.how": "immersed", "1.fix": "simmer 45 min"}),
    ("speckled and steamed",
     {"layers": "1", "1.sections": "1", "1.how": "speckled", "1.powder": "0.15 g", "1.fix": "steam 45 min"}),
    ("painted, then glazed in a pot",
     {"layers": "2", "1.sections": "1", "1.how": "painted", "1.fix": "steam 45 min",
      "2.sections": "1", "2.how": "immersed", "2.fix": "simmer 30 min"}),
)  # fmt: skip
HEATS = ("steam 45 min", "steam 40 min", "simmer 30 min", "simmer 45 min",
         "microwave 2 min, rest 2 min, microwave 2 min")  # fmt: skip

PALETTE = {
    "cream": "#efe6cf", "lemon": "#f2de6b", "gold": "#d9a521", "ochre": "#b9812b", "peach": "#f0b48c",
    "orange": "#e07b2a", "rust": "#a64b22", "brown": "#6b4429", "peat": "#3d2b20", "pink": "#e7a0b4",
    "rose": "#c75c7c", "red": "#b8252c", "berry": "#84203f", "plum": "#5b2a4f", "violet": "#6d4aa0",
    "lilac": "#b49ad0", "navy": "#1f2f58", "blue": "#2d5fa8", "sky": "#8fbbe0", "slate": "#53687a",
    "teal": "#1f7a7a", "sea": "#6fb3a8", "mint": "#a9d6bd", "green": "#3c7f45", "moss": "#75813c",
    "olive": "#5c5a2a", "lime": "#a5bf3e", "silver": "#b8bcc0", "grey": "#7b7f84", "black": "#1c1c1f",
}  # fmt: skip
