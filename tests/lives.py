"""Lives of a day: plans with any names, and what happens in them, for a test that lives them through the commands."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

AWKWARD_CHORES = True
"""whether chores take the names of a schedule's steps, `LIKE_STEPS`, or end in a number"""
SHARED_NAMES = True
"""whether orders share a name and tags are as long as an event reads them"""
LIKE_STEPS = (
    "run a bath", "unload kiln", "load the van", "load", "unload", "rest", "wait 1.2", "paint 1", "soak", "rinse",
    "fill", "heat", "off", "cool", "dry", "put in 1.1", "paint 1 ", "chore", "fill steamer 1", "pass 1",
)  # fmt: skip
AWKWARD = (
    "7", "01", "01a", "1.2", "3.5 %", "[b]", "[/b]", "[bold red]x[/]", "a [link=x]b", 'say "so"', "it's",
    "back\\slash",
    "{brace}", "%s %d", "<i>&amp;", "a,b;c", "día lana", "毛糸の日", "e\u0301te\u0301", "👩‍🎨 hue", "שלום", "x" * 80,
    "毛" * 80, "tray 1", "all", "none", "null", "true", "-", "--help", "#c0ffee", "=1+1", "a:b", "a/b", "../up",
    "~", "*",
)  # fmt: skip
HOW = ("painted", "speckled", "immersed")
WHEN = ("before soak", "before paint", "after paint", "after cool", "after rinse", "after dry", "end of day")
WALK: tuple[dict[str, Any], ...] = (
    {"to": "soak", "unit": 0}, {"acid_ml": 40}, {"to": "paint"}, {"used": 20}, {"to": "fix"},
    {"pass": 1, "run": "start", "unit": 1}, {"pass": 1, "run": "heat"}, {"pass": 1, "run": "end"},
    {"to": "cool"}, {"reading": "eye", "value": "tinted"}, {"to": "rinse"}, {"to": "dry"}, {"to": "done"},
)  # fmt: skip
"""a batch's ordinary way, entry by entry; numbers of a unit and of an amount are filled in"""

_letters = st.characters(exclude_categories=("Cc", "Cs", "Cn", "Co", "Zl", "Zp"))
any_name = st.sampled_from(AWKWARD) | st.text(_letters, min_size=1, max_size=80).map(str.strip).filter(bool)
plain_chore = any_name.filter(lambda name: not name.split(" ")[-1].isdecimal())
chore_name = (st.sampled_from(LIKE_STEPS) | any_name) if AWKWARD_CHORES else plain_chore


def any_names(count: int) -> st.SearchStrategy[list[str]]:
    return st.lists(any_name, min_size=count, max_size=count, unique_by=str.casefold)


@dataclass(frozen=True, slots=True)
class Life:
    """A plan's text, and what happens: minutes that pass before each entry, and its keys as JSON."""

    plan: str
    happens: tuple[tuple[int, dict[str, Any]], ...]


def _said(text: str) -> str:
    # A JSON text is a TOML text, but for the one control JSON leaves bare.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


@st.composite
def lives(draw: st.DrawFn) -> Life:
    """Draw a small day."""
    session, *kit = draw(any_names(5))
    bases, dyes, ways = draw(any_names(2)), draw(any_names(2)), draw(any_names(2))
    chores = draw(st.lists(chore_name, max_size=3, unique_by=str.casefold))
    items = draw(st.lists(any_name, min_size=1, max_size=3, unique_by=None if SHARED_NAMES else str.casefold))
    hours = draw(st.sampled_from((("09:00", "17:30"), ("12:00", "01:30+1"), ("16:00", "17:00"))))
    plan = [
        f'[session]\nname={_said(session)}\ndate=2026-03-14\nstart="{hours[0]}"\nstop="{hours[1]}"\nzone="UTC"',
        "[[circuit]]\nname=" + _said(draw(any_name)) + "\nvolts=230\namps=16",
    ]
    for name, keys in zip(
        kit,
        (
            'kind="tray"\nunits=2\nholds=4',
            'kind="steamer"\nholds=4\npower="1400 W"\ntank="2 L"\nlasts="70 min"',
            'kind="pot"\nholds="500 g"\nwarm_up="25 min"',
            'kind="sink"',
        ),
        strict=True,
    ):
        plan.append(f"[[kit]]\nname={_said(name)}\n{keys}")
    fibres = draw(st.permutations(("{wool=100}", '{"superwash wool"=75, nylon=25}')))
    for name, fibre in zip(bases, fibres, strict=True):
        plan.append(f'[[base]]\nname={_said(name)}\nfibre={fibre}\nskein="100 g"\nlength="200 m"')
    plan += [f'[[dye]]\nname={_said(name)}\nsolution="2 %"\non_hand="40 g"' for name in dyes]
    for name in ways:
        how = draw(st.sampled_from(HOW))
        fix = "simmer 30 min" if how == "immersed" else "steam 30 min"
        more = '\npowder="0.2 g"' if how == "speckled" else ""
        plan.append(
            f'[[colourway]]\nname={_said(name)}\nhow="{how}"{more}\nfix=["{fix}"]\n'
            f"sections=[{{share=100, swatch='#c4673a', dyes={{{_said(dyes[0])}=0.6, {_said(dyes[1])}=0.3}}}}]\n"
            f"steps=[{_said(draw(any_name))}]"
        )
    for name in chores:
        per, when = draw(st.sampled_from(("day", "lot", "batch", "skein"))), draw(st.sampled_from(WHEN))
        plan.append(f'[[chore]]\nname={_said(name)}\nminutes=4\nper="{per}"\nwhen="{when}"')
    for item in items:
        base, way = draw(st.sampled_from(bases)), draw(st.sampled_from(ways))
        plan.append(
            f"[[order]]\nitem={_said(item)}\nbase={_said(base)}\ncolourway={_said(way)}\n"
            f"skeins={draw(st.integers(1, 6))}"
        )
    happens = draw(st.lists(_happening(kit, dyes, ways, bases, chores), max_size=10))
    return Life("\n\n".join(plan) + "\n", _numbered(happens, kit, dyes))


