"""Words people use for those of plans and commands: by meaning, not by spelling."""

from __future__ import annotations

from collections.abc import Collection

_MEANT = {
    "item": ("name", "title", "customer", "for"),
    "name": ("title", "label", "item", "called"),
    "skeins": ("quantity", "qty", "count", "number", "amount", "pieces", "how_many"),
    "units": ("quantity", "qty", "count", "number", "how_many"),
    "colourway": ("color", "colour", "colorway", "recipe", "colours", "colors"),
    "sections": ("colors", "colours", "parts", "stripes"),
    "swatch": ("color", "colour", "hex", "rgb"),
    "dyes": ("dye", "colors", "colours"),
    "share": ("percent", "part", "pct"),
    "fix": ("heat", "heats", "heating", "steam", "set", "heat_set", "steaming", "simmer", "microwave"),
    "how": ("method", "technique", "style", "way"),
    "base": ("yarn", "wool"),
    "fibre": ("fiber", "content", "composition", "blend", "material", "yarn"),
    "skein": ("hank", "weight", "grams", "mass", "size"),
    "length": ("yardage", "meterage", "metres", "meters", "yards"),
    "holds": ("capacity", "size", "fits", "room"),
    "kind": ("type", "sort", "what"),
    "kit": ("equipment", "tools", "gear"),
    "power": ("watts", "wattage"),
    "tank": ("reservoir", "volume"),
    "warm_up": ("preheat", "heat_up", "warmup"),
    "stop": ("end", "finish", "until", "to"),
    "start": ("begin", "from", "begins"),
    "breaks": ("lunch", "pause", "pauses"),
    "due": ("deadline", "by", "wanted"),
    "alkalinity": ("kh", "dkh", "carbonate_hardness", "ta"),
    "hardness": ("gh", "dh", "dgh", "total_hardness"),
    "solution": ("strength", "stock", "concentration"),
    "strength": ("concentration", "percent"),
    "pot": ("stockpot", "stock pot", "dyepot", "dye pot", "slow cooker", "crock", "crock pot", "crockpot", "urn",
            "kettle", "jam kettle", "jam pan", "pan", "saucepan", "boiler", "tea urn", "hob", "stove", "roaster",
            "electric roaster", "rice cooker"),
    "steamer": ("vegetable steamer", "bamboo steamer", "steam pot", "steam box"),
    "pegs": ("rack", "drying rack", "line", "washing line", "clothes line", "airer", "clothes horse", "hangers",
             "hooks"),
    "tray": ("tub", "basin", "bucket", "bowl", "bath", "soaking tub", "roasting tin", "pan for soaking",
             "dishpan", "washing up bowl"),
    "spinner": ("spin dryer", "salad spinner", "washing machine", "centrifuge"),
    "microwave": ("microwave oven",),
    "sink": ("tap", "wash basin"),
    "nylon": ("polyamid",),
    "vinegar": ("white vinegar", "spirit vinegar", "distilled vinegar", "acetic acid", "vinegar essence", "essence"),
    "citric": ("citric acid", "citric acid powder"),
    "strip": ("paper", "ph paper", "ph strip", "test strip", "indicator strip"),
    "meter": ("ph meter", "pen", "probe"),
    "mini": ("mini skein",),
    "blank": ("sock blank", "knitted blank"),
    "painted": ("hand painted", "handpainted", "paint"),
    "speckled": ("speckle", "sprinkled", "powder"),
    "immersed": ("kettle dyed", "immersion", "dip", "dipped", "dip dyed", "pot dyed", "glaze", "glazed"),
    "order": ("orders",),
    "soak": ("soaking", "presoak", "wet"),
    "paint": ("dye", "dyeing", "painting", "speckle"),
    "cool": ("cooling",),
    "rinse": ("wash", "washing", "rinsing"),
    "dry": ("hang", "drying"),
    "done": ("finished", "finish", "complete"),
    "set-aside": ("aside", "hold", "set aside"),
    "scrapped": ("scrap", "felted", "ruined"),
}  # fmt: skip


def meant(word: str, known: Collection[str]) -> str | None:
    """Return the known word that ``word`` is another word for, None where there is none."""
    said = " ".join(word[:80].casefold().replace("-", " ").split())
    forms = {said, said.replace(" ", "_"), said.replace("_", " "), said.removesuffix("s")}
    return next((right for right, others in _MEANT.items() if right in known and forms & set(others)), None)
