"""The verbs that put what was solved on a sheet, the same for every door."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ringwright.mill import Mill
    from ringwright.report.sheets.sheet import Sheet
    from ringwright.setting.choice import Trial

# A verb imports what it needs as it is called, so that no other command waits for it.
# ruff: noqa: PLC0415

__all__ = ["doff_sheet"]


def doff_sheet(mill: Mill, frame: str, yarn: str, tried: Trial) -> Sheet:
    """Put a doff, what it is compared to, and its rooms to the limits on one sheet; refuses as the doff does."""
    from ringwright.judgement import judge
    from ringwright.report.sheets.doff import doff_sheet as sheet
    from ringwright.setting.doff import compare_doffs
    from ringwright.verbs.app import triangle_limit

    compared = compare_doffs(mill, frame, yarn, tried)
    return sheet(compared, triangle_limit(mill, yarn), judge(mill, frame, yarn, tried))
