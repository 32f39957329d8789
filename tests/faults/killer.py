"""A child that ends itself by SIGKILL at its n-th call of the system, for every n until it gets through.

Calls are counted where the store makes them: open, the write (half of it is written first), flush, fsync, rename,
link, unlink, chmod of a handle. The child is a fork, so that no n costs the start of an interpreter.
"""

from __future__ import annotations

import os
import signal
import traceback
from collections.abc import Callable
from typing import Any

COUNTED = ("open", "fsync", "replace", "rename", "link", "unlink", "fchmod", "mkdir")


class HalfWriter:
    """A file whose write is counted, and torn in the middle where it is the one to die in."""

    def __init__(self, file: Any, step: Callable[[Callable[[], None]], None]) -> None:
        self.file = file
        self.step = step

    def write(self, data: bytes) -> int:
        def torn() -> None:
            self.file.write(data[: len(data) // 2])
            self.file.flush()

        self.step(torn)
        return int(self.file.write(data))

    def __getattr__(self, name: str) -> Any:
        return getattr(self.file, name)

    def __enter__(self) -> HalfWriter:
        return self

    def __exit__(self, *_: object) -> None:
        self.file.close()


def die_at(number: int) -> None:
    """From here on, die at the ``number``-th counted call, just before it."""
    count = 0

    def step(first: Callable[[], None] = lambda: None) -> None:
        nonlocal count
        count += 1
        if count == number:
            first()
            os.kill(os.getpid(), signal.SIGKILL)

    def counted(call: Callable[..., Any]) -> Callable[..., Any]:
        def counting(*args: Any, **more: Any) -> Any:
            step()
            return call(*args, **more)

        return counting

    for name in COUNTED:
        setattr(os, name, counted(getattr(os, name)))
    opened = os.fdopen

    def fdopen(handle: int, mode: str = "r", *args: Any, **more: Any) -> Any:
        file = opened(handle, mode, *args, **more)
        return HalfWriter(file, step) if "w" in mode or "+" in mode else file

    os.fdopen = fdopen  # type: ignore[assignment]


def in_child(work: Callable[[Callable[[str], None]], None], number: int | None) -> tuple[bool, list[str]]:
    """Run ``work`` in a fork that dies at its ``number``-th call; return whether it got through, and what it
    confirmed: the words it passed to the function it is given, each before it went on.
    """
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reader)
            tell = os.write
            if number is not None:
                die_at(number)

            def confirm(word: str) -> None:
                tell(writer, f"{word}\n".encode())

            work(confirm)
            os._exit(0)
        except BaseException:
            traceback.print_exc()
            os._exit(77)
    os.close(writer)
    with os.fdopen(reader, "rb") as said:
        words = said.read().decode().split("\n")[:-1]
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0, f"the child failed: {status}"
    return not os.WIFSIGNALED(status), words


def at_every_call(
    work: Callable[[Callable[[str], None]], None], look: Callable[[bool, list[str]], None], every: int = 1
) -> int:
    """Run ``work`` to its death at every call (or every so many) in turn, ``look`` after each.

    Returns how many deaths there were.
    """
    for deaths, number in enumerate(range(1, 10_000, every)):
        through, words = in_child(work, number)
        look(through, words)
        if through:
            return deaths
    raise AssertionError("it never got through")
