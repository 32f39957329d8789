"""A browser without a window: an HTML sheet printed to PDF, its pages counted and turned into text."""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
import zlib
from pathlib import Path
from typing import NamedTuple

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
LONGEST_S = 60
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-extensions",
    "--no-pdf-header-footer",
)  # fmt: skip


def printed_to_pdf(pages: dict[str, str]) -> dict[str, bytes]:
    """Return the PDF that the browser prints of each HTML page, by its name."""
    assert CHROMIUM is not None
    made = {}
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        for name, page in pages.items():
            (place / f"{name}.html").write_text(page, encoding="utf-8")
            subprocess.run(
                [
                    CHROMIUM,
                    *FLAGS,
                    f"--user-data-dir={place / 'profile'}",
                    f"--print-to-pdf={place / name}.pdf",
                    (place / f"{name}.html").as_uri(),
                ],
                check=True,
                capture_output=True,
                timeout=LONGEST_S,
            )
            made[name] = (place / f"{name}.pdf").read_bytes()
    return made


def page_sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Return (width, height) in points of each page of a PDF as the browser writes it."""
    whole = pdf + b"".join(_streams(pdf))
    boxes = re.findall(rb"/Type\s*/Page\b(?!s).*?/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", whole, re.DOTALL)
    return [(float(width), float(height)) for width, height in boxes]


def _streams(pdf: bytes) -> list[bytes]:
    out = []
    for stream in re.findall(rb"stream\r?\n(.*?)endstream", pdf, re.DOTALL):
        try:
            out.append(zlib.decompressobj().decompress(stream))
        except zlib.error:
            continue
    return out


PDFTOTEXT = shutil.which("pdftotext")


def shown_by(pdf: bytes) -> list[str]:
    """Return the text of each page of a PDF."""
    assert PDFTOTEXT is not None
    done = subprocess.run([PDFTOTEXT, "-layout", "-", "-"], input=pdf, check=True, capture_output=True)
    return done.stdout.decode("utf-8").split("\f")[:-1]


class Word(NamedTuple):
    """A word on a page, and where it stands in points from its upper left corner."""

    left: float
    top: float
    right: float
    bottom: float
    text: str


def words_of(pdf: bytes) -> list[list[Word]]:
    """Return the words of each page of a PDF."""
    assert PDFTOTEXT is not None
    done = subprocess.run([PDFTOTEXT, "-bbox", "-", "-"], input=pdf, check=True, capture_output=True)
    box = r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>'
    pages = done.stdout.decode("utf-8").split("<page")[1:]
    return [
        [
            Word(float(found[0]), float(found[1]), float(found[2]), float(found[3]), found[4])
            for found in re.findall(box, page)
        ]
        for page in pages
    ]
