"""`lots`: the lot book in the shell."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from dyeday.commands.common import (
    RETRY_S,
    Refusal,
    UsageError,
    copy_records,
    first_lines,
    print_json,
    put_table,
    read_text,
    report,
    report_import,
    say,
    sessions,
)
from dyeday.files.places import typed_path
from dyeday.paper.sheets.lot_list import csv_rows, list_lines
from dyeday.plan.reading.problems import similar
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store import clock
from dyeday.store.records.lots import NUMBER, LotBook
from dyeday.store.session_form import SESSION_ID
from dyeday.store.sessions import Sessions
from dyeday.studio.lots.lot import Lot, LotFact, LotFactKind
from dyeday.studio.lots.lot_view import LotRow
from dyeday.text import brief, counted, csv_text, harmless, json_text, strict_json
from dyeday.track.folding.fold import fold

MOST_LISTED = 40
LARGEST_BOOK = 400_000_000


def lots(args: Namespace) -> None:
    """Find, show, list, import or dye again lots, or add to one."""
    book = LotBook(args.data)
    facts = [] if args.from_file else list(_kept(args))
    if args.from_file:
        _take_in(args, book)
    elif args.again or args.into or facts:
        _of_one(args, book, facts)
    elif args.plan or args.skeins is not None:
        raise UsageError("--plan and --skeins go with --again")
    elif len(args.words) == 1 and NUMBER.match(args.words[0]):
        _show(args, book.lot(args.words[0].lower()))
    else:
        _list(args, book)


def _of_one(args: Namespace, book: LotBook, facts: Sequence[LotFact]) -> None:
    number, dyeing = _one(book, args.words), args.again or args.into
    if facts:
        lot = book.lot(number)
        if fresh := [one for one in _checked(lot, facts) if not _kept_just_now(lot, one)]:
            book.add_facts(number, fresh)
            copy_records(args)
        message = f"kept with lot {number}: {', '.join(one.what.value for one in facts)}"
        if dyeing:
            report([message])  # before `dye_again`, which may refuse
        elif not args.json:
            say(message)
    if dyeing:
        from dyeday.commands.books.lots_again import dye_again

        dye_again(args, book.lot(number))
    elif args.json:
        print_json(to_plain(book.lot(number)))


def _one(book: LotBook, words: Sequence[str]) -> str:
    """Return the number of the lot that words name. Raises Refusal if they name none or several."""
    if len(words) == 1 and NUMBER.match(words[0]):
        return words[0].lower()
    lots = book.find(words) if words else []
    if len(lots) == 1:
        return lots[0].number
    how_many = f"{len(lots)} lots have" if lots else "no lot has"
    right = "give one number, from `dyeday lots`"
    raise Refusal(f"{how_many} {' '.join(map(brief, words))}; {right}" if words else f"which lot? {right}")


def _kept(args: Namespace) -> Iterator[LotFact]:
    at = clock.now().utc
    yield from (LotFact(at, LotFactKind.NOTE, note) for note in args.note or ())
    if args.mill_lot:
        yield LotFact(at, LotFactKind.MILL_LOT, args.mill_lot)
    for typed in args.powder_lot or ():
        dye, equals, text = typed.partition("=")
        said, of = (text.strip(), dye.strip()) if equals else (typed, "")
        yield LotFact(at, LotFactKind.POWDER_LOT, said, of)
    for photo in args.photo or ():
        path = typed_path(photo)
        if not path.is_file():
            raise Refusal(f"{photo}: file not found; give the picture's file")
        yield LotFact(at, LotFactKind.PHOTO, str(path))
    if args.look:
        yield LotFact(at, LotFactKind.LOOK, args.look)


def _checked(lot: Lot, facts: Iterable[LotFact]) -> Iterator[LotFact]:
    """Yield facts with harmless text. Raises Refusal for an unknown dye or an empty text."""
    dyes = [dye.name for dye in lot.dyes]
    for one in facts:
        if not (text := harmless(one.text).strip()) or len(text) > 1000:
            raise Refusal(f"a {one.what.value} of {len(text)} characters; write 1 to 1000")
        if one.of and one.of not in dyes:
            raise Refusal(f"lot {lot.number} has no dye {brief(one.of)}; {similar(one.of, dyes)}")
        yield replace(one, text=text)


def _kept_just_now(lot: Lot, one: LotFact) -> bool:
    same = (before for before in lot.added if (before.what, before.text, before.of) == (one.what, one.text, one.of))
    return any(0 <= (one.at - before.at).total_seconds() < RETRY_S for before in same)


def _show(args: Namespace, lot: Lot) -> None:
    if args.csv:
        put_table(args, csv_text(csv_rows([lot])))
    elif args.json:
        print_json(to_plain(lot))
    else:
        from dyeday.paper.layout.sheet_text import sheet_lines
        from dyeday.paper.sheets.lot_sheet import lot_sheet

        say(*sheet_lines(lot_sheet(lot)))


def _list(args: Namespace, book: LotBook) -> None:
    lots = book.find(args.words)
    if args.csv:
        put_table(args, csv_text(csv_rows(book.lots(lots))))
        if args.csv != "-":
            say(f"{counted(len(lots), 'lot')} in {args.csv}")
    elif args.json:
        _print_all(book, lots)
    elif not lots:
        say(_nothing(book, args.words, sessions(args)))
    else:
        shown = lots if args.all else lots[:MOST_LISTED]
        say(*list_lines(shown))
        if len(lots) > len(shown):
            say(f"and {len(lots) - len(shown)} older ones: add words, or use --all")


def _nothing(book: LotBook, words: Sequence[str], stored: Sessions) -> str:
    if words:
        return f"no lot has {' '.join(map(brief, words))}"
    nothing = f"no finished lot yet in {book.data}"
    last = stored.newest(unfinished=False)
    day = fold(last.plan, last.events) if last is not None and last.is_closed else None
    if last is None or day is None or not day.unfinished:
        return f"{nothing}; `dyeday close` adds the day's lots"
    batches = counted(len(day.unfinished), "batch", "batches")
    dry = all(batch.only_dries for batch in day.unfinished)
    state = "still drying" if dry else "not finished"
    return f"{nothing}: {batches} of {last.about.id} {state}; `dyeday carry NEW.toml` plans them for the next day"


def _print_all(book: LotBook, rows: Sequence[LotRow]) -> None:
    """Print lots as a JSON list, one a line, without holding all in memory."""
    print("[", end="")  # noqa: T201
    for n, lot in enumerate(book.lots(rows)):
        print(",\n" if n else "\n", json_text(to_plain(lot)), sep="", end="")  # noqa: T201
    print("\n]" if rows else "]")  # noqa: T201


def _take_in(args: Namespace, book: LotBook) -> None:
    """Import lots from ``--json``. Raises Refusal with every problem; then none is imported."""
    name = args.from_file
    try:
        raw = strict_json(read_text(Path(name), LARGEST_BOOK))
    except (ValueError, RecursionError):
        raise Refusal(f"{name}: this is not JSON; give what `dyeday lots --json` wrote") from None
    wrong, read = [], []
    for n, item in enumerate(raw if isinstance(raw, list) else [raw], 1):
        try:
            read.append(_lot_of(item))
        except (TypeError, ValueError, KeyError, AttributeError, RecursionError):
            wrong.append(f"{name}: lot {n} of the list is not a lot; give what `dyeday lots --json` wrote")
    if wrong:
        raise Refusal(*first_lines(wrong))
    taken = book.import_lots(read)
    copy_records(args)
    report_import(args, len(taken), len(read) - len(taken))


def _lot_of(item: Any) -> Lot:
    lot = from_plain(Lot, item)
    sessions_named = [lot.session, *(batch.session for batch in lot.batches)]
    if not NUMBER.match(lot.number) or not lot.batches or to_plain(lot) != item:
        raise ValueError(lot.number)
    if not all(SESSION_ID.match(session) for session in sessions_named):
        raise ValueError(lot.session)
    json.dumps(item, ensure_ascii=False, allow_nan=False).encode()
    return lot
