"""The lot book through its command: found, shown, added to, taken out and in, dyed again."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dyeday.paper.sheets.lot_list import csv_rows
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.store.records.library import LibraryRecords
from dyeday.store.records.lots import LotBook
from dyeday.store.sessions import Sessions
from dyeday.studio.lots.lot import Lot, LotFact, LotFactKind
from dyeday.studio.lots.lot_making import lots_of_day
from dyeday.text import csv_original, csv_text, harmless
from dyeday.track.folding.fold import fold
from tests.cli.test_commands import Shell
from tests.store.test_lot_book import LATER, finished, session_of
from tests.track.days import PLAN, THE_PLAN, Line, at, events, now


@pytest.fixture
def book(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shell:
    """A shell in a studio with one closed day: lots 260418-01 (Harbour on Sock) and 260418-08 (Harbour on Wool)."""
    shell = Shell(tmp_path / "data", capsys)
    used: list[Line] = [at("10:01", "01", used={"Navy": 340})]
    session_of(shell.data, [*finished("01", "08"), *used])
    return shell


def test_lots_are_listed_newest_first_and_found_by_words(book: Shell) -> None:
    """One line each: number, pieces, what it is, what is to be said of it."""
    assert book("lots") == 0
    assert [line.split()[:2] for line in book.lines] == [["260418-08", "4"], ["260418-01", "3"]]
    assert "Harbour on Sock" in book.lines[1]
    assert book("lots", "harbour", "ida") == 0
    assert [line.split()[0] for line in book.lines] == ["260418-01"]
    assert book("lots", "purple") == 0
    assert book.lines == ["no lot has 'purple'"]


def test_a_number_shows_one_lot_whole(book: Shell) -> None:
    """Recipe, amounts, heat, readings, who got it; as JSON all of it."""
    assert book("lots", "260418-01") == 0
    for said in ("260418-01", "Harbour", "Navy", "340", "steam", "harbour for Ida", "clear"):
        assert said in book.out
    assert book("lots", "260418-01", "--json") == 0
    whole = json.loads(book.out)
    assert whole["colourway"]["layers"][0]["sections"][0]["dyes"] == [["Navy", 1.0]]
    assert whole["batches"][0]["shares"] == [["harbour for Ida", 3]]
    assert book("lots", "260418-05") == 1
    assert "no lot '260418-05'; did you mean" in book.err


def test_what_is_kept_later_is_found_and_shown(book: Shell, tmp_path: Path) -> None:
    """Note, mill lot, powder lot, photo and look; a wrong dye or file is refused and nothing is kept."""
    photo = tmp_path / "porch.jpg"
    photo.write_bytes(b"x")
    assert (
        book("lots", "260418-01", "--note", "sent the last one", "--mill-lot", "MW 4471", "--photo", str(photo)) == 0
    )
    assert book("lots", "ida", "--powder-lot", "Navy=N-88", "--look", "redder") == 0
    assert book.lines == ["kept with lot 260418-01: powder lot, look"]
    for word in ("4471", "n-88", "redder", "porch.jpg", "last one"):
        assert book("lots", word) == 0
        assert [line.split()[0] for line in book.lines] == ["260418-01"]
    assert book("lots", "260418-01") == 0
    assert {"mill lot: MW 4471", "powder lot of Navy: N-88", "look: redder"} <= {
        " ".join(line.split()[3:]) for line in book.lines
    }
    assert book("lots", "260418-01", "--powder-lot", "Nafy=1", "--note", "x") == 1
    assert "Navy" in book.err
    assert book("lots", "260418-01", "--photo", str(tmp_path / "none.jpg")) == 1
    assert book("lots", "harbour", "--note", "which?") == 1
    assert "2 lots have 'harbour'" in book.err
    assert book("lots", "--note", "which?") == 1
    assert len(LotBook(book.data).lot("260418-01").added) == 5


def today(folder: Path, **changes: str) -> Path:
    """Return the file of another day's plan: other water, heavier skeins, stronger solution."""
    text = PLAN.replace("date = 2026-04-18", "date = 2026-06-01").replace('skein = "100 g"', 'skein = "115 g"')
    text = text.replace(
        'name = "Navy"', 'name = "Navy"\nsolution = "2 %"\nbottle = { left = "50 mL", made = 2026-05-20 }'
    )
    for old, new in changes.items():
        text = text.replace(old, new)
    file = folder / "today.toml"
    file.write_text(text.replace("[[kit]]", '[water]\nalkalinity = "180 mg/L"\n\n[[kit]]', 1), encoding="utf-8")
    return file


