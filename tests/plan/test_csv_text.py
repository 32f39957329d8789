"""Tables that other programs wrote come back as they were, or are refused with the line."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.plan.orders.csv_table import SEPARATORS, CsvError, decoded, read_table

CHARS = st.characters(exclude_categories=["Cs"], exclude_characters="\0\x1a")
CELLS = st.text(CHARS, max_size=12) | st.sampled_from(['"', '""', ",;\t", "line\nbreak", "cr\r\nlf", " 3,5 ", "ö€"])


def tables(cells: st.SearchStrategy[str]) -> st.SearchStrategy[list[list[str]]]:
    """Return tables of two to five columns, a header of words first, no row blank."""

    def of(width: int) -> st.SearchStrategy[list[list[str]]]:
        row = st.lists(cells, min_size=width, max_size=width).filter(lambda cells: any(c.strip() for c in cells))
        return st.lists(row, max_size=6).map(lambda rows: [[f"column {n}" for n in range(width)], *rows])

    return st.integers(2, 5).flatmap(of)


def written(table: list[list[str]], separator: str, quoting: int, ending: str) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator, quoting=quoting, lineterminator=ending).writerows(table)  # type: ignore[arg-type]
    return out.getvalue()


DIALECTS = st.tuples(
    st.sampled_from(SEPARATORS),
    st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC]),
    st.sampled_from(["\r\n", "\n", "\r"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-32"]),
)


@given(tables(CELLS), DIALECTS)
def test_any_table_that_pythons_csv_writer_wrote_comes_back(
    table: list[list[str]], dialect: tuple[str, int, str, str]
) -> None:
    """Every separator, quoting and line end of the standard library's writer, given only the separator."""
    separator, quoting, ending, encoding = dialect
    if ending != "\r\n":
        quoting = csv.QUOTE_ALL  # that writer leaves a lone line end of the other kind without quotes
    raw = written(table, separator, quoting, ending).encode(encoding)
    assert [list(row.cells) for row in read_table(raw, separator=separator).rows] == table


PLAIN = st.text(st.characters(categories=["L", "N"]), max_size=8) | st.sampled_from(
    ["3,50", "a; b", 'say "x"', "l\nm"]
)


@given(tables(PLAIN), DIALECTS)
def test_the_separator_is_found_where_quotes_keep_the_others_in_their_cells(
    table: list[list[str]], dialect: tuple[str, int, str, str]
) -> None:
    """Nothing is given: encoding by its mark or as UTF-8, the separator by the most even table."""
    separator, _, ending, encoding = dialect
    raw = written(table, separator, csv.QUOTE_ALL, ending).encode(encoding)
    read = read_table(raw)
    assert ([list(row.cells) for row in read.rows], read.separator) == (table, separator)


@given(tables(st.text("abcÄéßñ123 ", max_size=8)))
def test_what_old_spreadsheets_write_comes_back(table: list[list[str]]) -> None:
    """cp1252 and semicolons, without a mark."""
    raw = written(table, ";", csv.QUOTE_MINIMAL, "\r\n").encode("cp1252")
    read = read_table(raw)
    assert (read.encoding == "cp1252") == (not raw.isascii())
    assert [list(row.cells) for row in read.rows] == table


RFC_4180 = [
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ("aaa,bbb,ccc\r\nzzz,yyy,xxx", [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ("field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
     [["field_name"] * 3, ["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ("aaa,bbb,ccc", [["aaa", "bbb", "ccc"]]),
    ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]),
    ('"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]),
]  # fmt: skip
"""Y. Shafranovich, RFC 4180, Common Format and MIME Type for CSV Files, 2005, section 2: its examples"""


@pytest.mark.parametrize(("text", "rows"), RFC_4180)
def test_the_examples_of_rfc_4180_read_as_it_says(text: str, rows: list[list[str]]) -> None:
    assert [list(row.cells) for row in read_table(text.encode()).rows] == rows


def test_each_row_knows_the_line_it_begins_on() -> None:
    rows = read_table(b'a,b\n"one\ntwo",1\n\nthree,2\n').rows
    assert [row.line for row in rows] == [1, 2, 5]


def test_a_line_that_names_the_separator_is_not_a_header() -> None:
    read = read_table(b"sep=;\r\na;b\r\n1;2\r\n")
    assert ([row.cells for row in read.rows], read.rows[0].line) == ([("a", "b"), ("1", "2")], 2)


def test_utf_16_without_a_mark_is_known_by_its_zeros() -> None:
    for name in ("utf-16-le", "utf-16-be"):
        assert decoded("item,base\nPeat,Sock\n".encode(name)) == ("item,base\nPeat,Sock\n", name)


@pytest.mark.parametrize("name", ["klingon", "undefined", "hex", "utf-8\0"])
def test_an_encoding_that_reads_no_text_is_refused(name: str) -> None:
    """Also one that Python knows and cannot read with."""
    with pytest.raises(CsvError, match="no encoding is called"):
        read_table(b"a,b\n1,2\n", encoding=name)


@pytest.mark.parametrize(
    ("raw", "line", "what"),
    [
        (b"", 1, "it is empty"),
        (b'a,b\n1,"open\n2,3\n', 2, "never closed"),
        (b'a,b\n"x" y,2\n', 2, "after a closing quote"),
        (b"a,b\n1\0,2\n", 2, "NUL"),
        (b"a,b\nx,\x81\n", 2, "not utf-8 or cp1252"),
        (b"a,b\n" + b"," * 300 + b"x\n", 2, "columns"),
    ],
)
def test_a_broken_table_is_refused_with_its_line(raw: bytes, line: int, what: str) -> None:
    with pytest.raises(CsvError) as caught:
        read_table(raw, separator=",")
    assert caught.value.line == line
    assert what in caught.value.what
