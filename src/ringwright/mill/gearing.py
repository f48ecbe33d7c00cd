"""Trains of toothed wheels with a change wheel, as a mill writes them."""

from typing import Any, Literal

from pydantic import field_validator

from ringwright.mill.field import plain_field, quantity_field
from ringwright.mill.table import Table
from ringwright.refusal import Fault, Refusal

__all__ = ["CHANGE", "Gearing", "Train"]

CHANGE = "change"
_TEETH = (8, 300)
_ONE_PAIR = 'pairs of [driver, driven], each the teeth of a wheel (8 to 300) or, once in the train, "change"'


class Train(Table):
    """A train: pairs (driver, driven) in the order of the drive, one place of them the change wheel's.

    Turns of the last shaft to one of the first = product of driver / driven x fixed ratio.
    """

    pairs: tuple[tuple[int | str, int | str], ...] = plain_field(
        'the pairs of wheels as [driver, driven], in the order of the drive; "change" stands for the change wheel'
    )
    wheels: tuple[int, ...] = plain_field("the teeth of the change wheels that the mill has")
    fixed_ratio: float = quantity_field(
        "ratio", "1", (0.001, 1000), "a further fixed ratio in the train, as of a toothed belt (turns out to turns in)",
        default=1, origin="assumed", note="no further ratio unless it is written",
    )  # fmt: skip

    @field_validator("pairs", mode="before")
    @classmethod
    def _pairs_fit(cls, given: Any) -> Any:  # noqa: ANN401 - any TOML value may stand there
        """Refuse what is not pairs of teeth with the change wheel in one place."""
        if not isinstance(given, list | tuple) or not given:
            raise Refusal(Fault(where="", got=_short(given), wants=_ONE_PAIR))
        for pair in given:
            if not isinstance(pair, list | tuple) or len(pair) != 2 or not all(_is_wheel(member) for member in pair):
                raise Refusal(Fault(where="", got=f"with {_short(pair)} in it", wants=_ONE_PAIR))
        places = sum(member == CHANGE for pair in given for member in pair)
        if places != 1:
            mend = 'Write "change" in the place of the change wheel, once.'
            raise Refusal(Fault(where="", got=f'with "change" in {places} places', wants=_ONE_PAIR, mend=mend))
        return tuple(tuple(pair) for pair in given)

    @field_validator("wheels", mode="before")
    @classmethod
    def _wheels_fit(cls, given: Any) -> Any:  # noqa: ANN401 - any TOML value may stand there
        """Refuse what is not a list of different numbers of teeth; put them in order."""
        wants = "a list of different whole numbers of teeth, from 8 to 300"
        if not isinstance(given, list | tuple) or not given:
            raise Refusal(Fault(where="", got=_short(given), wants=wants))
        odd = [teeth for teeth in given if not _is_wheel(teeth) or teeth == CHANGE]
        twice = sorted({teeth for teeth in given if given.count(teeth) > 1}, key=str)
        if odd or twice:
            got = f"with {', '.join(_short(teeth) for teeth in odd or twice)} {'in it' if odd else 'more than once'}"
            raise Refusal(Fault(where="", got=got, wants=wants))
        return tuple(sorted(given))

    @property
    def change_place(self) -> int:
        """Which pair, from 0, holds the change wheel."""
        return next(place for place, pair in enumerate(self.pairs) if CHANGE in pair)

    @property
    def change_is(self) -> Literal["driver", "driven"]:
        """Which member of its pair the change wheel is."""
        return "driver" if any(driver == CHANGE for driver, _ in self.pairs) else "driven"


class Gearing(Table):
    """The three trains of a frame, each named by what its change wheel governs."""

    total_draft: Train = plain_field("train from the back roller to the front roller; it governs the total draft")
    break_draft: Train = plain_field("train from the middle roller to the back roller; it governs the break draft")
    twist: Train = plain_field(
        "train from the front roller to the shaft that drives the spindles; it governs the twist; "
        "drum, wharve and slip are added from the drive"
    )


def _is_wheel(member: object) -> bool:
    """Tell whether a member of a pair is a number of teeth or the word for the change wheel."""
    whole = isinstance(member, int) and not isinstance(member, bool)
    return member == CHANGE or (whole and _TEETH[0] <= member <= _TEETH[1])  # type: ignore[operator]


def _short(given: object) -> str:
    """Show a value in a sentence, not over forty signs."""
    text = "empty" if given in ([], ()) else f'"{given}"' if isinstance(given, str) else str(given)
    return text if len(text) <= 40 else f"{text[:37]}..."