def test_a_lot_again_is_an_order_on_todays_yarn_and_says_what_differs(book: Shell, tmp_path: Path) -> None:
    """3 × 115 g at 1 % are 3.45 g, in 172.5 mL of 2 % solution; then 3 g in 300 mL, of which 340 were used."""
    book(
        "lots",
        "260418-01",
        "--mill-lot",
        "MW 4471",
        "--powder-lot",
        "N-88",
        "--look",
        "darker",
        "--note",
        "stir it twice",
    )
    assert book("shelf", "--received", "Sock", "--amount", "20 pieces", "--as", "yarn", "--lot", "MW 6000") == 0
    plan = today(tmp_path)
    assert book("lots", "260418-01", "--again", "--plan", str(plan)) == 0
    read = read_plan(f"{plan.read_text(encoding='utf-8')}\n{book.out}")
    order = read.orders[-1]
    assert (order.item, order.colourway, order.base, order.skeins) == (
        "Harbour again, lot 260418-01", "Harbour", "Sock", 3,
    )  # fmt: skip
    assert book("lots", "260418-01", "--again", "--plan", str(plan), "--json") == 0
    repeat = json.loads(book.out)
    (dye,) = repeat["dyes"]
    assert {key: round(dye[key], 6) for key in ("then_g", "then_ml", "used_ml", "now_g", "now_ml")} == {
        "then_g": 3.0, "then_ml": 300.0, "used_ml": 340.0, "now_g": 3.45, "now_ml": 172.5,
    }  # fmt: skip
    differs = {item["what"]: (item["then"], item["now"]) for item in repeat["differs"]}
    assert differs["water alkalinity"] == ("not known", "180 mg/L")
    assert differs["weight of one skein"] == ("100 g", "115 g")
    assert differs["Navy, solution"] == ("1 %", "2 %")
    assert differs["Navy, age of the solution"] == ("mixed fresh", "12 days")
    assert differs["mill lot"] == ("MW 4471", "MW 6000")
    assert differs["Navy, powder lot"] == ("N-88", "not known")
    assert repeat["acid_then"] == 60.0  # 300 g by weight of fibre, where the water was not known
    assert repeat["acid_now"] > 0
    assert repeat["reminders"][0] == "stir it twice"
    assert any("darker" in said for said in repeat["reminders"])
    assert any("340 mL of Navy" in said for said in repeat["reminders"])
    assert any("50 mL of acid" in said for said in repeat["reminders"])


def test_a_recipe_that_has_changed_since_comes_as_it_was_under_another_name(book: Shell, tmp_path: Path) -> None:
    """Today's own Harbour stays; the lot's is defined beside it, and what the plan lacks of dyes and yarn too."""
    plan = today(tmp_path, **{"dyes = { Navy = 1.0 } }]\n\n# 02": "dyes = { Navy = 3.0 } }]\n\n# 02"})
    assert book("lots", "260418-01", "--again", "--plan", str(plan), "--skeins", "5") == 0
    read = read_plan(f"{plan.read_text(encoding='utf-8')}\n{book.out}")
    order = read.orders[-1]
    assert (order.colourway, order.skeins) == ("Harbour, lot 260418-01", 5)
    assert read.colourway(order.colourway).layers == LotBook(book.data).lot("260418-01").colourway.layers
    assert read.colourway("Harbour").layers[0].sections[0].dyes == (("Navy", 3.0),)


