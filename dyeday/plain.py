"""Text from people made harmless before a screen, a printer or a log sees it.

Apart from every room because all of them show names that somebody else typed.
"""

from __future__ import annotations

import unicodedata

_BIDI = {0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)}
_UNSEEN = {0x00AD, 0x180E, 0x200B, 0x2028, 0x2029, 0x2060, 0xFEFF}


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
    return "".join(out)


def is_harmless(text: str) -> bool:
    """Tell whether ``text`` holds no character that `harmless` would have to show in another form."""
    return not any(_harmful(ord(char)) for char in text)
