"""Every figure of speed with its floor, measured in the same run: ``python -m tests.speed [NAME …]``.

Names are those of `PARTS`; without any, all are measured, which takes some minutes on a quiet machine. Linux only.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.speed import lots, phones, screens, shell
from tests.speed.measured import HEAD, Line
from tests.speed.terminal import PYTHON

PARTS: dict[str, Callable[[Path], list[Line]]] = {
    "start": screens.starting,
    "open": screens.opening,
    "commands": shell.commands,
    "key": screens.keying,
    "choose": screens.choosing,
    "store": shell.storing,
    "read": shell.reading,
    "history": lots.ageing,
    "idle": screens.idling,
    "memory": screens.memory,
    "watch": phones.watching,
}


def main() -> None:
    """Print the table, a line as soon as it is measured."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(PARTS))
    parser.add_argument("--python", metavar="FILE", help="of a plain install; else this one")
    PYTHON[0] = parser.parse_args().python or PYTHON[0]
    asked = parser.parse_args().names or list(PARTS)
    unknown = [name for name in asked if name not in PARTS]
    if unknown:
        parser.error(f"there is no figure {unknown[0]!r}; known are {', '.join(PARTS)}")
    print(HEAD, flush=True)
    for name in asked:
        with tempfile.TemporaryDirectory(prefix="dyeday-speed-") as folder:
            for line in PARTS[name](Path(folder)):
                print(line.text(), flush=True)


if __name__ == "__main__":
    main()