def test_a_lot_again_in_another_studios_plan_brings_its_dye_and_yarn(book: Shell, tmp_path: Path) -> None:
    """What the plan does not have is defined as it was."""
    from tests.plan.plans import plan_text

    plan = tmp_path / "other.toml"
    plan.write_text(plan_text({"base.name": '"Other"', "order.base": '"Other"'}), encoding="utf-8")
    assert book("lots", "260418-01", "--again", "--plan", str(plan), "--json") == 0
    assert json.loads(book.out)["defines"] == [], "this studio's library has it all"
    assert book("lots", "--json") == 0
    file = tmp_path / "lots.json"
    file.write_text(book.out, encoding="utf-8")
    other = Shell(tmp_path / "other", book.capsys)
    assert other("lots", "--from", str(file)) == 0
    assert other("lots", "260418-01", "--again", "--plan", str(plan)) == 0
    read = read_plan(f"{plan.read_text(encoding='utf-8')}\n{other.out}")
    lot = LotBook(book.data).lot("260418-01")
    assert read.base("Sock") == lot.base
    assert read.dye("Navy") == lot.dyes[0]
    assert read.colourway("Harbour") == lot.colourway


def test_a_lot_goes_into_a_plan_whose_comments_stay(book: Shell, tmp_path: Path) -> None:
    """After the last order, its own recipe at the end where today's is another; a plan that it does not fit stays."""
    plan = today(tmp_path, **{"dyes = { Navy = 1.0 } }]\n\n# 02": "dyes = { Navy = 3.0 } }]\n\n# 02"})
    plan.write_text(f"# mine\n{plan.read_text(encoding='utf-8')}# the end\n", encoding="utf-8")
    before = plan.read_text(encoding="utf-8")
    assert book("lots", "260418-01", "--into", str(plan)) == 0
    assert book.lines == [
        f"'Harbour again, lot 260418-01' is in {plan}, with its own colourway Harbour, lot 260418-01"
    ]
    after = plan.read_text(encoding="utf-8")
    assert after.startswith("# mine") and "# the end" in after
    order = read_plan(after).orders[-1]
    assert (order.item, order.skeins) == ("Harbour again, lot 260418-01", 3)
    assert all(line in after.splitlines() for line in before.splitlines())
    assert book("lots", "260418-01", "--into", str(plan)) == 0
    assert read_plan(plan.read_text(encoding="utf-8")).orders[-1].item == "Harbour again, lot 260418-01 (2)"
    plan.write_text("[session", encoding="utf-8")
    assert book("lots", "260418-01", "--into", str(plan)) == 1
    assert plan.read_text(encoding="utf-8") == "[session"


def test_a_lot_can_be_the_first_order_of_a_plan(book: Shell, tmp_path: Path) -> None:
    """A new plan that has its day, water and kit and nothing to dye yet; nothing else makes do without an order."""
    plan = tmp_path / "next.toml"
    day = '[session]\nname = "Next year"\ndate = 2027-04-18\nstart = "09:00"\nstop = "17:00"\n'
    plan.write_text(day + '\n[water]\nalkalinity = "120 mg/L"\n', encoding="utf-8")
    assert book("check", str(plan)) == 1
    assert book("lots", "260418-01", "--into", str(plan)) == 0, book.err
    read = read_plan(plan.read_text(encoding="utf-8"), LibraryRecords(book.data).library())
    assert [order.item for order in read.orders] == ["Harbour again, lot 260418-01"]
    assert "120 mg/L now" in book.err
    assert book("check", str(plan)) == 0, book.err


