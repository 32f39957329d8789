"""`library`: the studio's definitions, and a plan's added to them."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from dyeday.commands.common import copy_records, print_json, say
from dyeday.commands.days.check_and_begin import load
from dyeday.plan.library import KEPT, Library, change_text
from dyeday.plan.model import Base, Circuit, Colourway, Dye, Kit
from dyeday.plan.serialize import to_plain
from dyeday.store.records.library import LibraryRecords
from dyeday.terms import KitKind


def library(args: Namespace) -> None:
    """Print the library, or add a plan's definitions with ``--take``."""
    file = LibraryRecords(args.data)
    if args.take is None:
        library = file.library()
        if args.json:
            print_json(to_plain(library))
        else:
            say(*library_lines(library))
        return
    plan, _ = load(Path(args.take), file.library())
    changes = file.take(plan, only_new=args.only_new)
    copy_records(args)
    if args.json:
        print_json({"taken": [{"what": c.word, "name": c.name, "changed": list(c.differs)} for c in changes]})
    else:
        say(*(change_text(change) for change in changes))
        say(f"{len(changes)} added to the library" if changes else "the library already has all of it")


def library_lines(library: Library) -> Iterator[str]:
    """Yield the definitions, a line each."""
    if library == Library():
        yield "The library is empty; `dyeday setup` adds to it."
    for key, _ in KEPT:
        if things := getattr(library, key):
            yield key.capitalize()
            yield from (f"  {thing.name}: {_about(thing)}" for thing in things)


def _about(thing: Any) -> str:
    if isinstance(thing, Circuit):
        return f"{thing.volts:g} V, {thing.amps:g} A"
    if isinstance(thing, Kit):
        holds = f", holds {thing.holds_skeins}" if thing.holds_skeins is not None else ""
        holds = f", holds {thing.holds_g:g} g" if thing.holds_g is not None else holds
        many = "s" if thing.units > 1 and thing.kind is not KitKind.PEGS else ""
        return f"{thing.units} {thing.kind.value}{many}{holds}"
    if isinstance(thing, Base):
        fibres = ", ".join(f"{share:g} % {fibre}" for fibre, share in thing.fibre)
        return f"{thing.skein_g:g} g, {fibres}"
    if isinstance(thing, Dye):
        return f"solution {thing.solution_pct:g} %"
    assert isinstance(thing, Colourway)  # noqa: S101 - there are no other kinds of definition
    return "; then ".join(f"{layer.how.value}, {layer.fix_text}" for layer in thing.layers)
