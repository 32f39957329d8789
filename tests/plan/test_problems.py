"""What is wrong with a plan: every mistake once, with its line and what would be right; never anything but that."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError, similar
from dyeday.plan.reading.toml_positions import Path, TomlPositions
from tests.harmless import is_harmless
from tests.plan.plans import SMALL, line_of, plan, plan_text, problems_of, the_problem

WRONG: dict[str, tuple[str, str, str]] = {
    # what is wrong → the key, what is written there, what the problem must say
    "a weight where a volume belongs": ("kit.tank", '"4 kg"', "a weight, and a volume belongs"),
    "a volume where a weight belongs": ("dye.on_hand", '"4 L"', "a volume, and a weight belongs"),
    "a time where a power belongs": ("kit.power", '"20 min"', "a time, and a power belongs"),
    "a length where a weight belongs": ("base.skein", '"420 m"', "a length, and a weight belongs"),
    "degrees of hardness for bicarbonate": ("water.bicarbonate", '"10 dH"', "bicarbonate belongs here"),
    "an unknown unit": ("kit.power", '"20 blorps"', "no unit that can be read"),
    "no number": ("water.alkalinity", '"soft"', "is not alkalinity; write it as '180 mg/L' or '10 dKH'"),
    "a list for a number": ("water.alkalinity", "[180]", "is not alkalinity; write it as '180 mg/L' or '10 dKH'"),
    "a truth for a number": ("water.alkalinity", "true", "is not alkalinity; write it as '180 mg/L' or '10 dKH'"),
    "not a number at all": ("water.alkalinity", "nan", "not a number"),
    "an infinite number": ("water.alkalinity", "inf", "not a number"),
    "a negative amount on hand": ("dye.on_hand", "-1", "too little"),
    "a negative alkalinity": ("water.alkalinity", '"-10 mg/L"', "too little"),
    "water hotter than any tap": ("water.temperature", '"90 °C"', "too much"),
    "an absurd power": ("kit.power", '"200 kW"', "too much"),
    "a skein of nothing": ("base.skein", "0", "too little"),
    "a pH no acid gives": ("acid.target_ph", "12", "12 is out of range"),
    "more than all the air's moisture": ("air.humidity", '"120 %"', "too much"),
    "a whole number with a fraction": ("order.skeins", "2.5", "not a whole number"),
    "a weight for a count": ("order.skeins", '"3 kg"', "not a whole number"),
    "no skeins": ("order.skeins", "0", "out of range"),
    "fewer than no spares": ("order.spare", "-1", "out of range"),
    "a word for a sample": ("order.sample", '"yes"', "neither true nor false"),
    "a number for a parcel": ("order.parcel", "1042", "is not text"),
    "a priority beyond nine": ("order.priority", "10", "out of range"),
    "a unit that holds nothing": ("kit.holds", "0", "out of range"),
    "half a skein held": ("kit.holds", '"4,5"', "not a whole number"),
    "a word for a truth": ("order.match", '"yes"', "neither true nor false"),
    "an unknown kind": ("kit.kind", '"trey"', "'tray'"),
    "an unknown acid": ("acid.kind", '"vinager"', "'vinegar'"),
    "an unknown way to dye": ("colourway.how", '"panted"', "'painted'"),
    "an unknown fibre": ("base.fibre", "{ wol = 100 }", "'wool'"),
    "a colourway that is not defined": ("order.colourway", '"Bug"', "'Bog'"),
    "a base that is not defined": ("order.base", '"Sick"', "'Sock'"),
    "a circuit that is not defined": ("kit.circuit", '"worktap"', "'worktop'"),
    "a dye that is not defined": ("colourway.sections", '[{ share = 100, dyes = { "Peet" = 1 } }]', "'Peat'"),
    "a zone that does not exist": ("session.zone", '"Europe/Lisbn"', "'Europe/Lisbon'"),
    "fibres that do not add to 100": ("base.fibre", "{ wool = 75, nylon = 20 }", "add to 95"),
    "sections that do not add to 100": (
        "colourway.sections",
        '[{ share = 50, dyes = { "Peat" = 1 } }, { share = 40, dyes = {} }]',
        "add to 90",
    ),
    "a section without a share": (
        "colourway.sections",
        '[{ share = 50, dyes = { "Peat" = 1 } }, { dyes = {} }]',
        "no share",
    ),
    "a colour of four digits": ("colourway.sections", '[{ swatch = "#1234", dyes = {} }]', "not a colour"),
    "a depth no fibre takes": ("colourway.sections", '[{ dyes = { "Peat" = 60 } }]', "too much"),
    "powder on a painted layer": ("colourway.powder", '"0.2 g"', "has no powder"),
    "an oven": ("colourway.fix", '["bake 20 min"]', "not a heat or a rest"),
    "a heat of two kilograms": ("colourway.fix", '["steam 2 kg"]', "a weight, and a time belongs"),
    "nothing but rest": ("colourway.fix", '["rest 20 min"]', "no heat"),
    "no fix": ("colourway.fix", "[]", "not a list of heats"),
    "a date that does not exist": ("session.date", '"2026-02-30"', "not a date that exists"),
    "a due date that does not exist": ("order.due", '"2025-02-29"', "not a date that exists"),
    "a date of another age": ("session.date", "9999-12-31", "out of range"),
    "an hour that does not exist": ("session.start", '"25:00"', "not a time of day"),
    "a stop before the start": ("session.stop", '"08:00"', "not after start"),
    "a stop at the start": ("session.stop", '"09:00"', "not after start"),
    "a break that ends before it begins": ("session.breaks", '["14:00-13:00"]', "not a span"),
    "both alkalinity and bicarbonate": ("water.bicarbonate", "100\nalkalinity = 100", "given too"),
    "a name that is not text": ("session.name", "5", "not text"),
    "a name of nothing": ("session.name", '"  "', "empty"),
    "a name of a hundred letters": ("session.name", f'"{"a" * 100}"', "too long"),
}


@pytest.mark.parametrize("mistake", WRONG)
def test_a_mistake_is_one_problem_on_its_line_saying_what_would_be_right(mistake: str) -> None:
    """One mistake is one problem; what follows from it is not counted again."""
    key, raw, said = WRONG[mistake]
    text = plan_text({key: raw})

    problem = the_problem({key: raw})

    assert said in f"{problem.what}; {problem.hint}"
    assert problem.line == line_of(text, f"{key.split('.')[1]} = {raw.splitlines()[0]}")
    assert problem.hint


REQUIRED = [f"{table}.{key}" for table, keys in SMALL.items() for key in keys]


@pytest.mark.parametrize("key", [key for key in REQUIRED if not key.endswith(".name")])
def test_a_required_key_that_is_absent_is_missed_at_its_table(key: str) -> None:
    """The line is that of the table it belongs in."""
    table, name = key.split(".")

    problem = the_problem({key: None})

    assert f"{table} has no {name}" in problem.what
    assert problem.line == line_of(plan_text(), f"[{table}]")


@pytest.mark.parametrize(
    ("table", "also", "value"),
    [
        ("session", "hands", "1"),
        ("circuit", "lead_amps", "10"),
        ("kit", "units", "2"),
        ("base", "length", "400"),
        ("dye", "solution", "2"),
        ("colourway", "rinse", "2"),
    ],
)
def test_a_name_that_is_absent_is_missed_once_however_often_it_is_used(table: str, also: str, value: str) -> None:
    """Those who use a name that could not be read are not blamed."""
    assert f"{table} has no name" in the_problem({f"{table}.name": None, f"{table}.{also}": value}).what


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("session.stopp", "stop"),
        ("water.alkalinty", "alkalinity"),
        ("acid.kinds", "kind"),
        ("rules.fixshare", "fix_share"),
        ("kit.warmup", "warm_up"),
        ("base.lenght", "length"),
        ("dye.solutoin", "solution"),
        ("colourway.coolwhere", "cool_where"),
        ("order.prioritee", "priority"),
    ],
)
def test_an_unknown_key_is_a_problem_with_the_nearest_known_one(wrong: str, right: str) -> None:
    """A misspelt key is not passed over, for its value would be lost without a word."""
    problem = the_problem({wrong: '"x"'})

    assert f"{wrong} is not a key" in problem.what
    assert problem.hint == f"did you mean {right!r}?"
    assert problem.line == line_of(plan_text({wrong: '"x"'}), wrong.split(".")[1])


def test_a_misspelt_required_key_is_one_mistake_and_not_two() -> None:
    """The key that is missing is the one that is misspelt."""
    problem = the_problem({"order.skeins": None, "order.skiens": "4"})

    assert problem.hint == "did you mean 'skeins'?"


def test_a_misspelt_table_is_named_with_the_nearest_known_one() -> None:
    """An unknown table is an unknown key of the plan."""
    problem = the_problem(more='\n[watr]\nalkalinity = "180 mg/L"\n')

    assert (problem.what, problem.hint) == ("watr is not a key", "did you mean 'water'?")


def test_a_second_kit_of_the_same_name_is_a_problem_on_its_line() -> None:
    """A name stands for one thing."""
    more = '\n[[kit]]\nname = "tray"\nkind = "tray"\nholds = 2\n'

    problem = the_problem(more=more)

    assert "a second [[kit]]" in problem.what
    assert problem.line == len(plan_text().splitlines()) + 2


@pytest.mark.parametrize(
    ("kind", "fix"), [("tray", "steam 40 min"), ("steamer", "steam 40 min"), ("microwave", "microwave 2 min")]
)
def test_a_skein_no_unit_can_hold_is_a_problem(kind: str, fix: str) -> None:
    """All that the yarn goes through must hold at least one piece of it."""
    more = f'\n[[kit]]\nname = "small"\nkind = "{kind}"\nholds = "80 g"\n'
    changes: dict[str, str | None] = {"kit.kind": '"pegs"', "colourway.fix": f'["{fix}"]'}

    problem = the_problem(changes, more)

    assert f"weighs 100 g and no {kind} holds that" in problem.what
    assert problem.line == line_of(plan_text(changes), "[[order]]")


def test_a_skein_is_not_a_problem_where_one_of_the_units_holds_it() -> None:
    """One tray that is too small does not matter beside one that is not."""
    assert plan(more='\n[[kit]]\nname = "small"\nkind = "tray"\nholds = "80 g"\n').batches


def test_a_day_without_orders_has_nothing_to_dye() -> None:
    """The plan must say what is to be dyed."""
    text = plan_text().split("[[order]]")[0]

    assert [problem.what for problem in problems_of(text)] == ["there is no [[order]], so nothing to dye"]


def test_an_empty_text_lacks_a_session_and_an_order() -> None:
    """Nothing at all is two problems, on the first line."""
    assert [(p.line, p.hint.split(" with ")[0]) for p in problems_of("")] == [
        (1, "add a [session]"),
        (1, "add an [[order]]"),
    ]


@pytest.mark.parametrize("table", ["kit", "base", "dye", "colourway", "order"])
def test_a_single_bracket_where_two_belong_is_one_problem(table: str) -> None:
    """``[kit]`` for ``[[kit]]`` is read all the same, so that nothing else seems to be missing."""
    problems = problems_of(plan_text().replace(f"[[{table}]]", f"[{table}]"))

    assert [problem.hint for problem in problems] == [f"write [[{table}]]"]


TWELVE = """\
[session]
name = "Twelve"
date = 2026-03-14
start = "09:00"
stop = "08:00"
zone = "Europe/Lisbn"

