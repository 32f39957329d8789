"""Entries that are made later than what they record, on a day at home with three trays and two steamers."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path

from tests.bench.driving import Bench, drive
from tests.fakes import HOME_DAY
from tests.typed_events import make


def live(folder: Path, script: Callable[[Bench], Awaitable[None]]) -> None:
    """Run ``script`` on the day at home."""
    drive(folder, script, plan=HOME_DAY)


async def go_on(bench: Bench, batch: str, *keys: str) -> None:
    """Take the next step of a batch as it is offered, or as ``keys`` change it."""
    await bench.press(*batch, "space", *keys, "enter")


async def begin_to_paint(bench: Bench, batch: str) -> None:
    """Soak a batch for 25 min, then begin to paint it."""
    await go_on(bench, batch)
    await bench.on(25)
    await go_on(bench, batch)


async def say_ago(bench: Bench, minutes: int) -> None:
    """Say that the next entry was ``minutes`` ago."""
    await bench.press("b")
    await bench.type(str(minutes))
    await bench.press("enter")


async def offer_late(bench: Bench, batch: str, minutes_ago: int) -> str:
    """Return the offer of a batch's next step that was ``minutes_ago``, in one line."""
    await say_ago(bench, minutes_ago)
    await bench.press(*batch, "space")
    return question(bench)


def question(bench: Bench) -> str:
    """Return the question that is open, in one line."""
    assert bench.app.screen.is_modal
    return " ".join(bench.screen.partition("━\n")[2].split())


def flagged(bench: Bench) -> list[str]:
    """Return which rules have raised a flag."""
    return [flag.rule.value for flag in bench.app.live.all_flags()]


def test_a_late_soak_is_offered_the_tray_that_was_free_then_and_is_taken_now(tmp_path: Path) -> None:
    """Tray 1 came free at 09:25 and takes 05 at 09:50; what was soaked at 09:30 in tray 1 has left it by then."""

    async def script(bench: Bench) -> None:
        for batch in ("01", "02", "03"):
            await go_on(bench, batch)
        await bench.on(25)
        await go_on(bench, "01")
        await bench.on(20)
        await go_on(bench, "02")
        await bench.on(1)
        offer = await offer_late(bench, "04", 20)
        assert "04 Damson Hedge (waiting): into the soak in tray 1 at 09:26" in offer
        assert "2 tray 2 (02, full)" in offer
        await bench.press("n", "enter")
        assert not flagged(bench)
        assert bench.app.live.day.batches["04"].unit == "tray 1"

    live(tmp_path, script)


def test_a_note_about_a_batch_does_not_bring_its_late_entry_into_the_unit_of_now(tmp_path: Path) -> None:
    """A note on 04 later than its soak: the trays are still those of then."""

    async def script(bench: Bench) -> None:
        for batch in ("01", "02"):
            await go_on(bench, batch)
        await bench.on(25)
        await go_on(bench, "01")
        await bench.on(1)
        await bench.press("0", "4", "n")
        await bench.type("loose ties")
        await bench.press("enter")
        await bench.on(4)
        offer = await offer_late(bench, "04", 10)
        assert "1 tray 1 (01, full)" in offer
        assert "into the soak in tray 3" in offer

    live(tmp_path, script)


