"""Text from people made harmless before a screen, a printer or a log sees it.

Apart from every room because all of them show names that somebody else typed.
"""

from __future__ import annotations

import unicodedata

_BIDI = {0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)}
_UNSEEN = {0x00AD, 0x180E, 0x200B, 0x2028, 0x2029, *range(0x2060, 0x2070), 0xFEFF, *range(0xFFF9, 0xFFFC)}


def _harmful(code: int) -> bool:
    return (
        code < 0x20
        or 0x7F <= code <= 0x9F
        or code in _BIDI
        or code in _UNSEEN
        or 0xD800 <= code <= 0xDFFF
        or 0xE0000 <= code <= 0xE007F
    )


def harmless(text: object) -> str:
    """Return ``text`` as one line in which no character can steer a terminal, a printer or the reading order.

    Line breaks and tabs become spaces; control, escape, bidi, unseen and tag characters and lone surrogates
    become a visible ``\\x1b``-like form; the rest is normalised (NFC).
    """
    out: list[str] = []
    for char in unicodedata.normalize("NFC", str(text)):
        code = ord(char)
        if char in "\n\r\t":
            out.append(" ")
        elif _harmful(code):
            out.append(f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}")
        else:
            out.append(char)
    return unicodedata.normalize("NFC", "".join(out))


def is_harmless(text: str) -> bool:
    """Tell whether ``text`` holds no character that `harmless` would have to show in another form."""
    return not any(_harmful(ord(char)) for char in text)


def brief(value: object, most: int = 40) -> str:
    """Return ``value`` as Python writes it, harmless and at most ``most`` characters long."""
    try:
        text = harmless(repr(value))
    except (ValueError, RecursionError):  # a number of thousands of digits, or lists in lists in lists
        text = "what is written"
    return text if len(text) <= most else text[: most - 1] + "…"
