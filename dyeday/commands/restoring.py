"""`restore`: the copies of what is kept, what each holds, and one of them brought back."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from dyeday.commands.common import Refusal, UsageError, answer, say
from dyeday.paper.when import local
from dyeday.plan.problems import near
from dyeday.store import clock
from dyeday.store.backups import Copy, bring_back, copies
from dyeday.store.durable import StoreError, read_bytes
from dyeday.store.kinds import files_of
from dyeday.store.lock import FileLock
from dyeday.store.places import data_folder
from dyeday.store.sealed import LARGEST_FILE, Kind, unseal
from dyeday.track.instant import iso


def restore(args: Namespace) -> int:
    if args.when and args.newest:
        raise UsageError("name a copy or say --newest, not both")
    if args.newest and not args.name:
        raise UsageError("say of what: dyeday restore NAME --newest")
    data = data_folder(args.data)
    kept = files_of(data)
    if args.name:
        kept = [(path, kind) for path, kind in kept if path.stem == args.name]
        if not kept:
            names = [path.stem for path, _ in files_of(data)]
            raise Refusal(f"nothing here is called {args.name!r}; {near(args.name, names)}")
    if args.when or args.newest:
        return _bring(args, *kept[0])
    if args.json:
        answer([_data(path, kind) for path, kind in kept])
    elif not kept:
        say(f"nothing is kept in {data} yet; `dyeday begin PLAN` begins")
    else:
        for path, kind in kept:
            _tell(path, kind)
        say("", "`dyeday restore NAME COPY` brings one back; what is there now is kept under a dated name")
    return 0


def present(path: Path, kind: Kind) -> tuple[bool, str]:
    """Return whether a file of ours can be read as it is now, and what it holds or what is wrong with it."""
    if not path.exists() and not path.is_symlink():
        return False, "is not there"
    try:
        return True, kind.holds(unseal(read_bytes(path, LARGEST_FILE), path, kind).tables)
    except StoreError as error:
        return False, error.what.removeprefix(f"{path} ")


def _data(path: Path, kind: Kind) -> dict[str, object]:
    whole, said = present(path, kind)
    found = [
        {
            "copy": copy.name,
            "taken": iso(copy.taken),
            "good": copy.good,
            "holds": copy.holds or None,
            "problem": copy.problem or None,
            "set_aside": copy.was_set_aside,
        }
        for copy in copies(path, kind)
    ]
    return {"name": path.stem, "kind": kind.word, "file": str(path), "good": whole, "holds": said, "copies": found}


def _tell(path: Path, kind: Kind) -> None:
    whole, said = present(path, kind)
    say(f"{path.stem}  now: {said}" if whole else f"{path.stem}  ! now: {said}")
    found = copies(path, kind)
    for copy in found:
        what = copy.holds if copy.good else f"! {copy.problem}"
        aside = "set aside; " if copy.was_set_aside else ""
        say(f"  {copy.name:22}  {local(copy.taken, None):%a %d %b %H:%M}  {aside}{what}")
    if not found:
        say("  no copy yet")


def _bring(args: Namespace, path: Path, kind: Kind) -> int:
    found = copies(path, kind)
    copy = _newest(path, found) if args.newest else _named(path, found, args.when)
    if not copy.good:
        raise Refusal(
            f"copy {copy.name} of {path.stem} {copy.problem}; choose another of `dyeday restore {path.stem}`"
        )
    bench = FileLock(path.with_suffix(".bench"))
    if path.parent.is_dir() and not bench.grab():
        raise Refusal(f"a bench has {path.stem} open; leave it with q first, or it would save its own day again")
    try:
        aside = bring_back(path, copy, kind, clock.now().utc)
    finally:
        bench.release()
    if args.json:
        answer(
            {"name": path.stem, "copy": copy.name, "holds": copy.holds, "set_aside": str(aside) if aside else None}
        )
        return 0
    say(f"{path.stem} is as it was on {local(copy.taken, None):%a %d %b %Y at %H:%M}: {copy.holds}")
    if aside is not None:
        say(f"what was there is kept as {aside}")
    return 0


def _newest(path: Path, found: list[Copy]) -> Copy:
    good = [copy for copy in found if copy.good and not copy.was_set_aside]
    if not good:
        raise Refusal(f"{path.stem} has no copy that is whole; look for one of your own of {path.parent}")
    return good[0]


def _named(path: Path, found: list[Copy], when: str) -> Copy:
    exact = [copy for copy in found if copy.name == when]
    begun = exact or [copy for copy in found if copy.name.startswith(when)]
    if len(begun) != 1:
        what = "several copies are" if begun else "no copy is"
        raise Refusal(f"{what} called {when!r}; {near(when, [copy.name for copy in found])}")
    return begun[0]
