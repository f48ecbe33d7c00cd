"""Energy, cost, breaks, comparison, sureness and the fit to readings, each the command line's own sheet."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain
from typing import TYPE_CHECKING

from ringwright.mill.setting import Setting
from ringwright.refusal import Fault, Refusal
from ringwright.setting.choice import AS_SET
from ringwright.verbs import app, fits, paying
from ringwright.verbs.paying import Paid
from ringwright.workbench.better.blanks import COUNTED, FIT, TRIED, counts_of
from ringwright.workbench.better.question import (
    NO_FIT,
    Asked,
    Blank,
    Ground,
    Question,
    Say,
    Stopped,
    number,
    opened,
    trial_of,
    whole,
)

if TYPE_CHECKING:
    from ringwright.economy.csv_table import Csv

__all__ = ["BREAKS", "CALIBRATE", "COMPARE", "COST", "ENERGY", "SPREAD", "readings_of"]

MILL_HERE = "this one"
READINGS_NAME = "the page's field"
DOFFS = 4000


def _energy(asked: Asked, _: Say, __: Stopped) -> Paid:
    return paying.energy(opened(asked), asked.ground.names, trial_of(asked))


def _cost(asked: Asked, _: Say, __: Stopped) -> Paid:
    rate = number(asked, "rate", "--rate")
    return paying.cost(opened(asked), asked.ground.names, trial_of(asked), rate, counts_of(asked))


def _breaks(asked: Asked, _: Say, __: Stopped) -> Paid:
    return paying.breaks(opened(asked), asked.ground.names, trial_of(asked), counts_of(asked))


def _compare(asked: Asked, _: Say, __: Stopped) -> Paid:
    ground, tried, one = asked.ground, trial_of(asked, "b_"), opened(asked)
    names = (asked["frame_b"] or ground.names[0], asked["yarn_b"] or ground.names[1])
    mill = "" if asked["mill_b"] in {"", MILL_HERE} else ground.others[asked["mill_b"]]
    fit = "" if asked["fit_b"] in {"", NO_FIT} else asked["fit_b"]
    if (names, mill, fit, tried) == (ground.names, "", "", AS_SET):
        wants = "something to try, or another frame, yarn or mill"
        raise Refusal(Fault(where="B", got="the same as A", wants=wants, mend='Write "40 mg" as its traveller, say.'))
    if (names, mill, fit) == (ground.names, "", ""):
        other = one
    elif mill or fit:
        other = fits.open_for(mill or ground.where, names, fit or None)
    else:
        other = fits.Opened(mill=ground.mill)
    return paying.compare(one, (ground.names, names), tried, other)


def _spread(asked: Asked, say: Say, stopped: Stopped) -> Paid:
    doffs = whole(asked, "doffs", "--doffs")
    watch, tried = (say, stopped), trial_of(asked)
    return paying.spread(opened(asked), asked.ground.names, tried, DOFFS if doffs is None else doffs, watch)


def _calibrate(asked: Asked, _: Say, __: Stopped) -> Paid:
    if not asked["readings"]:
        wants = "at least one line of heads and one of values"
        raise Refusal(Fault(where="Readings of tension", got="empty", wants=wants, mend="Paste them, or take a file."))
    hold = tuple(name for name in HOLD if asked[name.replace(" ", "_")] == HELD)
    found, _nothing_kept = paying.calibrate(asked.ground.mill, asked.ground.names, readings_of(asked), hold)
    return found


def readings_of(asked: Asked) -> Csv:
    """Give the readings that were typed."""
    from ringwright.economy.csv_table import Csv  # noqa: PLC0415 - in the worker that answers

    return Csv(asked["readings"], READINGS_NAME)


def _others(ground: Ground) -> tuple[str, ...]:
    return (MILL_HERE, *ground.others) if ground.others else ()


def _fits_b(ground: Ground) -> tuple[str, ...]:
    pairs = {(one.frame, one.yarn) for one in ground.mill.settings.values()}
    return (NO_FIT, "latest") if any(fits.kept_dates(ground.where, pair) for pair in pairs) else ()


def _next(ground: Ground) -> Setting | None:
    """Give the setting to compare with where nothing was named: the same yarn on another kind of frame, if there is."""
    others = [one for one in ground.mill.settings.values() if (one.frame, one.yarn) != ground.names]
    unlike = [one for one in others if not _alike(ground, one)]
    same_yarn = (one for one in unlike if one.yarn == ground.names[1])
    return next(chain(same_yarn, unlike, others), None)


def _alike(ground: Ground, other: Setting) -> bool:
    """Say whether another frame is of the same kind, so that only its name differs."""
    a, b = (ground.mill.frames[name] for name in (ground.names[0], other.frame))
    return other.yarn == ground.names[1] and all(getattr(a, part) == getattr(b, part) for part in KIND)


def _frame_b(ground: Ground) -> str:
    found = _next(ground)
    return found.frame if found else ""


def _yarn_b(ground: Ground) -> str:
    found = _next(ground)
    return found.yarn if found else ""


def _demo_readings(ground: Ground) -> str:
    return paying.demo_readings(ground.names) if ground.where == app.DEMO else ""


HOLD = ("ring friction", "yarn friction", "drag")
HELD = "hold as it is"
KIND = ("ring", "build", "guide", "control_ring")
"""Parts of a frame by which a comparison tells one kind from another."""
ENERGY = Question(
    key="energy", name="Energy", question="Where does the power of a spindle go, and what does a kilogram take?",
    blanks=(*TRIED, FIT), answer=_energy, command="energy",
)  # fmt: skip
COST = Question(
    key="cost", name="Cost", question="What does a kilogram cost, and which speed pays best?",
    blanks=(
        *TRIED,
        Blank(key="rate", label="End breaks", hint="Per 1000 spindle hours of the setting as it is, from your counts.",
              option="--rate"),
        *COUNTED, FIT,
    ),
    answer=_cost, command="cost",
)  # fmt: skip
BREAKS = Question(
    key="breaks", name="End breaks", question="How do the end breaks of what is tried compare with the setting's?",
    blanks=(*TRIED, *COUNTED, FIT), answer=_breaks, command="breaks",
)  # fmt: skip
COMPARE = Question(
    key="compare", name="Compare", question="What is different between two settings or frames, and why?",
    blanks=(
        Blank(key="frame_b", label="Frame of B", hint="A's if left empty.", start=_frame_b, option="--frame-b"),
        Blank(key="yarn_b", label="Yarn of B", hint="A's if left empty.", start=_yarn_b, option="--yarn-b"),
        *(replace(one, key=f"b_{one.key}", label=f"{one.label} of B") for one in TRIED),
        Blank(key="mill_b", label="Mill of B", hint="One of those that this server was started with.", offers=_others,
              option="--mill-b"),
        replace(FIT, label="Fit of A"),
        replace(FIT, key="fit_b", label="Fit of B", hint="Where B is another frame or yarn.", offers=_fits_b,
                option="--fit-b"),
    ),
    answer=_compare, command="compare",
)  # fmt: skip
SPREAD = Question(
    key="spread", name="How sure", question="How sure are the results, and which input should be measured first?",
    blanks=(*TRIED, Blank(key="doffs", label="Doffs to draw", hint="4000 if left empty; more take longer.",
                          option="--doffs"), FIT),
    answer=_spread, long=True, command="spread", act="Draw and solve",
)  # fmt: skip
CALIBRATE = Question(
    key="calibrate", name="Fit", question="Which frictions and drag do my tension readings speak for?",
    blanks=(
        Blank(
            key="readings", label="Readings of tension", long=True, start=_demo_readings,
            hint='Lines as of a CSV file, its first the heads: "minute" or "share", "stroke", "tension", and where it '
            'was not so "at" (guide or triangle), "traveller", "speed". Keep the guards on as you read.',
        ),
        *(Blank(key=name.replace(" ", "_"), label=name.capitalize(), choices=("fit it", HELD)) for name in HOLD),
    ),
    answer=_calibrate, long=True, command="calibrate", act="Fit",
    before="Paste your readings of tension with their heads, or take a file. Nothing is kept until you say so.",
)  # fmt: skip