[water]
alkalinity = "-5 mg/L"
hardnes = "12 dH"

[[kit]]
name = "tray"
kind = "tray"
holds = 4

[[kit]]
name = "steamer"
kind = "steamer"
holds = "80 g"
tank = "4 kg"
circuit = "nowhere"

[[base]]
name = "Sock"
fibre = { wool = 75, nylon = 20 }
skein = "100 g"

[[dye]]
name = "Peat"

[[colourway]]
name = "Bog"
sections = [
  { share = 60, swatch = "#5b4632", dyes = { "Peat" = 1 } },
  { share = 40, swatch = "#5b4632", dyes = { "Peet" = 1 } },
]
fix = ["steam 40 min", "bake 20 min"]

[[order]]
item = "Shop"
colourway = "Bog"
base = "Sock"
skeins = 4
due = "2026-02-30"

[[order]]
item = "Other"
colourway = "Bog"
base = "Sick"
skeins = 2.5
"""
MISTAKES = [
    'stop = "08:00"', "zone =", "alkalinity =", "hardnes =", "tank =", "circuit =", "fibre =", '"Peet"', "bake",
    "due =", '"Sick"', "2.5",
]  # fmt: skip


def test_twelve_different_mistakes_are_twelve_problems_each_on_its_line() -> None:
    """All problems of a plan are reported at once; the skein no steamer holds is the thirteenth, at its order."""
    problems = problems_of(TWELVE)

    expected = [line_of(TWELVE, mistake) for mistake in MISTAKES] + [line_of(TWELVE, "[[order]]")]
    assert [problem.line for problem in problems] == sorted(expected)
    assert len({problem.what for problem in problems}) == len(problems) == 13
    twelve = TWELVE.replace('holds = "80 g"', 'holds = "400 g"')
    assert [problem.line for problem in problems_of(twelve)] == sorted(line_of(twelve, m) for m in MISTAKES)


def test_nothing_of_a_plan_with_a_problem_is_returned() -> None:
    """There is no half a plan: the error has the problems and nothing of the model."""
    with pytest.raises(PlanError) as caught:
        read_plan(TWELVE)

    assert not any(isinstance(value, Plan) for value in vars(caught.value).values())
    assert str(caught.value).splitlines() == [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("holds = = 4", "the value after = cannot be read"),
        ("holds 4", "a key has no = after it"),
        ('tank = "2 L', "a quote is not closed"),
        ("holds = 4", "this is already defined"),
        ("due = 2026-02-30", "there is no such day or time"),
    ],
)
def test_what_is_not_toml_is_the_only_problem_with_its_line(line: str, said: str) -> None:
    """Where TOML itself cannot be read nothing else is looked at."""
    text = TWELVE.replace("holds = 4\n", f"holds = 4\n{line}\n")

    (problem,) = problems_of(text)

    assert said in problem.what
    assert problem.line == line_of(TWELVE, "holds = 4") + 1


def test_a_list_that_is_not_closed_is_reported_on_the_last_line_written() -> None:
    """The end of the text is the last line with something on it."""
    text = plan_text(more='\n[[batch]]\ntag = ["red",\n\n\n')

    assert [problem.line for problem in problems_of(text)] == [line_of(text, "tag =")]


ESCAPES = r"\u001b[31m\u001b]0;x\u0007\u202eabc\u009b2J\u0000[/][bold]"


@pytest.mark.parametrize(
    "key", ["session.name", "colourway.steps", "order.item", "batch.tag", "chore.name", "kit.name"]
)
def test_text_that_would_steer_a_terminal_becomes_harmless(key: str) -> None:
    """Escapes become visible, brackets stay, and none of it is lost."""
    raw = f'["{ESCAPES}"]' if key.endswith("steps") else f'"{ESCAPES}"'
    changes: dict[str, str | None] = {key: raw}
    if key == "batch.tag":
        changes |= {key: f'"{ESCAPES[:20]}"', "batch.no": '"01"'}
    if key == "chore.name":
        changes |= {"chore.minutes": "1", "chore.per": '"day"', "chore.when": '"end of day"'}

    read = plan(changes)

    texts = {
        "session.name": read.session.name,
        "colourway.steps": "".join(read.colourways[0].steps),
        "order.item": read.orders[0].item,
        "batch.tag": read.batches[0].tag,
        "chore.name": read.chores[0].name if read.chores else "",
        "kit.name": read.kit[0].name,
    }
    assert is_harmless(texts[key])
    assert r"\x1b[31m" in texts[key]


@pytest.mark.parametrize(
    ("key", "raw"),
    [
        ("base.fibre", f'{{ "{ESCAPES}" = 100 }}'),
        ("colourway.sections", f'[{{ dyes = {{ "{ESCAPES}" = 1 }} }}]'),
        ("colourway.fix", f'["{ESCAPES}"]'),
        ("kit.power", f'"{ESCAPES}"'),
        ("kit.circuit", f'"{ESCAPES}"'),
        ("order.due", f'"{ESCAPES}"'),
        (f'water."{ESCAPES}"', "1"),
        ("session.zone", f'"{ESCAPES}"'),
    ],
)
def test_a_problem_quotes_what_was_written_harmlessly(key: str, raw: str) -> None:
    """A problem is printed to the terminal it must not steer."""
    assert all(is_harmless(str(problem)) for problem in problems_of(plan_text({key: raw})))


def test_a_dye_is_found_by_its_name_however_its_accents_are_written() -> None:
    """One letter with an accent, or a letter and an accent, is the same name; so are spaces around it."""
    composed, apart = "Caf\u00e9", "Cafe\u0301"

    read = plan({"dye.name": f'"{apart} "', "colourway.sections": f'[{{ dyes = {{ " {composed}" = 1 }} }}]'})

    assert read.colourways[0].layers[0].dyes == (read.dyes[0].name,) == (composed,)


HOSTILE: dict[str, str] = {
    "more than a million characters": plan_text(more="#" * 1_000_001),
    "a number of 5000 digits": plan_text({"water.alkalinity": "1" * 5000}),
    "a number of 400 digits": plan_text({"water.alkalinity": "1" * 400}),
    "a hexadecimal number of 6000 digits": plan_text({"water.alkalinity": "0x" + "f" * 6000}),
    "a hexadecimal count of 6000 digits": plan_text({"order.skeins": "0x" + "f" * 6000}),
    "a hexadecimal name of 6000 digits": plan_text({"session.name": "0x" + "f" * 6000}),
    "a hexadecimal word of 6000 digits": plan_text({"kit.kind": "0x" + "f" * 6000}),
    "a text of 5000 digits": plan_text({"kit.holds": f'"{"1" * 5000}"'}),
    "a digit that is none": plan_text({"kit.holds": '"²"'}),
    "a list 100000 deep": plan_text({"kit.holds": "[" * 100_000}),
    "a list 300 deep": plan_text({"kit.holds": "[" * 300 + "]" * 300}),
    "a table 200 deep": plan_text({"kit.holds": "{ a = " * 200 + "1" + " }" * 200}),
    "a key of 400000 parts": plan_text(more="\n" + ".".join(["a"] * 400_000) + " = 1\n"),
    "a header of 100000 quoted parts": plan_text(more="\n[" + ".".join(['"a\\""'] * 100_000) + "]\n"),
    "900000 spaces in a quantity": plan_text({"colourway.minutes": f'"7 min{" " * 900_000}x"'}),
    "900000 spaces in a number": plan_text({"acid.target_ph": f'"4{" " * 900_000}x"'}),
    "900000 spaces in a heat": plan_text({"colourway.fix": f'["steam{" " * 900_000}\\n"]'}),
    "a key of 900000 letters": plan_text(more="\n" + "k" * 900_000 + " = 1\n"),
    "100000 unknown keys": plan_text(more="\n" + "\n".join(f"k{n} = 1" for n in range(90_000))),
    "a million skeins": plan_text(
        {"kit.holds": "1"},
        "\n" + '[[order]]\nitem = "a"\ncolourway = "Bog"\nbase = "Sock"\nskeins = 5000\n' * 200,
    ),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_text_is_refused_as_a_plan_that_cannot_be_used(name: str) -> None:
    """Huge, deep and endless texts are problems like any other, and reported in few words."""
    problems = problems_of(HOSTILE[name])

    assert 1 <= len(problems) <= 1000
    assert all(len(str(problem)) < 1000 for problem in problems)


@pytest.mark.parametrize(
    ("name", "fragment"),
    [
        ("a number of 5000 digits", "alkalinity"),
        ("a list 100000 deep", "holds"),
        ("a key of 400000 parts", "a.a.a"),
        ("900000 spaces in a heat", "fix ="),
    ],
)
def test_a_hostile_text_is_refused_with_its_line(name: str, fragment: str) -> None:
    """The line helps to find it."""
    assert [problem.line for problem in problems_of(HOSTILE[name])] == [line_of(HOSTILE[name], fragment)]


def refused_or_read(text: str) -> None:
    """Read a text; anything but a plan or a PlanError fails the test, and every line must be in the text."""
    try:
        read_plan(text)
    except PlanError as error:
        last = text.count("\n") + 1
        assert error.problems
        assert all(1 <= problem.line <= last and is_harmless(str(problem)) for problem in error.problems)


@given(st.text(max_size=300))
def test_any_text_is_a_plan_or_a_plan_error(text: str) -> None:
    """Reading never raises anything else."""
    refused_or_read(text)


@given(st.data())
@settings(max_examples=200, deadline=None)
def test_a_plan_with_letters_changed_is_a_plan_or_a_plan_error(data: st.DataObject) -> None:
    """A slip of the finger anywhere in a sound plan."""
    start = data.draw(st.integers(0, len(TWELVE)))
    end = data.draw(st.integers(start, min(len(TWELVE), start + 12)))
    slip = data.draw(st.text(st.sampled_from("[]{}\"'=.,#\n 09-ae\\\x1b²"), max_size=6) | st.text(max_size=4))

    refused_or_read(TWELVE[:start] + slip + TWELVE[end:])


VALUES = st.recursive(
    st.booleans()
    | st.integers(-(10**6), 10**6)
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["4 kg", "20 min", "09:00", "01:30+1", "2026-03-14", "tray", "5 %", "-1 L", "1e99 g"])
    | st.dates()
    | st.times().map(lambda t: t.replace(microsecond=0)),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text("abcdefgh -é\x1b", min_size=1, max_size=6), inner, max_size=3)
    ),
    max_leaves=6,
)


def as_toml(value: Any) -> str:
    """Write a value as TOML, on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + "".join(c if c.isalnum() or c == " " else f"\\U{ord(c):08x}" for c in value) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{as_toml(k)} = {as_toml(v)}" for k, v in value.items()) + " }"
    return value.isoformat() if hasattr(value, "isoformat") else repr(value)


