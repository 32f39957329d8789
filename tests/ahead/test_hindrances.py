"""What cannot be finished says why, in numbers, and what would mend it; so does what will not fit."""

from __future__ import annotations

from datetime import timedelta

import pytest

from dyeday.ahead.advising.next_up import next_up
from dyeday.ahead.forecast import forecast
from dyeday.ahead.foreseen_steps import Forecast
from dyeday.ahead.what_if import bottleneck, gains
from dyeday.paper.sheets.forecast_lines import verdict_lines
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import Form, StepKind, WarningKind
from dyeday.track.folding.fold import begin
from tests.track.days import at, day_of, now, soaked

STUDIO = """
[session]
name = "One batch"
date = 2026-04-18
start = "09:00"
stop = "18:00"
zone = "UTC"

[[circuit]]
name = "shed"
volts = 240
amps = 15

[[circuit]]
name = "kitchen"
volts = 240
amps = 6

[[kit]]
name = "tray"
kind = "tray"
holds = 8

[[kit]]
name = "steamer"
kind = "steamer"
holds = 8
power = "3000 W"
circuit = "shed"

[[kit]]
name = "rack"
kind = "pegs"
holds = 40

[[base]]
name = "Sock"
fibre = { "superwash wool" = 75, nylon = 25 }
skein = "100 g"

[[dye]]
name = "Navy"

[[colourway]]
name = "Harbour"
fix = ["steam 40 min"]
sections = [{ share = 100, dyes = { Navy = 1.0 } }]

[[order]]
item = "harbour skeins"
colourway = "Harbour"
base = "Sock"
skeins = 5

[[batch]]
no = "01"
order = "harbour skeins"
skeins = 5
"""

AMPS = "volts = 240\namps = 15"
STEAMER = 'kind = "steamer"\nholds = 8'
RACK = '[[kit]]\nname = "rack"'
WHOLE = 'no = "01"\norder = "harbour skeins"\nskeins = 5'
SPLIT = (
    'no = "01"\norder = "harbour skeins"\nskeins = 3\n\n[[batch]]\nno = "02"\norder = "harbour skeins"\nskeins = 2'
)
CAUSES = {
    "circuit": (
        {AMPS: "volts = 240\namps = 12"},
        "steamer 1 draws 12.5 A and shed allows 12 A by its fuse; "
        "use a steamer of at most 2880 W, or a circuit of 12.5 A",
        [{"amps = 12": "amps = 12.5"}, {"3000 W": "2880 W"}],
    ),
    "lead": (
        {AMPS: f"{AMPS}\nlead_amps = 10"},
        "steamer 1 draws 12.5 A and shed allows 10 A by its lead; "
        "use a steamer of at most 2400 W, or a lead of 12.5 A",
        [{"lead_amps = 10": "lead_amps = 12.5"}, {"3000 W": "2400 W"}],
    ),
    "continuous share": (
        {AMPS: f"{AMPS}\ncontinuous_share = 0.8"},
        "steamer 1 draws 12.5 A and shed allows 12 A by 80 % of its 15 A; "
        "use a steamer of at most 2880 W, or a circuit of 15.7 A",
        [{"amps = 15": "amps = 15.7"}, {"3000 W": "2880 W"}],
    ),
    "another circuit": (
        {AMPS: "volts = 240\namps = 12", "amps = 6": "amps = 13"},
        "steamer 1 draws 12.5 A and shed allows 12 A by its fuse; "
        "plug it into kitchen, or use a steamer of at most 2880 W, or a circuit of 12.5 A",
        [{'circuit = "shed"': 'circuit = "kitchen"'}],
    ),
    "unit too small": (
        {STEAMER: 'kind = "steamer"\nholds = 3'},
        "steamer 1 holds 3 of its 5 skeins; split 01 into 3 + 2, or use a steamer for 5 skeins",
        [{'kind = "steamer"\nholds = 3': 'kind = "steamer"\nholds = 5'}, {WHOLE: SPLIT}],
    ),
    "unit too small by weight": (
        {STEAMER: 'kind = "steamer"\nholds = "300 g"'},
        "steamer 1 holds 300 of its 500 g; split 01 into 3 + 2, or use a steamer for 500 g",
        [{'"300 g"': '"500 g"'}, {WHOLE: SPLIT}],
    ),
    "unit missing": (
        {'[[kit]]\nname = "steamer"\nkind = "steamer"\nholds = 8\npower = "3000 W"\ncircuit = "shed"\n': ""},
        "a heat of its recipe needs a steamer and the kit has none; add a steamer for 5 skeins",
        [{'[[kit]]\nname = "rack"': '[[kit]]\nname = "pan"\nkind = "steamer"\nholds = 5\n\n[[kit]]\nname = "rack"'}],
    ),
    "unit down": (
        {STEAMER: f"{STEAMER}\ndown = 1"},
        "steamer 1 is down; put steamer 1 back in use",
        [{"\ndown = 1": ""}],
    ),
    "unit down beside a pot": (
        {STEAMER: f"{STEAMER}\ndown = 1", RACK: f'[[kit]]\nname = "pan"\nkind = "pot"\nholds = 8\n\n{RACK}'},
        "steamer 1 is down; put steamer 1 back in use, or painted yarn into a pot (u) and steam it there",
        [{"\ndown = 1": ""}],
    ),
    "unit down beside a pot too small": (
        {STEAMER: f"{STEAMER}\ndown = 1", RACK: f'[[kit]]\nname = "pan"\nkind = "pot"\nholds = 4\n\n{RACK}'},
        "steamer 1 is down; put steamer 1 back in use",
        [{"\ndown = 1": ""}],
    ),
    "rack full": (
        {"holds = 40": "holds = 4"},
        "rack 1 holds 4 of its 5 skeins; make room for 5 skeins",
        [{"holds = 4\n\n[[base]]": "holds = 5\n\n[[base]]"}],
    ),
}


