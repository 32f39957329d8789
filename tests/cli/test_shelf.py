"""`dyeday shelf` through its door, and the commands that look at the shelf before a day."""

from __future__ import annotations

import json
import shutil
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from dyeday.files.durable import StoreError
from dyeday.track.timestamp import Moment
from tests.cli.test_commands import Shell
from tests.fakes import SHORT_DAY


@pytest.fixture
def shell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(tmp_path / "data", capsys)


def things(shell: Shell) -> dict[str, float]:
    assert shell("shelf", "--json") == 0
    return {each["name"]: each["amount"] for each in json.loads(shell.out)["things"]}


def test_an_empty_shelf_says_how_to_begin(shell: Shell) -> None:
    """Not an error: a studio's first day."""
    assert shell("shelf") == 0
    assert "--received" in shell.out


def test_deliveries_counts_solutions_and_losses(shell: Shell) -> None:
    """100 g came, 10 g went into 500 mL of 2 %, 79 g were weighed, a tenth of the vinegar was spilled."""
    assert shell("shelf", "--received", "Slate Blue", "--amount", "100 g", "--as", "dye", "--lot", "PW-113") == 0
    assert shell("shelf", "--made", "slate blue", "--amount", "500 mL", "--strength", "2 %") == 0
    assert things(shell) == {"Slate Blue": 90}
    assert shell("shelf", "--counted", "Slate Blue", "--amount", "79 g", "--why", "weighed") == 0
    assert (
        shell("shelf", "--received", "Slate Blue", "--amount", "10 g", "--received", "Soap", "--amount", "1 L") == 1
    )
    assert shell("shelf", "--received", "vinegar 5 %", "--amount", "2 L", "--as", "acid") == 0
    assert shell("shelf", "--used", "vinegar", "--amount", "200 mL", "--why", "spilled") == 0
    assert things(shell) == {"Slate Blue": 79, "vinegar 5 %": 1800}
    assert shell("shelf") == 0
    assert any("bottle Slate Blue 2 % " in line and ": 500 mL, powder lot PW-113" in line for line in shell.lines)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--received", "Sloe Blue", "--amount", "50 g"), "did you mean 'Slate Blue'?"),
        (("--received", "Slate Blue"), "the amount is missing; write --amount 100 g"),
        (("--received", "Slate Blue", "--amount", "50"), "'50' is not an amount of it"),
        (("--received", "Slate Blue", "--amount", "50 mL"), "'50 mL' is not an amount of it"),
        (
            ("--made", "Slate Blue", "--amount", "500 mL"),
            "--made 'Slate Blue': the strength is missing; write --made",
        ),
        (("--made", "Unheard", "--amount", "500 mL", "--strength", "2 %"), "'Unheard' is not a known dye"),
    ],
)
def test_what_cannot_be_read_is_refused_and_nothing_moves(shell: Shell, words: tuple[str, str], said: str) -> None:
    """One line with what would be right, exit 1."""
    assert shell("shelf", "--received", "Slate Blue", "--amount", "100 g", "--as", "dye") == 0
    assert shell("shelf", *words) == 1
    assert said in shell.err
    assert len(shell.err.splitlines()) == 1
    assert things(shell) == {"Slate Blue": 100}


def test_a_count_needs_its_reason(shell: Shell) -> None:
    """Wrong usage, exit 2."""
    with pytest.raises(SystemExit) as left:
        shell("shelf", "--counted", "Slate Blue", "--amount", "79 g")
    assert left.value.code == 2


@pytest.mark.parametrize("form", ["--json", "--csv"])
def test_every_movement_exported_comes_back_unchanged(shell: Shell, tmp_path: Path, form: str) -> None:
    """Into an empty data folder: the same lines; once more: nothing."""
    assert shell("shelf", "--received", '=Slate, "Blue"', "--amount", "100 g", "--as", "dye", "--lot", "'P-1") == 0
    assert (
        shell("shelf", "--made", '=Slate, "Blue"', "--amount", "500 mL", "--strength", "2 %", "--why", "for\tMonday")
        == 0
    )
    assert shell("shelf", "--counted", '=Slate, "Blue"', "--amount", "88 g", "--why", "weighed") == 0
    assert shell("shelf", "--moves", "--json") == 0
    bottles = json.loads(shell.out)
    assert len(bottles) == 3
    out = tmp_path / "moves.txt"
    if form == "--csv":
        assert shell("shelf", "--moves", "--csv", str(out)) == 0
    else:
        out.write_text(shell.out, encoding="utf-8")
    other = Shell(tmp_path / "other", shell.capsys)
    assert other("shelf", "--from", str(out)) == 0
    assert other("shelf", "--from", str(out)) == 0
    assert other("shelf", "--moves", "--json") == 0
    assert json.loads(other.out) == bottles
    assert bottles[1]["why"] == "for Monday"


