"""Usage of the commands around the day: what leaves the studio, what is on the shelf, what work really takes."""

from __future__ import annotations

from dyeday.commands.usage.adding import Adding


def add(made: Adding) -> None:
    """Add ``parcels``."""
    parcels = made.add(
        "parcels",
        "parcels:parcels",
        "which orders and parcels are complete, and what the others wait for",
        "dyeday parcels --cost",
        made.chosen,
        made.as_json,
        made.as_of,
    )
    parcels.add_argument("--labels", action="store_true", help="what the labels of all that is ready say")
    parcels.add_argument("--cost", action="store_true", help="what each lot cost, and each order brings")
    parcels.add_argument("--strict", action="store_true", help="exit 1 where a parcel waits")