def changed(text: str, changes: dict[str, str]) -> str:
    for old, new in changes.items():
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def look(text: str, time: str = "09:00") -> Forecast:
    return forecast(begin(read_plan(text)), now(time), evaluations=40)


@pytest.mark.parametrize("cause", CAUSES)
def test_what_cannot_be_finished_says_the_cause_in_numbers_and_the_cure_cures(cause: str) -> None:
    """Each change that is named, made in the plan, lets the batch be finished."""
    changes, said, cures = CAUSES[cause]
    broken = changed(STUDIO, changes)
    found = look(broken)
    assert found.left_out == (("01", said),)
    assert not found.fits
    lines = verdict_lines(found, "UTC")
    assert f"01 cannot be finished: {said}" in lines
    assert not any("inside" in line for line in lines)
    assert cures
    for cure in cures:
        mended = look(changed(broken, cure))
        assert mended.left_out == ()
        assert mended.fits


@pytest.mark.parametrize(("skeins", "holds", "fits"), [(4, "14 oz", True), (2, "7 oz", True), (4, "13.9 oz", False)])
def test_ounces_that_are_not_whole_grams_fill_a_unit_to_its_brim(skeins: int, holds: str, fits: bool) -> None:
    """14 oz are 396.9 g, just as much as four skeins of 3.5 oz."""
    text = STUDIO.replace("skeins = 5", f"skeins = {skeins}").replace('skein = "100 g"', 'skein = "3.5 oz"')
    found = look(text.replace('kind = "tray"\nholds = 8', f'kind = "tray"\nholds = "{holds}"'))
    assert found.fits is fits
    assert fits or found.left_out[0][1].startswith("tray 1 holds 394.1 of its 396.9 g; split 01 into 2 + 2")


def test_a_day_that_never_lets_go_of_its_only_pot_says_who_lies_in_it() -> None:
    """The microwave that the second heat needs breaks down while the yarn steams: the next batch waits for ever."""
    oven = '[[kit]]\nname = "oven"\nkind = "microwave"\nholds = 4\n\n[[kit]]\nname = "rack"'
    text = STUDIO.replace('[[kit]]\nname = "rack"', oven).replace(STEAMER, 'kind = "steamer"\nholds = 5')
    text = text.replace("skeins = 5\n\n[[batch]]", "skeins = 10\n\n[[batch]]").replace("amps = 6", "amps = 20")
    second = '\n[[batch]]\nno = "02"\norder = "harbour skeins"\nskeins = 5\n'
    text = text.replace('fix = ["steam 40 min"]', 'fix = ["steam 40 min", "rest 5 min", "microwave 3 min"]')
    plan = read_plan(text + second)
    day = day_of(
        [
            at("09:00", "01", to="soak", unit="tray 1"),
            at("09:30", "01", to="paint"),
            at("10:00", "01", to="fix"),
            at("10:05", "01", heat_no=1, run="start", unit="steamer 1"),
            at("10:06", unit="oven 1", is_="down"),
        ],
        plan,
    )
    found = forecast(day, now("10:07"), evaluations=20)
    assert dict(found.left_out)["01"] == "oven 1 is down; put oven 1 back in use"
    assert "02" in dict(found.left_out)


def late(text: str, time: str = "09:00") -> list[str]:
    found = look(text, time)
    return [warned.text for warned in found.warned if warned.kind is WarningKind.WILL_NOT_FIT]


def test_a_batch_for_which_no_hours_are_left_says_when_it_would_be_done() -> None:
    """By itself, with nothing else to do; in a day that is longer by as much it fits."""
    short = STUDIO.replace('stop = "18:00"', 'stop = "11:30"')
    assert late(short) == ["01 is not rinsed by 11:30 (not before 11:54 even with no other work)"]
    assert late(short.replace("11:30", "11:54")) == []


