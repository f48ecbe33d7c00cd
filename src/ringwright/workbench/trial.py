"""A trial as its pages have it: planned, or judged from a table that was typed, pasted or sent as a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ringwright.verbs.asked import DEMO, Asked
from ringwright.verbs.trialling import AskedPlan, AskedVerdict

if TYPE_CHECKING:
    from collections.abc import Callable

    from ringwright.report.sheets.sheet import Sheet

# Each answer imports what it needs as it is called, so that the server need not load the statistics.
# ruff: noqa: PLC0415

__all__ = ["DEMO", "EXAMPLE", "RUNS", "Asked", "AskedPlan", "AskedVerdict", "plan_of", "verdict_of"]

EXAMPLE = """shift,frame,setting,breaks,spindle_hours
Mon early,F1,45 mg,312,7900
Mon early,F2,40 mg,398,7950
Mon late,F1,45 mg,355,7880
Mon late,F2,40 mg,471,7940
Mon night,F1,45 mg,298,7910
Mon night,F2,40 mg,380,7900
Tue early,F1,40 mg,402,7930
Tue early,F2,45 mg,330,7890
Tue late,F1,40 mg,455,7900
Tue late,F2,45 mg,352,7920
Tue night,F1,40 mg,391,7950
Tue night,F2,45 mg,309,7900
"""
"""An invented trial in which the heavier traveller breaks a fifth less, counted by hand."""

RUNS = """frame,setting,from,to
F1,40 mg,2026-03-09,2026-03-15
F2,45 mg,2026-03-09,2026-03-15
F1,45 mg,2026-03-16,2026-03-22
F2,40 mg,2026-03-16,2026-03-22
"""
"""An invented trial of the demonstration's frames: nothing was changed, so no difference is to be found."""


def plan_of(asked: AskedPlan, _: Callable[[str], None], __: Callable[[], bool]) -> Sheet:
    """Plan a trial; Refusal with every fault of what was typed."""
    from ringwright.verbs.trialling import plan_sheet

    return plan_sheet(asked)


def verdict_of(asked: AskedVerdict, say: Callable[[str], None], _: Callable[[], bool]) -> Sheet:
    """Judge a trial; Refusal with every fault of what was typed."""
    from ringwright.verbs.trialling import verdict_sheet

    say("Counting the breaks of each shift." if asked.records else "Judging the shifts.")
    return verdict_sheet(asked)
