"""`python -m tests.fuzz`: every door fuzzed by coverage for a bounded time; prints what was tried, exits 1 on a find.

Needs atheris, which is not one of the project's extras: `pip install atheris`. ``--seconds N`` is for each door.
What is found is kept in the folder named at the end; an input that takes longer than a second is a find too.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

LONGEST_S = 1


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--seconds", type=int, default=15, help="for each door")
    parser.add_argument("--door", help="only this one")
    parser.add_argument("--one", action="store_true", help=argparse.SUPPRESS)
    args, rest = parser.parse_known_args()
    if args.one:
        return _one(args.door, rest)
    from tests.fuzz.doors import DOORS, seeds

    if args.door and args.door not in DOORS:
        parser.error(f"the doors are {', '.join(DOORS)}")
    found = Path(tempfile.mkdtemp(prefix="dyeday-fuzz-"))
    bad = []
    for door in [args.door] if args.door else DOORS:
        corpus, finds = found / door / "corpus", found / door / "finds"
        corpus.mkdir(parents=True)
        finds.mkdir()
        for number, raw in enumerate(seeds(door)):
            (corpus / f"seed{number}").write_bytes(raw)
        command = [sys.executable, "-m", "tests.fuzz", "--one", "--door", door, str(corpus)]
        command += [f"-max_total_time={args.seconds}", f"-artifact_prefix={finds}/", f"-timeout={LONGEST_S * 10}"]
        command += [f"-report_slow_units={LONGEST_S}", "-max_len=60000", "-rss_limit_mb=2048", "-print_final_stats=1"]
        done = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)
        counts = [line for line in done.stderr.splitlines() if "number_of_executed_units" in line]
        count = counts[-1].rpartition(" ")[2] if counts else "0"
        here = sorted(finds.iterdir())
        print(f"{door}: {count} texts tried in {args.seconds} s, {len(here)} finds")
        if done.returncode or here or count == "0":
            bad.append(door)
            print(done.stderr[-3000:])
    if bad:
        print(f"look into {found}: {', '.join(bad)}")
    else:
        shutil.rmtree(found)
    return 1 if bad else 0


def _one(door: str, rest: list[str]) -> int:
    import atheris  # type: ignore[import-not-found, import-untyped, unused-ignore]

    with atheris.instrument_imports(include=["dyeday", "tomllib"]):
        from tests.fuzz.doors import DOORS

    atheris.Setup([sys.argv[0], *rest], lambda raw: DOORS[door](bytes(raw)) and None)
    atheris.Fuzz()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