def test_a_lot_again_begins_a_plan_that_is_not_there_for_the_day_of_its_name(book: Shell, tmp_path: Path) -> None:
    """The yarn of the order that must match is one order again that must match."""
    plan = tmp_path / "2027-01-05.toml"
    assert book("lots", "260418-08", "--again", "--into", str(plan)) == 0, book.err
    assert book.lines == [f"'Harbour again, lot 260418-08' is in {plan}, a new plan for Tue 05 Jan 2027"]
    read = read_plan(plan.read_text(encoding="utf-8"), LibraryRecords(book.data).library())
    assert f"{read.session.date}" == "2027-01-05"
    assert [(order.skeins, order.match) for order in read.orders] == [(4, True)]


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("data/sessions/2027-01-05-1.json", "is in the data folder"),
        ("data/next.toml", "is in the data folder"),
        ("2027-13-40.toml", "its name is not a date"),
        ("14-03-2027.toml", "its name is not a date"),
        ("1027-01-05.toml", "its name is not a date"),
    ],
)
def test_a_lot_again_begins_no_plan_among_the_records_or_under_a_date_that_is_none(
    book: Shell, tmp_path: Path, name: str, said: str
) -> None:
    """One line, exit 1, and there is no file."""
    assert book("lots", "260418-08", "--again", "--into", str(tmp_path / name)) == 1
    assert said in book.err
    assert len(book.err.splitlines()) == 1
    assert not (tmp_path / name).exists()


def test_again_without_a_plan_compares_with_the_newest_session(book: Shell) -> None:
    """Or with nothing, where there is none."""
    assert book("lots", "260418-01", "--again") == 0
    assert "session 2026-04-18-1" in book.err
    assert '[[order]]\nitem = "Harbour again, lot 260418-01"' in book.out


def test_lots_taken_out_as_json_go_into_another_book_unchanged(book: Shell, tmp_path: Path) -> None:
    """The same JSON comes out of it; a second time nothing is taken; what is none is refused as a whole."""
    book("lots", "260418-01", "--note", 'with "quotes", ; and = signs', "--look", "match")
    assert book("lots", "--json") == 0
    out = book.out
    file = tmp_path / "lots.json"
    file.write_text(out, encoding="utf-8")
    other = Shell(tmp_path / "other", book.capsys)
    assert other("lots", "--from", str(file)) == 0
    assert other.lines == ["2 imported, 0 already there"]
    assert other("lots", "--json") == 0
    assert other.out == out
    assert other("lots", "--from", str(file)) == 0
    assert other.lines == ["0 imported, 2 already there"]
    bad = json.loads(out)
    bad[1]["number"] = "../../x"
    file.write_text(json.dumps(bad), encoding="utf-8")
    third = Shell(tmp_path / "third", book.capsys)
    assert third("lots", "--from", str(file)) == 1
    assert "lot 2 of the list" in third.err
    assert third("lots") == 0
    assert "no finished lot yet" in third.out


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("number", "260418"),
        ("session", "2026-04-18-1,2=3"),
        ("mix", "\ud800"),
        ("batches", []),
        ("date", "yesterday"),
        ("acid", {"kind": "vinegar", "target_ph": float("inf")}),
        ("unknown", 1),
    ],
)
def test_what_is_not_a_lot_is_not_taken_in(book: Shell, tmp_path: Path, key: str, value: object) -> None:
    """One line on stderr, and nothing in the book."""
    assert book("lots", "260418-01", "--json") == 0
    file = tmp_path / "lots.json"
    file.write_text(json.dumps({**json.loads(book.out), key: value}), encoding="utf-8")
    other = Shell(tmp_path / "other", book.capsys)
    assert other("lots", "--from", str(file)) == 1
    assert ("this is not JSON" if key == "acid" else "lot 1 of the list is not a lot") in other.err
    assert other("lots", "--json") == 0
    assert json.loads(other.out) == []


def test_a_list_with_one_number_twice_is_taken_only_where_both_are_the_same(book: Shell, tmp_path: Path) -> None:
    """Two that differ cannot both be it."""
    assert book("lots", "260418-01", "--json") == 0
    lot = json.loads(book.out)
    file = tmp_path / "lots.json"
    other = Shell(tmp_path / "other", book.capsys)
    file.write_text(json.dumps([lot, {**lot, "mix": "another"}]), encoding="utf-8")
    assert other("lots", "--from", str(file)) == 1
    file.write_text(json.dumps([lot, lot]), encoding="utf-8")
    assert other("lots", "--from", str(file)) == 0
    assert other.lines == ["1 imported, 1 already there"]