NO_SURROGATES = VALUES.filter(lambda value: not any(0xD800 <= ord(c) <= 0xDFFF for c in repr(value)))


@given(st.sampled_from(REQUIRED), NO_SURROGATES)
@settings(max_examples=300, deadline=None)
def test_any_value_under_any_key_is_read_or_refused(key: str, value: Any) -> None:
    """The wrong type of value is a problem and never a crash."""
    refused_or_read(plan_text({key: as_toml(value)}))


KEYS = st.text("abc_-9é. \"'#[]=", min_size=1, max_size=5)
DOCUMENTS = st.dictionaries(
    KEYS,
    st.integers(0, 9) | st.sampled_from(["#", "]", '"', "'''", "a\nb"]),
    max_size=4,
)


@given(st.lists(st.tuples(st.booleans(), KEYS, DOCUMENTS), max_size=5), st.sampled_from(["\n", "\r\n"]))
@settings(deadline=None)
def test_the_line_of_every_key_is_found(tables: list[tuple[bool, str, dict[str, Any]]], end: str) -> None:
    """On generated TOML with odd keys, comments, texts and tables, every key stands where its line says."""
    lines: list[str] = []
    expected: dict[Path, int] = {}
    kinds: dict[str, bool] = {}
    counts: dict[str, int] = {}
    for is_array, name, keys in tables:
        if kinds.setdefault(name, is_array) != is_array or (not is_array and name in counts):
            continue
        counts[name] = counts.get(name, 0) + 1
        path: Path = (name, counts[name] - 1) if is_array else (name,)
        lines += ["# [not] = a key", f"[[{as_toml(name)}]]" if is_array else f"  [ {as_toml(name)} ] # here"]
        expected[path] = len(lines)
        for key, value in keys.items():
            lines += ["", f" {as_toml(key)} = {as_toml(value)} # {key!r}"]
            expected[(*path, key)] = len(lines)
        lines += ['"a list" = [ # begins', '  "]", [1,', "  2], { x = '''", "''' },", "]"]
        for down, where in enumerate([(), (0,), (1,), (2,), (2, "x")]):
            expected[(*path, "a list", *where)] = len(lines) - 4 + (0, 1, 1, 2, 2)[down]
    text = end.join(lines)
    tomllib.loads(text)

    found = TomlPositions(text).lines

    assert {path: found[path] for path in expected} == expected


