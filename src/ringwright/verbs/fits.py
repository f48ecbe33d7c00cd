"""The verb that opens a mill with a kept fit in place of its assumed frictions and drag."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING

from ringwright.refusal import Fault, Refusal

if TYPE_CHECKING:
    from ringwright.mill import Mill
    from ringwright.uncertainty.kept import KeptFit

__all__ = ["Opened", "kept_dates", "open_for"]

WIDTH = 92

# ruff: noqa: PLC0415 - the libraries of statistics are loaded only where a fit is asked for


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A mill, with the fit that stands in it if one was asked for."""

    mill: Mill
    fit: KeptFit | None = None

    @property
    def words(self) -> str:
        """Say which fit is used, with its values and errors, and what to mind; empty without one."""
        kept = self.fit
        if kept is None:
            return ""
        rows = zip(kept.names, kept.values, kept.values * kept.log_errors, strict=True)
        told = ", ".join(f"{name} {value:.3g} (s.e. {error:.1g})" for name, value, error in rows)
        head = f"Fit used for {kept.frame} with {kept.yarn}: {told}; measured, {kept.words}."
        return "\n".join(wrap(" ".join((head, *kept.notes(self.mill))), WIDTH))

    @property
    def values(self) -> dict[str, object]:
        """Give the fit for JSON: {} without one."""
        kept = self.fit
        if kept is None:
            return {}
        named = dict(zip(kept.keys, map(float, kept.values), strict=True))
        return {"fit": {"date": kept.date, "readings": kept.readings, "origin": "measured", "values": named}}


def kept_dates(where: str, names: tuple[str, str]) -> tuple[str, ...]:
    """Give the dates of the fits of a frame and yarn (their names) that are kept beside a mill, the newest first."""
    from ringwright.mill import demo_mill_path
    from ringwright.uncertainty.keeping import kept_fits
    from ringwright.verbs.app import DEMO

    return tuple(reversed(kept_fits(str(demo_mill_path()) if where == DEMO else where, "-".join(names))))


def open_for(where: str, names: tuple[str, str], fit: str | None) -> Opened:
    """Open a mill for a frame and yarn (their names) with a fit: "latest", its date, or its file; None for none.

    Raises Refusal for a mill with faults, an unknown fit, and a fit of another frame or yarn.
    """
    from ringwright.verbs.app import DEMO, open_mill

    mill = open_mill(where)
    if fit is None:
        return Opened(mill=mill)
    from ringwright.economy.csv_table import text_of
    from ringwright.mill import demo_mill_path
    from ringwright.uncertainty.keeping import find_fit
    from ringwright.uncertainty.kept import read_fit, with_fit

    file = find_fit(str(demo_mill_path()) if where == DEMO else where, "-".join(names), fit)
    kept = read_fit(text_of(str(file), "a fit that can be read"), file.name)
    if (kept.frame, kept.yarn) != names:
        got, wants = (f"of {frame} with {yarn}" for frame, yarn in ((kept.frame, kept.yarn), names))
        raise Refusal(Fault(where=f"the fit in {file.name}", got=got, wants=wants))
    return Opened(mill=with_fit(mill, kept), fit=kept)