def test_a_csv_has_a_line_for_each_lot(book: Shell, tmp_path: Path) -> None:
    """As a file or on stdout; formulas in names are text."""
    book("lots", "260418-01", "--note", "=1+1")
    file = tmp_path / "lots.csv"
    assert book("lots", "harbour", "--csv", str(file)) == 0
    rows = list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8"))))
    assert [row["number"] for row in rows] == ["260418-08", "260418-01"]
    assert rows[1]["dyes"] == "Navy 3.4 g"
    assert rows[0]["dyes"] == "Navy 4 g by the recipe"
    assert rows[1]["notes"] == "'=1+1"
    assert (rows[1]["pieces"], rows[1]["wof_g"]) == ("3", "300.0")
    assert book("lots", "--csv", "-") == 0
    assert book.out.splitlines()[0].startswith('"number","date"')
    assert book("lots", "--csv", str(tmp_path / "no" / "such.csv")) == 1


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=60).map(harmless).map(str.strip)


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(texts=st.lists(TEXTS.filter(bool), min_size=1, max_size=4), number=st.integers(1, 10**6))
def test_whatever_is_kept_with_a_lot_comes_back_from_json_and_csv(
    tmp_path_factory: pytest.TempPathFactory, texts: list[str], number: int
) -> None:
    """Any text: accents, formulas, quotes, separators, other scripts."""
    data = tmp_path_factory.mktemp("book")
    one = LotBook(data / f"{number}-a")
    made = _a_lot()
    one.import_lots([made])
    one.add_facts(made.number, [LotFact(LATER, LotFactKind.NOTE, text) for text in texts])
    one.add_facts(made.number, [LotFact(LATER, LotFactKind.MILL_LOT, texts[0])])
    kept = one.lot(made.number)
    assert [note.text for note in kept.facts_of(LotFactKind.NOTE)] == texts
    cells = next(csv.DictReader(io.StringIO(csv_text(csv_rows([kept])), newline="")))
    assert csv_original(cells["mill_lot"]) == texts[0]
    assert csv_original(cells["notes"]) == "; ".join(dict.fromkeys(texts))
    two = LotBook(data / f"{number}-b")
    two.import_lots([kept])
    assert two.lot(made.number) == kept
    for text in texts:
        assert [row.number for row in two.find([text])] == [made.number]


def _a_lot() -> Lot:
    day = fold(THE_PLAN, events([*finished("01"), at("34:00", event="closed")]))
    return lots_of_day(day, "2026-04-18-1", now("34:00"))[0]


def test_records_that_are_lost_are_made_again_from_the_days(book: Shell) -> None:
    """With their copies: then it is a new folder with old sessions in it."""
    before = LotBook(book.data).lot("260418-01")
    (book.data / "studio.db").unlink()
    assert book("lots", "ida") == 0
    assert [line.split()[0] for line in book.lines] == ["260418-01"]
    assert "2026-04-18-1 was closed, and is now in the records" in book.err
    assert LotBook(book.data).lot("260418-01") == before


def test_closing_tells_the_lots_it_made(book: Shell) -> None:
    """With their numbers, for the labels."""
    session = Sessions(book.data).begin(read_plan(PLAN), Path("plan.toml"), PLAN, now("08:00"))
    session.add(events(finished("03")))
    assert book("close") == 0
    assert "lot 260418.2-03: Peat on Wool, 4 skeins" in book.lines


