"""Text from people made harmless before a screen, a printer or a log sees it."""

from __future__ import annotations

import csv
import io
import json
import unicodedata
from datetime import date
from html.parser import HTMLParser

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from dyeday.text import brief, csv_cell, csv_original, csv_text, harmless, html_text, json_text
from tests.harmless import is_harmless

HARMFUL = {
    "\x1b[31mred": r"\x1b[31mred",
    "\x1b]0;title\x07": r"\x1b]0;title\x07",
    "\x9b2J": r"\x9b2J",
    "a\x00b": r"a\x00b",
    "a\x7fb": r"a\x7fb",
    "a\x08b": r"a\x08b",
    "\u202etxet": r"\u202etxet",
    "\u2066a\u2069": r"\u2066a\u2069",
    "a\u200bb": r"a\u200bb",
    "a\ufeffb": r"a\ufeffb",
    "a\u2028b": r"a\u2028b",
    "a\u2062b": r"a\u2062b",
    "a\ufffbb": r"a\ufffbb",
    "a\U000e0041b": r"a\ue0041b",
    "a\ud800b": r"a\ud800b",
}


@pytest.mark.parametrize("text", HARMFUL, ids=ascii)
def test_a_harmful_character_becomes_a_visible_form(text: str) -> None:
    """Control, escape, bidi (UAX #9), unseen and tag characters and lone surrogates can be read and do nothing."""
    assert harmless(text) == HARMFUL[text]


@pytest.mark.parametrize(
    "text",
    [
        "Marsh Lantern",
        "Škoda žlutá",
        "緑 のり",
        "שלום",
        "🧶 👩‍🎨",
        "[bold]x[/] [@click=bell]",
        "50 % \\ 'a' \"b\"",
        "",
    ],
)
def test_an_ordinary_name_stays_as_it_is(text: str) -> None:
    """Letters of all scripts, brackets, emoji joined with a joiner."""
    assert harmless(text) == text
    assert is_harmless(text)


def test_line_breaks_and_tabs_become_spaces() -> None:
    """What is shown is one line."""
    assert harmless("a\nb\tc\rd") == "a b c d"
    assert not is_harmless("a\nb")


def test_an_accent_is_written_one_way() -> None:
    """A letter and its accent become the one letter they are (NFC)."""
    assert harmless("Cafe\u0301") == "Caf\u00e9"


def test_anything_is_shown_as_its_text() -> None:
    """A number or None does not raise."""
    assert (harmless(5), harmless(None)) == ("5", "None")


ANY_TEXT = st.text(st.characters()) | st.text(st.sampled_from("a\x1b\x9b\u202a\u0301\u0327\n\t\u200b\ud800[]e"))


@given(ANY_TEXT)
@example("\u202a\u0301")
@example("\x0c\u0327")
def test_nothing_harmful_is_left_and_a_second_time_changes_nothing(text: str) -> None:
    """Also where an accent follows what was made visible."""
    clean = harmless(text)

    assert is_harmless(clean)
    assert harmless(clean) == clean
    assert unicodedata.is_normalized("NFC", clean)
    assert not {unicodedata.category(char) for char in clean} & {"Cc", "Cs", "Zl", "Zp"}
    assert clean.isprintable() or not clean.isascii()


@given(ANY_TEXT)
def test_what_is_harmless_may_be_written_as_utf_8(text: str) -> None:
    """A log and a file can hold it."""
    assert harmless(text).encode("utf-8").decode("utf-8") == harmless(text)


def test_a_value_is_quoted_briefly() -> None:
    """A message is not as long as what it is about."""
    deep: list[object] = []
    for _ in range(100_000):
        deep = [deep]

    assert brief("4 kg") == "'4 kg'"
    assert brief("x" * 100) == "'" + "x" * 38 + "…"
    assert brief(deep) == brief(16**6000) == "what is written"
    assert len(brief([["\x1b"] * 1000])) == 40


@given(st.text(st.characters()) | st.integers() | st.lists(st.text()), st.integers(2, 60))
def test_a_brief_value_is_harmless_and_short(value: object, most: int) -> None:
    """Whatever it is."""
    shown = brief(value, most)

    assert is_harmless(shown)
    assert len(shown) <= most


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\uff1d1+1", "  =1", "=cmd|' /C calc'!A0", "'=1", "'", "''"]
)
def test_a_cell_that_looks_like_a_formula_is_neutralised_and_comes_back_the_same(text: str) -> None:
    """OWASP ASVS 1.2.10 and CWE-1236; full-width signs as well."""
    assert csv_cell(text) == "'" + text
    assert csv_original("'" + text) == text


@pytest.mark.parametrize("begin", ["\t", "\r", "\x00"])
def test_a_tab_or_carriage_return_or_nul_before_a_formula_does_not_hide_it(begin: str) -> None:
    """They are gone or visible, and what is left is looked at."""
    assert str(csv_cell(begin + "=1")).startswith(("'", "\\x00"))


def test_numbers_stay_numbers_in_a_cell() -> None:
    """A negative number is not a formula; None is an empty cell."""
    assert [csv_cell(value) for value in (-1, 2.5, None, True)] == [-1, 2.5, "", "True"]


@given(st.lists(st.lists(ANY_TEXT | st.sampled_from(["=1", "'=1", "'", "a;=1", 'a","=1']), min_size=1), min_size=1))
def test_a_csv_page_read_back_gives_the_harmless_texts(rows: list[list[str]]) -> None:
    """Python's own reader gets cells none of which begins a formula, and the originals from them."""
    read = list(csv.reader(io.StringIO(csv_text(rows), newline="")))

    assert [[csv_original(cell) for cell in row] for row in read] == [
        [harmless(text) for text in row] for row in rows
    ]
    assert not [cell for row in read for cell in row if cell.lstrip()[:1] in tuple("=+-@\uff1d\uff0b\uff0d\uff20")]


@given(st.lists(ANY_TEXT | st.sampled_from(["\x7f\x9b", "\U000e0041", "\ud800"])))
def test_json_for_a_terminal_is_the_same_data_and_steers_nothing(texts: list[str]) -> None:
    """RFC 8259: any character may stand as its escape."""
    for indent in (None, 1):
        said = json_text({"texts": texts}, indent)
        assert all(is_harmless(line) for line in said.split("\n"))
        assert [harmless(text) for text in json.loads(said)["texts"]] == [harmless(text) for text in texts]


@given(ANY_TEXT | st.text("<>&\"'ab/ ="))
def test_text_in_a_page_is_never_markup(text: str) -> None:
    """An HTML parser finds the text and no element, in a body or in an attribute."""
    found: list[str] = []
    attributes: list[str | None] = []

    class Reader(HTMLParser):
        def handle_data(self, data: str) -> None:
            found.append(data)

        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            attributes.extend(value for _, value in attrs)
            assert tag == "p"

    reader = Reader()
    reader.feed(f'<p title="{html_text(text)}">{html_text(text)}</p>')
    reader.close()
    assert "".join(found) == harmless(text)
    assert attributes == [harmless(text)]


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (True, "true"),
        (1e6, "1000000"),
        (date(2026, 3, 14), "2026-03-14"),
        ([1, "x", False], "[1, 'x', false]"),
        ({"wool": 75, "new": True}, "{ wool = 75, new = true }"),
        (None, "nothing"),
    ],
)
def test_a_value_is_shown_as_a_plan_has_it_not_as_python_does(value: object, said: str) -> None:
    assert brief(value) == said