def test_movements_that_are_none_are_refused_with_their_line(shell: Shell, tmp_path: Path) -> None:
    """file:line: what is wrong; what would be right."""
    bad = tmp_path / "bad.csv"
    bad.write_text("id,at,kind,thing,name,amount\nx,2026-03-01T09:00:00Z,stolen,dye,Navy,4\n", encoding="utf-8")
    assert shell("shelf", "--from", str(bad)) == 1
    assert shell.err.startswith(f"{bad}:2: 'stolen' is not a movement")
    bad.write_text("id,at,kind,weight\n", encoding="utf-8")
    assert shell("shelf", "--from", str(bad)) == 1
    assert shell.err.startswith(f"{bad}:1: no column 'weight'")
    for line, said in (
        ("x" * 200_000, "this is not a row of a table"),
        ("x,2026-03-01T09:00:00Z,made,bottle,Navy,4,mL,,inf", "is infinite"),
    ):
        bad.write_text(f"id,at,kind,thing,name,amount,unit,why,powder_g\n{line}\n", encoding="utf-8")
        assert shell("shelf", "--from", str(bad)) == 1
        assert shell.err.startswith(f"{bad}:2: ") and said in shell.err
    bad.write_text('[{"id": "x", "id": "y"}]', encoding="utf-8")
    assert shell("shelf", "--from", str(bad)) == 1
    assert "key 'id' appears twice" in shell.err
    assert things(shell) == {}


def test_the_shelf_as_a_table_for_a_spreadsheet(shell: Shell, tmp_path: Path) -> None:
    """A name that begins as a formula does is not a formula there."""
    assert shell("shelf", "--received", "=Navy", "--amount", "100 g", "--as", "dye") == 0
    out = tmp_path / "shelf.csv"
    assert shell("shelf", "--csv", str(out)) == 0
    head, row = out.read_text(encoding="utf-8").splitlines()
    assert head.startswith('"thing","name","amount"')
    assert row.startswith('"dye","\'=Navy",100')


def without_on_hand(tmp_path: Path) -> Path:
    text = "\n".join(line for line in SHORT_DAY.read_text(encoding="utf-8").splitlines() if "on_hand" not in line)
    plan = tmp_path / "day.toml"
    plan.write_text(text, encoding="utf-8")
    return plan


def test_a_shortage_is_seen_before_the_day(shell: Shell, tmp_path: Path) -> None:
    """The plan says nothing is on hand; the shelf has two grams of Slate Blue and three skeins."""
    plan = without_on_hand(tmp_path)
    assert shell("check", str(plan)) == 0
    assert not any(line.startswith("short:") for line in shell.lines)
    assert shell("shelf", "--received", "Slate Blue", "--amount", "2 g", "--as", "dye") == 0
    assert shell("shelf", "--received", "Plain Sock", "--amount", "3 pieces", "--as", "yarn") == 0
    assert shell("check", str(plan)) == 0
    short = [line for line in shell.lines if line.startswith("short:")]
    assert len(short) == 2
    assert "short: Plain Sock: 9 skeins needed, 3 on hand" in short
    assert shell("check", str(plan), "--strict") == 1
    assert shell("weigh", str(plan), "--json") == 0
    assert json.loads(shell.out)["totals"]["dyes"]["Slate Blue"]["on_hand_g"] == 2


def test_the_day_begun_flags_what_the_shelf_is_short_of(shell: Shell, tmp_path: Path) -> None:
    """The flag of the day, with the shelf's numbers."""
    assert shell("shelf", "--received", "Plain Sock", "--amount", "3 pieces", "--as", "yarn") == 0
    assert shell("begin", str(without_on_hand(tmp_path))) == 0
    assert shell("mark", "01", "soak") == 0
    assert shell("flags") == 0
    assert "Plain Sock: 9 skeins needed, 3 on hand" in " ".join(shell.out.split())


def test_a_delivery_during_the_day_reaches_its_flag(shell: Shell, tmp_path: Path) -> None:
    """Six skeins more by post: nine of nine; the log says so, and so does the shelf."""
    assert shell("shelf", "--received", "Plain Sock", "--amount", "3 pieces", "--as", "yarn") == 0
    assert shell("begin", str(without_on_hand(tmp_path))) == 0
    assert shell("mark", "01", "soak") == 0
    assert shell("shelf", "--received", "Plain Sock", "--amount", "5 pieces") == 0
    assert shell("flags") == 0
    assert "Plain Sock: 9 skeins needed, 8 on hand" in " ".join(shell.out.split())
    assert shell("shelf", "--received", "Plain Sock", "--amount", "1 piece") == 0
    assert shell("flags") == 0
    assert "Plain Sock" not in shell.out
    assert shell("log") == 0
    assert "received: 5 pieces of Plain Sock" in shell.out
    assert shell("shelf", "--json") == 0
    (yarn,) = [each for each in json.loads(shell.out)["things"] if each["name"] == "Plain Sock"]
    assert yarn["amount"] == 9