def test_notes_of_damaged_records_are_brought_back_by_restore_and_reported_by_doctor(book: Shell) -> None:
    """By the name that `restore` lists; days closed since the copy are taken in again."""
    assert book("lots", "260418-01", "--note", "sent the last one") == 0
    assert book("restore", "studio", "--json") == 0
    (checked,) = json.loads(book.out)
    assert (checked["kind"], checked["good"]) == ("records", True)
    assert checked["holds"].startswith("2 lots of 1 day, 1 later note, ")
    assert [copy["good"] for copy in checked["copies"]] == [True]
    file = book.data / "studio.db"
    spoilt = file.read_bytes()[: 3 * 4096 - 7]
    file.write_bytes(spoilt)
    assert book("lots") == 1
    assert "`dyeday restore studio --newest` brings back its newest copy" in book.err
    assert book("doctor", "--strict") == 1
    assert any(line.startswith("! records: is damaged") for line in book.lines)
    assert book("restore", "studio", "--newest") == 0
    assert book("doctor") == 0
    assert any(line.startswith("  records: complete by SQLite's own check: 2 lots of 1 day") for line in book.lines)
    assert [path.read_bytes() for path in (book.data / "set-aside").iterdir()] == [spoilt]
    assert [fact.text for fact in LotBook(book.data).lot("260418-01").added] == ["sent the last one"]
    file.unlink()
    assert book("lots") == 1
    assert "dyeday restore studio --newest" in book.err


def test_look_back_tells_a_season_on_screen_as_json_and_as_csv(book: Shell, tmp_path: Path) -> None:
    """April has both lots, March none; a date that is none is refused."""
    assert book("look-back", "--from", "2026-04", "--to", "2026-04") == 0
    assert book.lines[0] == "LOOKING BACK from Wed 01 Apr 2026 to Thu 30 Apr 2026"
    assert "2 lots, 7 pieces done" in book.out
    for said in ("EXHAUSTION", "Navy", "TIME PER STAGE", "FLAGS", "ALARMS", "BACK TO FIX: 0 lots"):
        assert said in book.out
    assert book("look-back", "--from", "2026", "--to", "2026", "--json") == 0
    summary = json.loads(book.out)
    assert (summary["lots"], summary["first"], summary["last"]) == (2, "2026-01-01", "2026-12-31")
    (navy,) = summary["exhausted"]
    assert (navy["dye"], navy["depth_from_pct"], navy["depth_to_pct"], navy["pct"]["n"]) == ("Navy", 1.0, 2.0, 2)
    file = tmp_path / "season.csv"
    assert book("look-back", "--from", "2026", "--csv", str(file)) == 0
    rows = list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8"))))
    assert [row["middle"] for row in rows if row["what"] == "lots"] == ["2"]
    assert book("look-back", "--from", "2026-03", "--to", "2026-03") == 0
    assert "the lot book has no lot from these days" in book.out
    assert book("look-back", "--from", "2026-13") == 1
    assert "write 2026-03-14, 2026-03 or 2026" in book.err
    assert book("look-back", "--from", "2027", "--to", "2026") == 1


def test_a_lot_of_a_long_colourway_can_be_dyed_again_under_a_name_that_a_plan_accepts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The colourway's 75 letters are cut in the order's item, the lot's number stays."""
    shell, text = Shell(tmp_path / "data", capsys), PLAN.replace('"Harbour"', f'"{"H" * 75}"')
    session_of(shell.data, finished("01"), text)
    plan = tmp_path / "today.toml"
    plan.write_text(text, encoding="utf-8")
    assert shell("lots", "260418-01", "--again", "--into", str(plan)) == 0, shell.err
    item = read_plan(plan.read_text(encoding="utf-8")).orders[-1].item
    assert len(item) == 80
    assert item.endswith("H… again, lot 260418-01")


def test_again_beside_the_newest_session_goes_by_the_shelf_of_now(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the shelf had when the session began is not the plan's own amount, so nothing differs from the shelf."""
    shell = Shell(tmp_path / "data", capsys)
    assert shell("shelf", "--counted", "Navy", "--amount", "50 g", "--as", "dye", "--why", "weighed") == 0
    plan = tmp_path / "day.toml"
    plan.write_text(PLAN, encoding="utf-8")
    assert shell("begin", str(plan)) == 0, shell.err
    for state in ("soak", "paint", "fix", "cool", "rinse", "dry", "done"):
        assert shell("mark", "01", state) == 0, shell.err
    assert shell("close", "--yes") == 0, shell.err
    assert shell("lots", "260418-01", "--again") == 0, shell.err
    assert "on hand, the shelf" not in shell.err
