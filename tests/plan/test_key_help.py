"""`dyeday help plan` is the reference of a plan: it names what the reader asks for, with the defaults it takes."""

from __future__ import annotations

import re

import pytest

from dyeday.cli import main
from dyeday.commands.usage.command_table import TOPICS
from dyeday.paper.help_pages import PAGES, help_lines
from dyeday.plan.key_help import TABLES, keys_of, plan_help
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.table_reader import Table
from dyeday.terms import FlagId
from dyeday.track.flags import RULES
from tests.fakes import SHORT_DAY
from tests.plan.plans import plan, plan_text, problems_of

BESIDE = {"session": {"sound", "serves"}, "water": {"bicarbonate"}}
"""read and not declared: one does nothing any more, the other is another way to say alkalinity"""


def test_help_names_every_key_that_is_read_and_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """Under its table, as the reader asks for it."""
    asked: dict[str, set[str]] = {}
    finish = Table.finish

    def noted(table: Table) -> None:
        path = ".".join(part for part in table.path if isinstance(part, str))
        asked.setdefault(path, set()).update(table.asked)
        finish(table)

    monkeypatch.setattr(Table, "finish", noted)
    more = '\n[[extra]]\nname = "soap"\namount = "2 mL"\n\n[[batch]]\norder = "Shop, rain"\nskeins = 4\n'
    read_plan(SHORT_DAY.read_text(encoding="utf-8") + more)
    asked["colourway"] -= asked["colourway.layer"] - {"name", "layer"}
    tables = {table.strip("[]"): {entry.name for entry in keys_of(table)} for table in TABLES}
    assert asked.pop("") == set(tables) - {"colourway.layer"}
    assert {name: asked[name] - BESIDE.get(name, set()) for name in tables} == tables


def test_help_says_a_bound_that_the_reader_holds() -> None:
    """One step beyond what help prints is refused, the bound itself is taken."""
    checked = 0
    for table in ("[water]", "[rules]", "[air]"):
        for entry in keys_of(table):
            if entry.kind is not float or entry.key.high is None or entry.name == "altitude":
                continue
            name, high = f"{table.strip('[]')}.{entry.name}", entry.key.high
            line = next(line for line in _lines(table) if line.startswith(f"{entry.name}:"))
            assert f"{entry.key.low:.12g} to {high:.12g}" in line
            assert plan({name: f"{high}"}) is not None
            assert [problem.what for problem in problems_of(plan_text({name: f"{high + 1}"}))] != []
            checked += 1
    assert checked > 20


def _lines(table: str) -> list[str]:
    """Return the lines of help below ``table``."""
    said = "\n".join(plan_help())
    return [line.strip() for line in said.split(f"\n{table}\n", 1)[1].split("\n\n", 1)[0].splitlines()]


def test_the_command_prints_it_and_lists_its_topics(capsys: pytest.CaptureFixture[str]) -> None:
    """Without a topic it lists them; an unknown one is wrong usage."""
    assert main(["help"]) == 0
    listed = capsys.readouterr().out
    assert [line.split()[2] for line in listed.splitlines()] == list(TOPICS) == list(PAGES)
    for topic in TOPICS:
        assert main(["help", topic]) == 0
        assert len(capsys.readouterr().out.splitlines()) > 9
    assert main(["help", "plan"]) == 0
    said = capsys.readouterr().out
    assert re.search(r"temperature: of the cold tap \(°C, 0 to 60; default 15 °C\)", said)
    with pytest.raises(SystemExit) as refused:
        main(["help", "plann"])
    assert refused.value.code == 2


def test_help_explains_every_flag_with_its_thresholds() -> None:
    """Each flag has a sentence, and each threshold of a flag the default that the plan's reader has."""
    said = " ".join(" ".join(help_lines("flags")).split())
    assert set(RULES) == set(FlagId)
    assert [flag.value for flag in FlagId if f"({flag.value})" not in said] == []
    assert "acid_share: least share of the full dose of acid in the bath (%, 0 to 100; default" in said
    alarms = {"overdue_after", "steam_over", "re_alarm"}
    named = {key for rule in RULES.values() for key in rule.thresholds}
    assert named | alarms == {entry.name for entry in keys_of("[rules]")}


def test_help_says_that_more_people_do_not_change_the_timetable() -> None:
    """They change what is learned and what has probably happened; the forecast plans one pair of hands."""
    (line,) = (line for line in _lines("[session]") if line.startswith("hands:"))
    assert "learned times use it, the forecast plans for one" in line


def test_what_the_help_shows_of_a_key_with_several_values_can_be_copied_into_a_plan() -> None:
    """A base's fibre, a dye's bottle and a layer's sections, each the first bracketed value of its line."""
    lines = [line.strip().partition(": ") for line in plan_help()]
    shown = {name: means for name, _, means in lines if name in ("fibre", "bottle", "sections")}
    fibre, bottle = (re.findall(r"\{.*?\}", shown[name])[0] for name in ("fibre", "bottle"))
    sections = re.findall(r"\[\{.*\}\]", shown["sections"])[0]
    fields = {"base.fibre": fibre, "colourway.sections": sections.replace("Slate Blue", "Peat"), "dye.bottle": bottle}
    made = plan(fields)
    assert dict(made.bases[0].fibre) == {"merino": 80, "nylon": 20}
    assert (made.dyes[0].bottle_ml, made.dyes[0].bottle_pct) == (40, 2)
    assert [section.share_pct for section in made.colourways[0].layers[0].sections] == [60, 40]