def test_a_delivery_of_what_only_the_plan_knew_comes_on_top_of_it(shell: Shell) -> None:
    """The plan has 24 pieces on hand; ten more are 34, on the shelf as for the day."""
    assert shell("begin", str(SHORT_DAY)) == 0
    assert shell("shelf", "--received", "Plain Sock", "--amount", "10 pieces") == 0
    assert shell("shelf", "--json") == 0
    (yarn,) = [each for each in json.loads(shell.out)["things"] if each["name"] == "Plain Sock"]
    assert yarn["amount"] == 34


def test_a_plan_that_says_other_than_the_shelf_is_reported_so(shell: Shell) -> None:
    """The plan's own counts."""
    assert shell("shelf", "--received", "Plain Sock", "--amount", "3 pieces", "--as", "yarn") == 0
    assert shell("check", str(SHORT_DAY)) == 0
    assert "shelf: Plain Sock: the plan has 24 pieces on hand, the shelf 3; the plan's amount counts" in shell.lines


def test_reordering_can_stop_a_script(shell: Shell) -> None:
    """--strict is 1 where something is due."""
    assert shell("shelf", "--received", "Slate Blue", "--amount", "100 g", "--as", "dye") == 0
    assert shell("shelf", "--strict") == 0
    assert shell("shelf", "--used", "Slate Blue", "--amount", "80 g", "--why", "a big night") == 0
    assert shell("shelf", "--strict") == 1
    assert shell.lines[0].startswith("reorder Slate Blue: 20 g, 80 g a week (from 1 day only), 2 days left")


def test_what_was_used_is_said_in_the_shell_too(shell: Shell, tmp_path: Path) -> None:
    """Solution in mL, powder in g, soap as the plan has it; what was left over stands in a bottle that evening."""
    plan = tmp_path / "day.toml"
    soap = '\n[[extra]]\nname = "Soap"\namount = "2 mL"\n'
    plan.write_text(SHORT_DAY.read_text(encoding="utf-8") + soap, encoding="utf-8")
    assert shell("begin", str(plan)) == 0
    assert shell("mark", "01", "soak") == 0
    assert shell("mark", "01", "paint") == 0
    words = (
        "--used",
        "slate blue=120 mL",
        "--used",
        "Rosehip=0,4 g",
        "--used",
        "soap=5",
        "--left-over",
        "Slate Blue=20",
    )
    assert shell("mark", "01", *words) == 0, shell.err
    assert shell("log", "--json") == 0
    event = json.loads(shell.lines[-1])
    assert event["used"] == {"Slate Blue": 120, "powder": {"Rosehip": 0.4}, "extra": {"Soap": 5}}
    assert event["left_over"] == {"Slate Blue": 20}
    assert shell("mark", "01", "--used", "Slate Blur=3 mL") == 1
    assert "did you mean 'Slate Blue'?" in shell.err
    assert shell("mark", "01", "--used", "Slate Blue=3 km") == 1
    assert shell("close") == 0
    # 120 mL of 2 % poured: 2.4 g of the 55 g the plan has
    assert things(shell)["Slate Blue"] == pytest.approx(52.6)
    assert shell("shelf") == 0
    assert any("bottle Slate Blue 2 % " in line and ": 20 mL" in line for line in shell.lines)


def test_what_moved_is_said_by_options_each_amount_behind_its_thing(shell: Shell) -> None:
    """Names as they are, with quantities or % in them too."""
    assert shell("shelf", "--received", "Slate Blue", "--amount", "100", "g", "--as", "dye", "--lot", "PW-113") == 0
    assert shell("shelf", "--made", "Slate Blue", "--amount", "500", "mL", "--strength", "2", "%") == 0
    assert (
        shell("shelf", "--received", "Slate Blue", "--amount", "5 g", "--received", "Slate Blue", "--amount", "5 g")
        == 0
    )
    assert shell("shelf", "--received", "Plain Sock 100 g", "--amount", "20", "skeins", "--as", "yarn") == 0
    assert shell("shelf", "--used", "Slate Blue", "--amount", "20", "g", "--why", "spilled") == 0
    assert things(shell) == {"Slate Blue": 80, "Plain Sock 100 g": 20}
    for wrong, said in (
        (("--received", "Sloe Blue", "--amount", "5 g"), "did you mean 'Slate Blue'?"),
        (("--received", "Slate Blue", "--amount", "5 mL"), "'5 mL' is not an amount of it; write --amount 100 g"),
        (("--received", "Slate Blue", "--amount", "5 g", "--strength", "2 %"), "--strength goes with --made"),
    ):
        assert shell("shelf", *wrong) == 1
        assert said in shell.err
    with pytest.raises(SystemExit):
        shell("shelf", "--amount", "5 g")
    assert things(shell)["Slate Blue"] == 80, "nothing of what was refused is on it"


