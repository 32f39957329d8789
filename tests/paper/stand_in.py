"""A stand-in `lp`, first on the path."""

from __future__ import annotations

from pathlib import Path

import pytest


def stand_in(folder: Path, monkeypatch: pytest.MonkeyPatch, script: str) -> Path:
    """Put an `lp` that does ``script`` first on the path; return the page to print."""
    lp = folder / "bin" / "lp"
    lp.parent.mkdir()
    lp.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    lp.chmod(0o755)
    monkeypatch.setenv("PATH", f"{lp.parent}:/usr/bin:/bin")
    for name in ("LPDEST", "PRINTER"):
        monkeypatch.delenv(name, raising=False)
    page = folder / "page.txt"
    page.write_text("the page\n", encoding="utf-8")
    return page
