"""A plan's text changed in one place, with every other byte kept: comments, blank lines, line ends, spelling.

Each change of an ``[[order]]`` table is read back, and refused if the data did not change in the same way.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from dyeday.plan.reading.toml_positions import Span, TomlPositions
from dyeday.plan.writing.toml_values import Value, toml
from dyeday.text import HintedError


class EditError(HintedError):
    """A change that cannot be made in this text."""


def add_orders(text: str, tables: Sequence[Mapping[str, Value]]) -> str:
    """Return ``text`` with ``[[order]]`` tables put after the last one it has, or at its end. Raises EditError."""
    if not tables:
        return text
    orders = _orders(text)
    end = _own_comments(text, _line_end(text, orders[-1].end)) if orders else len(text)
    newline = _newline(text)
    blocks = [newline.join(["[[order]]", *(f"{key} = {toml(value)}" for key, value in t.items())]) for t in tables]
    before, after = text[:end], text[end:]
    gap = "" if not before else (newline if before.endswith("\n") else newline * 2)
    more = gap + (newline * 2).join(blocks) + newline
    if after[:1] not in ("", "\n", "\r"):
        more += newline
    return _proved(text, before + more + after, lambda data: [*data, *(dict(t) for t in tables)])


def change_order(text: str, n: int, changes: Mapping[str, Value | None]) -> str:
    """Return ``text`` with keys of order ``n`` (from 0) given new values; None takes a key out. Raises EditError."""
    made = text
    for key, value in changes.items():
        span, values = _orders(made)[n], TomlPositions(made).values
        if (at := values.get((*span.path, key))) is not None and value is not None:
            made = made[: at[0]] + toml(value) + made[at[1] :]
        elif at is not None:
            start = made.rfind("\n", 0, at[0]) + 1
            made = made[:start] + made[_line_end(made, at[1]) :]
        elif value is not None:
            end = _line_end(made, span.end)
            line = f"{key} = {toml(value)}{_newline(made)}"
            made = made[:end] + ("" if made[:end].endswith("\n") else _newline(made)) + line + made[end:]

    def changed(data: list[dict[str, Any]]) -> list[dict[str, Any]]:
        merged = {**data[n], **changes}
        return [*data[:n], {key: value for key, value in merged.items() if value is not None}, *data[n + 1 :]]

    return _proved(text, made, changed)


def move_order(text: str, n: int, to: int) -> str:
    """Return ``text`` with order ``n`` and comments right above it at ``to``, both from 0. Raises EditError."""
    places = [(_with_comments(text, span.start), _line_end(text, span.end, newline=False)) for span in _orders(text)]
    contents = [text[start:end] for start, end in places]
    contents.insert(to, contents.pop(n))
    out, at = [], 0
    for (start, end), content in zip(places, contents, strict=True):
        out += [text[at:start], content]
        at = end
    out.append(text[at:])

    def moved(data: list[dict[str, Any]]) -> list[dict[str, Any]]:
        data.insert(to, data.pop(n))
        return data

    return _proved(text, "".join(out), moved)


def remove_order(text: str, n: int) -> str:
    """Return ``text`` without order ``n`` (from 0); what people wrote above it stays. Raises EditError."""
    span = _orders(text)[n]
    start, end = text.rfind("\n", 0, span.start) + 1, _line_end(text, span.end)
    if (blank := re.compile(r"[ \t]*\r?\n").match(text, end)) is not None:
        end = blank.end()
    return _proved(text, text[:start] + text[end:], lambda data: [*data[:n], *data[n + 1 :]])


def _orders(text: str) -> list[Span]:
    spans = [span for span in TomlPositions(text).tables if len(span.path) == 2 and span.path[0] == "order"]
    orders = tomllib.loads(text).get("order", [])
    if not isinstance(orders, list) or len(spans) != len(orders):
        raise EditError("its orders are not written as [[order]] tables", "write each below a line [[order]]")
    return spans


def _newline(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _line_end(text: str, position: int, *, newline: bool = True) -> int:
    """Return where the line of ``position`` ends, behind its line break or before it."""
    end = text.find("\n", position)
    if end < 0:
        return len(text)
    if newline:
        return end + 1
    return end - 1 if text[end - 1 : end] == "\r" else end


def _own_comments(text: str, end: int) -> int:
    """Return ``end`` moved past the comments right below it, unless they stand right above another table."""
    at = end
    while (line := text[at : _line_end(text, at)]).lstrip().startswith("#"):
        at += len(line)
    return end if text[at:].lstrip(" \t").startswith("[") else at


def _with_comments(text: str, start: int) -> int:
    """Return where the comments begin that stand right above the line of ``start``."""
    at = text.rfind("\n", 0, start) + 1
    while at:
        above = text.rfind("\n", 0, at - 1) + 1
        if not text[above:at].lstrip().startswith("#"):
            break
        at = above
    return at


def _proved(before: str, after: str, change: Callable[[list[dict[str, Any]]], list[dict[str, Any]]]) -> str:
    """Return ``after`` if it is ``before`` with ``change`` made to its orders. Raises EditError."""
    wanted = tomllib.loads(before)
    if orders := change(wanted.pop("order", [])):
        wanted["order"] = orders
    try:
        data = tomllib.loads(after)
    except tomllib.TOMLDecodeError:
        data = {}
    if data != wanted:
        raise EditError("this text cannot be edited safely", "change it by hand")
    return after
