"""Keep a fit to readings beside the mill, from a page."""

from __future__ import annotations

from datetime import UTC, datetime

from ringwright.refusal import Fault, Refusal
from ringwright.verbs import app, fits, paying
from ringwright.workbench.better.economy import HELD, HOLD, readings_of
from ringwright.workbench.better.question import Asked, Ground

__all__ = ["keep_fit", "kept_on", "may_keep"]


def may_keep(ground: Ground) -> bool:
    """Say whether the mill keeps fits: the demo mill does not."""
    return ground.where != app.DEMO


def keep_fit(asked: Asked, date: str, *, replace: bool) -> str:
    """Fit anew and keep it under a date ("2026-03-14"), which is given back; Refusal as the command line's."""
    ground = asked.ground
    if not may_keep(ground):
        mend = "Copy it into a folder of your own for that: ringwright init --demo FOLDER"
        raise Refusal(Fault(where="the demo mill", got="asked to keep a fit", wants="left as it is", mend=mend))
    try:
        day = datetime.strptime(date.strip(), "%Y-%m-%d").replace(tzinfo=UTC).date().isoformat()
    except ValueError:
        raise Refusal(Fault(where="The date", got=f'"{date}"', wants="a date, as 2026-03-14")) from None
    hold = tuple(name for name in HOLD if asked[name.replace(" ", "_")] == HELD)
    paying.calibrate(ground.where, ground.names, readings_of(asked), hold, date=day, replace=replace)
    return day


def kept_on(ground: Ground, date: str) -> str:
    """Give a date under which a fit is kept; "" for any other word."""
    return date if date in fits.kept_dates(ground.where, ground.names) else ""
