"""Which calls in a log of strace are those that faults are injected into."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path


def calls_between(log: Path, calls: Sequence[str]) -> dict[str, range]:
    """Return, by call, which of its calls in strace's log are those between the words go and done on stdout."""
    seen, first = dict.fromkeys(calls, 0), dict.fromkeys(calls, 0)
    for line in log.read_text(encoding="utf-8", errors="replace").splitlines():
        call = re.match(r"^(?:\d+ +)?(\w+)\(", line)
        if call is None or call[1] not in seen:
            continue
        if call[1] == "write" and '(1, "done' in line:
            break
        seen[call[1]] += 1
        if call[1] == "write" and '(1, "go' in line:
            first = dict(seen)
    return {call: range(first[call] + 1, seen[call] + 1) for call in calls}
