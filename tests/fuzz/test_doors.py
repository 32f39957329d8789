"""Text that others give, bent at random: only the documented refusals ever come out, whatever goes in.

The same doors are fuzzed by coverage, outside the ordinary run, with `python -m tests.fuzz`.
"""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from tests.fuzz.doors import DOORS, seeds

SPANS = {door: seeds(door) for door in DOORS}
NASTY = st.sampled_from(
    [
        b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"\xed\xa0\x80", b'"', b"'", b'"""', b"[", b"]", b"{", b"}", b"=",
        b",", b";", b"\n", b"\r", b"\t", b"\\", b"\\ud800", b"\\u202e", b"NaN", b"-Infinity", b"1e999", b"-1",
        b"9" * 4400, b"null", b"true", b"sep=;\n", "\u202e\u0301\x9b".encode(), b"[" * 2000, b"{'a':" * 300,
        b"a." * 60, b"0000-00-00", b"99:99",
        b"\x1b]0;x\x07", b"[[order]]", b'"id": "x", ', b"1_000", b"inf", b"\xc2\x85",
    ]
)  # fmt: skip


@st.composite
def bent(draw: st.DrawFn, door: str) -> bytes:
    """A sound text with parts cut out, doubled, put elsewhere, or with something nasty put in."""
    raw = draw(st.sampled_from(SPANS[door]))
    if len(raw) > 3000:
        start = draw(st.integers(0, len(raw) - 1))
        raw = raw[:1000] + raw[start : start + 1000]
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(raw)))
        end = min(len(raw), start + draw(st.integers(0, 80)))
        put = draw(NASTY | st.binary(max_size=6) | st.just(raw[end : end + 30]) | st.just(b""))
        raw = raw[:start] + put + raw[end:]
    return raw


@pytest.mark.parametrize("door", sorted(DOORS))
def test_only_the_documented_refusals_come_out(door: str) -> None:
    """Sound text with parts bent, and bytes of no kind at all."""

    @settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
    @given(bent(door) | st.binary(max_size=200))
    @example(b"")
    @example(b"[" * 100_000)
    @example(b'{"a":' * 20_000)
    @example(b"\xef\xbb\xbf")
    @example(b"x = " + b"9" * 5000)
    @example(b'{"at": ' + b"9" * 5000 + b"}")
    @example(b'{"at": NaN, "batch": "03", "to": "soak"}')
    @example(b'{"at": "2026-03-14T09:05:00Z", "batch": "03", "note": "\\ud800"}')
    @example(b'{"at": "2026-03-14T09:05:00Z", "at": "2026-03-14T09:05:00Z", "batch": "03", "note": "x"}')
    @example(b'{"at": "9999-12-31T23:59:59-23:59", "batch": "03", "note": "x"}')
    @example(b'{"at": "0001-01-01T00:00:00+23:59", "batch": "03", "note": "x"}')
    @example(b'sep="\nitem,colourway,base,skeins\n')
    @example(b"\xff\xfea\x00,\x00")
    @example(b"a,b\n" * 30_000)
    @example(b'a,"' + b"x" * 200_000)
    def bend(raw: bytes) -> None:
        DOORS[door](raw)

    bend()


@pytest.mark.parametrize("door", sorted(DOORS))
def test_sound_text_goes_through_its_door(door: str) -> None:
    """Otherwise the tests above would try nothing but refusals."""
    assert any(DOORS[door](raw) for raw in SPANS[door])


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(st.characters(), max_size=20),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
        max_leaves=8,
    ),
    st.sampled_from(
        ["moved", "acid put in", "pass", "reading", "used", "split", "corrected", "added", "plan changed"]
    ),
    st.sampled_from(
        ["to", "acid_ml", "pass", "reading", "value", "used", "into", "corrects", "order", "plan", "at", "id"]
    ),
)
@settings(max_examples=100, deadline=None)
def test_an_event_whose_keys_hold_anything_is_taken_or_reported(value: object, kind: str, key: str) -> None:
    """JSON of any shape behind any key of an event."""
    event = {"at": "2026-03-14T09:05:00Z", "batch": "03", "event": kind, key: value}
    DOORS["events"](json.dumps(event).encode())
