"""Whether a text is safe to show."""

from __future__ import annotations

import unicodedata

from dyeday.text import harmless


def is_harmless(text: str) -> bool:
    """Tell whether a text holds no character that would be shown in another form."""
    return harmless(text) == unicodedata.normalize("NFC", text)