def test_every_key_of_a_sound_plan_has_its_own_line() -> None:
    """The small plan has one key a line, so no two share one."""
    text = plan_text()

    found = TomlPositions(text).lines

    lines = [found[(table, 0, key) if f"[[{table}]]" in text else (table, key)] for table, key in
             (path.split(".") for path in REQUIRED)]  # fmt: skip
    assert lines == [n for n, line in enumerate(text.splitlines(), 1) if " = " in line]


def test_the_nearest_word_is_offered_and_else_what_is_known() -> None:
    """A hint is one near word, or the first few there are."""
    assert similar("Stemer", ["tray", "Steamer"]) == "did you mean 'Steamer'?"
    trays = [f"tray {n}" for n in range(1, 4)]
    assert similar("tray", [*trays, "pot 1"]) == "did you mean 'tray 1', 'tray 2' or 'tray 3'?"
    assert similar("tray 2", [*trays, "pot 1"]) == "did you mean 'tray 2'?"
    assert similar("zzz", ["tray", "pot"]) == "known are tray, pot"
    assert similar("zzz", []) == "none is defined"


@pytest.mark.parametrize(
    ("written", "right"),
    [
        ("start = 8:30", 'write start = "8:30"'),
        ("start = 09:00 # early", 'write start = "09:00"'),
        ("start = “09:00”", 'write start = "09:00"'),
        ("start = '09:00", 'write start = "09:00"'),
        ("start 09:00", 'write key = "…", the key without blanks or in quotes'),
        ("start = [09:00", "close it with ], commas between what is in it"),
    ],
)
def test_a_value_without_its_quotes_is_shown_with_them(written: str, right: str) -> None:
    """What the standard reader says of it does not help a dyer who never heard of TOML."""
    with pytest.raises(PlanError) as caught:
        read_plan(f'[session]\nname = "x"\n{written}\n')
    (problem,) = caught.value.problems
    assert problem.line in (3, 4)
    assert problem.hint == right


def test_powder_dye_by_dye_is_reported_where_the_dyes_go() -> None:
    """`powder` is one weight; the dyes are parts of it, in the sections."""
    problem = the_problem({"colourway.how": '"speckled"', "colourway.powder": '{ "Peat" = 0.1 }'})
    assert "the weight of all dyes together" in problem.what
    assert "which dyes, in parts, in its sections" in problem.hint
