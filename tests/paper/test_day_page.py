"""The day as a page for a browser: a picture that is whole, harmless, and needs nothing from elsewhere."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from dyeday.ahead.forecast import forecast
from dyeday.paper.sheets.day_page import day_page, day_svg
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.folding.fold import begin
from tests.cli.test_commands import Shell
from tests.fakes import HEAVY_DAY
from tests.paper.test_chart import HEAVY, looked
from tests.track.days import heated, plan_with, soaked

LINES = [*soaked(), *heated(), *soaked("02", "11:00", "12:00", "tray 2")]


def test_the_drawing_is_sound_xml_and_every_unit_in_use_has_a_row() -> None:
    """Read by the standard library's parser; now, hours, stop and batches stand in it."""
    day, found = looked(LINES, "12:30")
    tree = ElementTree.fromstring("\n".join(day_svg(day, found)))  # noqa: S314 - of our own making
    said = [text.text for text in tree.iter("{http://www.w3.org/2000/svg}text")]
    assert {"hands", "tray 1", "tray 2", "steamer 1", "now 12:30", "13:00", "stop", "01", "02"} <= set(said)
    tips = [tip.text for tip in tree.iter("{http://www.w3.org/2000/svg}title")]
    assert any(tip and tip.startswith("steamer 1: 01 ") and "10:30 to 11:20" in tip for tip in tips)
    for shape in tree.iter("{http://www.w3.org/2000/svg}rect"):
        assert float(shape.get("width", "0")) >= 0
        assert float(shape.get("x", "0")) + float(shape.get("width", "0")) <= 1600


def test_nothing_is_fetched_and_nothing_runs() -> None:
    """No script, no address but the name of SVG itself, whatever a plan's names try."""
    text = HEAVY_DAY.read_text(encoding="utf-8").replace("Bonfire Ash", "<script>x</script>")
    day = begin(read_plan(text))
    found = forecast(day, looked([], "09:00")[1].at, evaluations=15)
    page = day_page(day, found)
    assert "<script" not in page
    assert "default-src 'none'" in page
    assert set(re.findall(r"https?://[^\"' ]+", page)) == {"http://www.w3.org/2000/svg"}
    assert not re.search(r"\b(src|href)=", page)


def test_ahead_writes_the_page_and_replaces_it_only_on_request(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """To a file that is named; a second time it is refused, and with --overwrite replaced."""
    shell, page = Shell(tmp_path / "data", capsys), tmp_path / "day.html"
    wanted = ("ahead", str(HEAVY_DAY), "--evaluations", "5", "--html", str(page))
    assert shell(*wanted) == 0, shell.err
    assert HEAVY.session.name in page.read_text(encoding="utf-8")
    assert shell(*wanted) == 1
    assert "exists already" in shell.err
    assert shell(*wanted, "--overwrite") == 0


def test_the_stop_line_of_the_second_day_stands_at_the_end_of_its_hours() -> None:
    """Noon was the first day's stop; the second has hours until 13:00, 175 min from now."""
    plan = plan_with()
    plan = replace(plan, session=replace(plan.session, stop_min=12 * 60, tomorrow=((600, 780),)))
    drawing = "\n".join(day_svg(*looked([], "34:05", plan)))
    texts = {text: float(x) for x, text in re.findall(r'<text x="([\d.]+)"[^>]*>([^<]*)</text>', drawing)}
    (line,) = [float(x) for x in re.findall(r'<line x1="([\d.]+)"[^>]*stroke-dasharray', drawing)]
    hours = [(int(text[:2]) * 60, x) for text, x in texts.items() if re.fullmatch(r"1\d:00", text)][:2]
    scale = (hours[1][1] - hours[0][1]) / (hours[1][0] - hours[0][0])
    assert texts["stop"] == pytest.approx(line - 34, abs=0.2)
    assert (line - texts["now 10:05"]) / scale == pytest.approx(175, abs=1)
