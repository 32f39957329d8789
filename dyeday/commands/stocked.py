"""A plan that knows what is on the shelf, for the commands that read one."""

from __future__ import annotations

from argparse import Namespace

from dyeday.plan.model import Plan
from dyeday.store.durable import StoreError
from dyeday.store.places import data_folder
from dyeday.store.shelf import ShelfFile
from dyeday.track.shelf_day import differences, on_shelf


def stocked(args: Namespace, plan: Plan) -> tuple[Plan, list[str]]:
    """Return ``plan`` with the shelf's amounts where it gives none itself, and what to tell about the two.

    A shelf that cannot be read stops no day: it is told, and the plan is as it was.
    """
    try:
        shelf = ShelfFile(data_folder(args.data)).shelf()
    except StoreError as error:
        return plan, [f"the shelf cannot be looked at: {error}"]
    return on_shelf(plan, shelf), differences(plan, shelf)
