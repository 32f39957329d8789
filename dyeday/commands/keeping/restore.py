"""`restore`: the copies of data files, and one of them brought back."""

from __future__ import annotations

import contextlib
from argparse import Namespace
from collections.abc import Iterator

from dyeday.commands.common import Refusal, UsageError, print_json, say, update_records
from dyeday.files.durable import FileLock, StoreError
from dyeday.plan.reading.problems import similar
from dyeday.store import clock
from dyeday.store.backups import BackedUpFile, Copy
from dyeday.store.records.copies import kept_in
from dyeday.store.session_form import SESSION
from dyeday.text import brief
from dyeday.track.timestamp import iso, local


def restore(args: Namespace) -> None:
    """List the copies of files, or bring one back. Raises UsageError, Refusal or StoreError."""
    if args.when and args.newest:
        raise UsageError("name a copy or use --newest, not both")
    if args.newest and not args.name:
        raise UsageError("name what to restore: dyeday restore NAME --newest")
    every = kept_in(args.data)
    chosen = [file for file in every if not args.name or file.name == args.name]
    if args.name and not chosen:
        names = similar(args.name, [file.name for file in every])
        what = f"nothing here is called {brief(args.name)}"
        raise Refusal(f"{what}; {names} (studio: setup, library, lot book, shelf, times)")
    if args.when or args.newest:
        _bring(args, chosen[0])
    elif args.json:
        print_json([_data(file) for file in chosen])
    elif not chosen:
        say(f"{args.data} is empty; `dyeday begin PLAN` starts a session")
    else:
        for file in chosen:
            _tell(file)
        say("", "`dyeday restore NAME COPY` brings one back and keeps the present file")


def current_state(file: BackedUpFile) -> tuple[bool, str]:
    """Return whether a data file is undamaged, and what it holds or what is wrong."""
    try:
        return True, file.current_contents()
    except StoreError as error:
        return False, error.what.removeprefix(f"{file.path} ")


def _data(file: BackedUpFile) -> dict[str, object]:
    whole, message = current_state(file)
    copies = [
        {"copy": copy.name, "taken": iso(copy.taken), "good": copy.good, "holds": copy.holds or None,
         "problem": copy.problem or None, "set_aside": copy.was_set_aside}
        for copy in file.copies()
    ]  # fmt: skip
    return {"name": file.name, "kind": file.kind.word, "file": str(file.path), "good": whole, "holds": message,
            "copies": copies}  # fmt: skip


def _tell(file: BackedUpFile) -> None:
    whole, message = current_state(file)
    say(f"{file.name}  now: {message}" if whole else f"{file.name}  ! now: {message}")
    copies = file.copies()
    for copy in copies:
        what = copy.holds if copy.good else f"! {copy.problem}"
        aside = "set aside; " if copy.was_set_aside else ""
        say(f"  {copy.name:22}  {local(copy.taken, None):%a %d %b %H:%M}  {aside}{what}")
    if not copies:
        say("  no copy yet")


def _bring(args: Namespace, file: BackedUpFile) -> None:
    copies = file.copies()
    copy = _newest(file, copies) if args.newest else _named(copies, args.when)
    if not copy.good:
        right = f"choose another of `dyeday restore {file.name}`"
        raise Refusal(f"copy {copy.name} of {file.name} {copy.problem}; {right}")
    with _no_bench(file):
        aside = file.restore_copy(copy, clock.now().utc)
    _, holds = current_state(file)
    if args.json:
        print_json({"name": file.name, "copy": copy.name, "holds": holds, "set_aside": str(aside) if aside else None})
    else:
        say(f"{file.name} is as it was on {local(copy.taken, None):%a %d %b %Y at %H:%M}: {holds}")
        if aside is not None:
            say(f"what was there is kept as {aside}")
        if file.kind.word != SESSION.word:
            say("what you typed since then is not in it")
    # Takes in days closed since that copy, and days that differ now.
    update_records(args)


@contextlib.contextmanager
def _no_bench(file: BackedUpFile) -> Iterator[None]:
    """Keep benches from opening the session meanwhile. Raises Refusal if one has it open."""
    if file.kind.word != SESSION.word or not file.path.parent.is_dir():
        yield
        return
    bench = FileLock(file.path.with_suffix(".bench"))
    if not bench.grab():
        raise Refusal(f"a bench has {file.name} open; close it with q first, or it saves its own day again")
    try:
        yield
    finally:
        bench.release()


def _newest(file: BackedUpFile, copies: list[Copy]) -> Copy:
    good = [copy for copy in copies if copy.good and not copy.was_set_aside]
    if not good:
        raise Refusal(f"{file.name} has no undamaged copy; look for your own copy of {file.path.parent}")
    return good[0]


def _named(copies: list[Copy], when: str) -> Copy:
    exact = [copy for copy in copies if copy.name == when]
    begun = exact or [copy for copy in copies if copy.name.startswith(when)]
    if len(begun) != 1:
        what = "several copies are" if begun else "no copy is"
        raise Refusal(f"{what} called {brief(when)}; {similar(when, [copy.name for copy in copies])}")
    return begun[0]