def test_a_delivery_is_put_on_the_shelf_once_and_the_day_gets_it_as_soon_as_it_can_be(
    shell: Shell, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Said, and no failure: typed again it would be there twice."""
    from dyeday.store.session_file import SessionFile

    def full(*_: object) -> None:
        raise StoreError("nothing could be saved", "make room")

    assert shell("begin", str(SHORT_DAY)) == 0
    with monkeypatch.context() as broken:
        broken.setattr(SessionFile, "add", full)
        assert shell("shelf", "--received", "Slate Blue", "--amount", "100 g", "--as", "dye") == 0
        assert "the delivery is on the shelf; session 2026-03-14-1 does not show it yet: nothing" in shell.err
    assert things(shell)["Slate Blue"] == 155, "55 g of the plan and what came"
    assert shell("log") == 0
    assert shell.out.count("Slate Blue") == 1, "the next command tells the day, once"
    assert shell("log") == 0
    assert shell.out.count("Slate Blue") == 1


def test_one_name_may_be_an_acid_and_an_extra_and_as_says_which_is_meant(shell: Shell) -> None:
    """Without --as a name of two things is refused, with what it may be."""
    assert shell("shelf", "--received", "citric", "--amount", "500 g", "--as", "acid") == 0
    assert shell("shelf", "--received", "citric", "--amount", "200 g", "--as", "extra") == 0
    assert shell("shelf", "--used", "citric", "--amount", "1 g", "--why", "spilled") == 1
    assert "'citric' is acid and extra; say which with --as " in shell.err
    assert shell("shelf", "--used", "citric", "--amount", "1 g", "--why", "spilled", "--as", "extra") == 0
    assert shell("shelf", "--json") == 0
    amounts = {each["thing"]: each["amount"] for each in json.loads(shell.out)["things"]}
    assert amounts == {"acid": 500, "extra": 199}


def test_two_deliveries_at_once_add_to_what_the_running_plan_has_on_hand(shell: Shell) -> None:
    """The plan's 60 g are put on the shelf before the first of them only."""
    assert shell("begin", str(SHORT_DAY)) == 0, shell.err
    assert shell("shelf", "--received", "Peat", "--amount", "50 g", "--received", "Peat", "--amount", "30 g") == 0
    assert things(shell)["Peat"] == 140


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="Windows has no zone for one process")
def test_a_bottle_is_as_old_as_the_dates_of_this_place_say(shell: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    """Made on 16 Feb in Sydney and looked at on 18 Apr at 9, when it is still the 17th in Greenwich: 61 days."""
    made = ("--made", "Navy", "--amount", "100 mL", "--strength", "1 %", "--as", "dye")
    with monkeypatch.context() as patch:
        patch.setenv("TZ", "Australia/Sydney")
        time.tzset()
        patch.setattr("dyeday.store.clock.now", lambda: Moment(datetime(2026, 2, 16, 0, tzinfo=UTC)))
        assert shell("shelf", *made) == 0, shell.err
        patch.setattr("dyeday.store.clock.now", lambda: Moment(datetime(2026, 4, 17, 23, tzinfo=UTC)))
        assert shell("shelf") == 0, shell.err
    time.tzset()
    assert "61 days old: look for sediment" in shell.out


def test_a_bottle_whose_name_lacks_strength_and_date_has_both_beside_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of an older folder; a bottle with a name of today has them once."""
    shell = Shell(tmp_path / "data", capsys)
    shutil.copytree(Path(__file__).parents[1] / "store" / "files" / "folder-1", shell.data)
    assert shell("shelf") == 0, shell.err
    assert "bottle Navy 1: 560 mL of 1 %, made 01 Apr 2026, powder lot N-88" in shell.out
    assert shell("shelf", "--made", "Navy", "--amount", "100 mL", "--strength", "2 %") == 0, shell.err
    (named,) = (line for line in shell.lines if "bottle Navy 2 % " in line)
    assert "made" not in named and " of " not in named
