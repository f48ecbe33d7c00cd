"""The rounds of readings as their page shows them, listed and taken back outside the server's own process."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ringwright.verbs.asked import DEMO

if TYPE_CHECKING:
    from ringwright.report.sheets.rounds import RoundRow
    from ringwright.report.sheets.sheet import Sheet

# Each answer imports what it needs as it is called, so that the server need not.
# ruff: noqa: PLC0415

__all__ = ["DEMO", "back_of", "rounds_of"]


def rounds_of(where: str, store: str) -> tuple[list[RoundRow], Sheet]:
    """List every round of a store, or of the demo, and the sheet of their drift without the list itself."""
    from ringwright.verbs.centring import store_there
    from ringwright.verbs.rounds import list_rounds, round_rows

    if store != DEMO and not store_there(store):  # a store that is made with its first round
        from ringwright.report.sheets.rounds import rounds_sheet
        from ringwright.verbs.app import open_mill

        return [], replace(rounds_sheet(open_mill(where).name, store, [], {}), tables=())
    sheet = list_rounds(where, store)
    return round_rows(where, store), replace(sheet, tables=sheet.tables[1:])


def back_of(where: str, store: str, given: dict[str, str]) -> str:
    """Take a round back; gives what was done. Refusal with every fault of what was given."""
    from ringwright.verbs.rounds import TakingBack, take_back_round

    return take_back_round(where, store, TakingBack(**given))
