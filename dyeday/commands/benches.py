"""`dyeday`, `open` and `demo`: the bench on a session."""

from __future__ import annotations

from argparse import Namespace


def bench(args: Namespace) -> int:
    raise NotImplementedError


def open_plan(args: Namespace) -> int:
    raise NotImplementedError


def demo(args: Namespace) -> int:
    raise NotImplementedError
