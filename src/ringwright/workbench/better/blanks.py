"""The fields that several questions of what pays have in common."""

from __future__ import annotations

from ringwright.verbs.paying import Counts
from ringwright.workbench.better.question import Asked, Blank, Ground

__all__ = ["COUNTED", "COUNTS_NAME", "FIT", "FRICTION", "LIMITS", "TRIED", "counts_of"]

COUNTS_NAME = "the page's field"
YES = "yes"


def _records(ground: Ground) -> tuple[str, ...]:
    return ("no", YES) if ground.records else ()


def _fits(ground: Ground) -> tuple[str, ...]:
    return ground.fits


FRICTION = Blank(key="friction", label="Ring friction", hint='Another one, as "0.12".', option="--ring-friction")
TRIED = (
    Blank(key="traveller", label="Traveller", hint='Another mass, as "40 mg".', option="--traveller"),
    Blank(key="speed", label="Main speed", hint='Another one, as "17000 rpm"; the course keeps its shape.',
          option="--speed"),
    FRICTION,
    Blank(key="guide", label="Lappet", choices=("as set", "fixed")),
    Blank(key="control_ring", label="Control ring", choices=("as set", "none")),
)  # fmt: skip
FIT = Blank(
    key="fit", label="Fit to readings", hint="A kept fit in place of the mill's frictions and drag.", offers=_fits,
    option="--fit",
)  # fmt: skip
LIMITS = Blank(
    key="limits", label="Other limits", hint='As "traveller_heat=10 W", parted by commas.', option="--limit"
)
COUNTED = (
    Blank(key="records", label="Take the mill's records", hint="Its own break counts of this frame and yarn, by shift.",
          offers=_records, option="--records"),
    Blank(
        key="counts", label="Counts of breaks", long=True, option="--counts",
        hint='Lines as of a CSV file, its first the heads: "breaks, spindle hours", and where they differ from the '
        'setting "speed (rpm)" and "traveller (mg)".',
    ),
)  # fmt: skip


def counts_of(asked: Asked) -> Counts:
    """Give the counts that were typed, or the records of the server where they were chosen."""
    from ringwright.economy.csv_table import Csv  # noqa: PLC0415 - in the worker that answers

    return Counts(
        table=Csv(asked["counts"], COUNTS_NAME) if asked["counts"] else None,
        records=asked.ground.records if asked["records"] == YES else None,
    )