def test_a_batch_whose_heat_fits_into_no_day_is_promised_for_none() -> None:
    """An hour a day, and heat of 70 min: it is not said to be rinsed two weeks on."""
    short = STUDIO.replace('stop = "18:00"', 'stop = "10:00"').replace("steam 40 min", "steam 70 min")
    found = look(short)
    assert found.tomorrow_finish is None
    assert [warned.do for warned in found.warned if warned.kind is WarningKind.WILL_NOT_FIT] == [
        "left for another day"
    ]
    assert look(short.replace("70 min", "20 min")).tomorrow_finish is not None


def test_a_batch_that_need_only_be_heated_by_the_stop_says_when_it_would_be_through_heat() -> None:
    """The time is that at which its heat goes off, not that of its rinse."""
    short = STUDIO.replace('stop = "18:00"', 'stop = "10:00"\naim = "heat by stop"')
    (said,) = late(short)
    assert said.startswith("01 is not through heat by 10:00 (not before ")


def test_a_batch_that_an_absence_costs_says_so() -> None:
    """Without the absence it would be rinsed by the stop."""
    text = STUDIO.replace('stop = "18:00"', 'stop = "12:30"\nout = ["10:20-11:10"]')
    (said,) = late(text)
    assert "no heat runs while you are out of the house (10:20 to 11:10)" in said
    assert late(text.replace('\nout = ["10:20-11:10"]', "")) == []


def many(batches: int) -> str:
    return STUDIO.replace("skeins = 5", f"skeins = {5 * batches}", 1).split("[[batch]]", maxsplit=1)[0]


def test_a_narrow_circuit_is_what_the_day_waits_for_and_more_of_it_helps() -> None:
    """Two steamers of which one at a time can run: a second pair of amps ends the day sooner."""
    text = many(6).replace(STEAMER, 'kind = "steamer"\nunits = 3\nholds = 5')
    text = text.replace('name = "Harbour"', 'name = "Harbour"\nminutes = 1')
    day = begin(read_plan(text))
    found = forecast(day, now("09:00"), evaluations=60)
    neck = bottleneck(found, day)
    assert neck is not None
    assert neck.name == "shed"
    gain = next(gains(day, found.at, found, evaluations=60))
    assert gain.label == "shed, more amps"
    assert gain.minutes > 60


def test_a_small_rack_is_what_the_day_waits_for() -> None:
    """Five skeins hang, and the next batches wait a day for the pegs."""
    day = begin(read_plan(many(3).replace("holds = 40", "holds = 8")))
    found = forecast(day, now("09:00"), evaluations=60)
    neck = bottleneck(found, day)
    assert neck is not None
    assert neck.name == "rack 1"
    more = next(gain for gain in gains(day, found.at, found, evaluations=60) if gain.label == "rack +1")
    assert more.minutes > 600


@pytest.mark.parametrize(("form", "fits"), [("mini", True), ("skein", False)])
def test_minis_take_their_share_of_a_rack_by_weight(form: str, fits: bool) -> None:
    """Five of 20 g hang where one skein would, on a rack for four; five skeins do not."""
    text = many(2).replace("holds = 40", "holds = 4").replace('skein = "100 g"', f'skein = "20 g"\nform = "{form}"')
    plan = read_plan(text)
    assert {batch.base.form for batch in begin(plan).unsplit} == {Form(form)}
    found = forecast(begin(plan), now("09:00"), evaluations=20)
    assert bool(found.left_out) is not fits


def test_yarn_of_yesterday_on_the_pegs_takes_its_room() -> None:
    """Eight skeins' room, five of them taken for a day: the next five are rinsed when the first are dry."""
    plan = read_plan(many(2).replace("holds = 40", "holds = 8"))
    steps = (("soak", "09:00"), ("paint", "09:30"), ("fix", "10:00"), ("cool", "11:00"), ("rinse", "12:00"))
    day = day_of([*(at(time, "01", to=to) for to, time in steps), at("12:10", "01", to="dry")], plan)
    found = forecast(day, now("12:11"), evaluations=20)
    rinse = next(step for step in found.steps if step.batch == "02" and step.kind is StepKind.RINSE)
    assert rinse.end - found.at.utc >= timedelta(hours=23)


def test_heat_that_broke_off_counts_only_whole_minutes() -> None:
    """At heat from 10:40, down at 11:09:40: 29 min 40 s, and as much to go as makes 40."""
    heat = at("10:30", "01", heat_no=1, run="start", unit="steamer 1")
    down = at("11:09:40", event="unit", unit="steamer 1", is_="down")
    day = day_of([*soaked(), at("10:30", "01", to="fix", unit="steamer 1"), heat, down])
    (why,) = (item.why for item in next_up(day, now("11:10")) if item.about == "01")
    assert "29 min at heat so far, 11 to go" in why


def test_a_forecast_within_a_minute_counts_from_the_same_midnight() -> None:
    """Its hours do not shift by the seconds."""
    day = day_of([at("09:30", "01", to="soak", unit="tray 1")])
    assert {forecast(day, now(time), evaluations=1).midnight for time in ("10:00", "10:00:50")} == {now("00:00").utc}