def test_a_tray_that_others_went_into_since_is_not_offered_where_another_was_free_all_along(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.on(30)
        await go_on(bench, "05")
        await bench.on(5)
        offer = await offer_late(bench, "04", 25)
        assert "1 tray 1 (05 later, full)" in offer
        assert "into the soak in tray 2" in offer
        await bench.press("enter")
        assert not flagged(bench)
        assert bench.app.live.day.batches["04"].unit == "tray 2"

    live(tmp_path, script)


def test_where_none_was_free_all_along_the_one_that_was_free_then_is_offered(tmp_path: Path) -> None:
    """It may have left before the next one came, which is entered late as well."""

    async def script(bench: Bench) -> None:
        await go_on(bench, "01")
        await go_on(bench, "02")
        await bench.on(30)
        await go_on(bench, "05")
        await bench.on(5)
        assert "into the soak in tray 3 at 09:10" in await offer_late(bench, "04", 25)

    live(tmp_path, script)


def test_a_late_step_between_two_on_record_is_offered_as_the_batch_stood_then(tmp_path: Path) -> None:
    """Its soak was forgotten, its paint is on record: the soak is what is offered, with what came after."""

    async def script(bench: Bench) -> None:
        await bench.on(30)
        await bench.press("0", "1", "m", "2")
        await bench.on(5)
        offer = await offer_late(bench, "01", 35)
        assert "01 Damson Hedge (waiting): into the soak in tray 1 at 09:00, 35 min ago" in offer
        assert "since then: 09:30 to paint (l corrects it)" in offer
        await bench.press("enter")
        assert [stay.state.value for stay in bench.app.live.day.batches["01"].stays] == ["soak", "paint"]
        assert "missed acid" not in " ".join(flagged(bench))

    live(tmp_path, script)


def test_late_acid_and_readings_are_asked_for_where_the_batch_was_then(tmp_path: Path) -> None:
    """01 was still in tray 1; now it is painted and in none."""

    async def script(bench: Bench) -> None:
        await begin_to_paint(bench, "01")
        await bench.on(10)
        await say_ago(bench, 20)
        await bench.press("i")
        assert "How much vinegar went into tray 1" in question(bench)

    live(tmp_path, script)


def test_a_late_heat_off_counts_the_minutes_up_to_its_time(tmp_path: Path) -> None:
    """38 min of steamer 1 on record as they were, though the entry comes 12 min after; the other load stays on."""

    async def script(bench: Bench) -> None:
        for batch, tray in (("01", "1"), ("02", "2")):
            await bench.press(*batch, "space", tray, "enter")
        await bench.on(25)
        await go_on(bench, "01")
        await go_on(bench, "02")
        await bench.on(20)
        await go_on(bench, "01")
        await go_on(bench, "02")
        await bench.on(50)
        offer = await offer_late(bench, "01", 12)
        assert "heat off steamer 1, out to cool at 10:23, 12 min ago" in offer
        assert "30 of 30 min of steam so far" in offer
        await bench.press("enter")
        assert "cool" in bench.row("01")
        assert not [flag for flag in bench.app.live.all_flags() if "01" in flag.batches]
        await bench.press("z", "enter")
        assert "steam" in bench.row("01")

    live(tmp_path, script)


def test_a_late_pH_is_shown_in_the_bath_that_it_was_read_in(tmp_path: Path) -> None:
    """01 is painted by now, where acid is misted; in its soak it was stirred in."""

    async def script(bench: Bench) -> None:
        await begin_to_paint(bench, "01")
        await bench.on(10)
        await say_ago(bench, 20)
        await bench.press("r", "p")
        await bench.type("6")
        assert "add" in question(bench)
        assert "mist" not in question(bench)

    live(tmp_path, script)


def test_the_batch_page_says_when_a_late_entry_was_made_and_of_no_other(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.on(30)
        await offer_late(bench, "01", 25)
        await bench.press("enter")
        await go_on(bench, "02")
        await bench.press("0", "1", "f")
        assert "09:05 to soak in tray 1, 65 mL acid (entered 09:30)" in bench.screen
        await bench.press("escape", "0", "2", "f")
        assert "09:30 to soak in tray 2, 65 mL acid" in bench.screen
        assert "entered" not in bench.screen

    live(tmp_path, script)


def test_water_is_not_kept_in_an_offer_that_stood_until_another_load_went_in(tmp_path: Path) -> None:
    """05 went into tray 1 from another shell while the offer of 04 stood there with its water kept."""

    async def script(bench: Bench) -> None:
        await begin_to_paint(bench, "01")
        await bench.press("0", "4", "space", "1", "n")
        assert "n water kept" in question(bench)
        soak = make("moved", bench.clock(), lambda: "other", batch="05", to="soak", unit="tray 1")
        bench.second_shell().add([soak])
        await bench.on(3, away=True)
        await bench.press("n")
        assert "1 tray 1 (05, full)" in question(bench)
        await bench.press("enter")
        load = next(e.body.to_json() for e in bench.session.events if e.batches == ("04",))
        assert (load["unit"], load.get("water")) == ("tray 1", None)

    live(tmp_path, script)