def _happening(
    kit: list[str], dyes: list[str], ways: list[str], bases: list[str], chores: list[str]
) -> st.SearchStrategy[tuple[int, dict[str, Any]]]:
    batch = st.sampled_from(("01", "01", "02", "03", "01a", "99"))
    unit = st.sampled_from([f"{name} {n}" for name in kit for n in (1, 2)])
    tag = any_name if SHARED_NAMES else any_name.map(lambda name: name[:24])
    why = st.one_of(st.none(), any_name)
    step = st.sampled_from(("soak", "paint 1", "load 1.1", "rinse"))
    chore = st.sampled_from(chores) if chores else any_name
    about = st.integers(0, 10).map("e{:03d}".format)
    go_on = st.fixed_dictionaries({"go on": batch})
    to = st.sampled_from(("waiting", "soak", "paint", "fix", "cool", "rinse", "dry", "done", "set-aside", "scrapped"))
    kinds = (
        st.fixed_dictionaries({"batch": batch, "to": to}),
        st.fixed_dictionaries({"batch": batch, "into": st.just({"01a": 1, "01b": 1})}),
        st.fixed_dictionaries({"batch": batch, "skeins": st.integers(1, 9)}),
        st.fixed_dictionaries({"batch": batch, "tag": tag}),
        st.fixed_dictionaries({"batch": batch, "note": any_name}),
        st.fixed_dictionaries({"note": any_name}),
        st.fixed_dictionaries({"batch": batch, "unit": unit}),
        st.fixed_dictionaries({"batch": batch, "cover": st.sampled_from(("open", "lidded", "wrapped", "hat"))}),
        st.fixed_dictionaries({"batch": batch, "colourway": st.sampled_from(ways)}),
        st.fixed_dictionaries({"unit": unit, "is": st.sampled_from(("filled", "emptied", "down", "up"))}),
        st.fixed_dictionaries({"event": st.just("chore"), "chore": chore, "batch": batch}),
        st.fixed_dictionaries({"event": st.just("chore"), "chore": chore}),
        st.fixed_dictionaries(
            {"event": st.just("advice"), "is": st.sampled_from(("not now", "instead")), "batch": batch, "step": step,
             "minutes": st.integers(1, 90)}
        ),
        st.fixed_dictionaries({"batch": batch, "reading": st.just("ph"), "value": st.floats(0, 15)}),
        st.fixed_dictionaries({"batch": batch, "reading": st.just("yarn_c"), "value": st.integers(-9, 115)}),
        st.fixed_dictionaries({"batch": batch, "reading": st.just("weight_g"), "value": st.integers(1, 2000)}),
        st.fixed_dictionaries(
            {"batch": batch, "reading": st.just("cloth"), "value": st.sampled_from(("clean", "faint", "marked"))}
        ),
        st.fixed_dictionaries(
            {"batch": batch, "reading": st.just("jar"), "value": st.just({"match": 12, "left_l": 0.4})}
        ),
        st.fixed_dictionaries({"batch": batch, "used": st.dictionaries(st.sampled_from(dyes), st.integers(0, 90))}),
        st.fixed_dictionaries({"strikes": about, "why": why.filter(bool)}),
        st.fixed_dictionaries({"event": st.just("unstruck"), "strikes": about}),
        st.fixed_dictionaries({"corrects": about, "batch": batch, "why": any_name}),
        st.fixed_dictionaries(
            {"order": st.fixed_dictionaries(
                {"item": any_name, "colourway": st.sampled_from(ways), "base": st.sampled_from(bases),
                 "skeins": st.integers(0, 5)})}
        ),
    )  # fmt: skip
    minutes = st.sampled_from((0, 1, 5, 20, 45, 70, 300, -30))
    return st.tuples(minutes, st.one_of(go_on, go_on, go_on, st.one_of(*kinds)))


def _numbered(
    happens: list[tuple[int, dict[str, Any]]], kit: list[str], dyes: list[str]
) -> tuple[tuple[int, dict[str, Any]], ...]:
    """Return what happens with ids, and with each batch's next ordinary entry for "go on"."""
    gone: dict[str, int] = {}
    out = []
    for n, (minutes, keys) in enumerate(happens):
        if "go on" in keys:
            no = keys["go on"]
            said = dict(WALK[gone.get(no, 0) % len(WALK)])
            gone[no] = gone.get(no, 0) + 1
            if "unit" in said:
                said["unit"] = f"{kit[said['unit']]} 1"
            if "used" in said:
                said["used"] = {dyes[0]: said["used"]}
            keys = {"batch": no, **said}
        out.append((minutes, {**keys, "id": f"e{n:03d}"}))
    return tuple(out)
