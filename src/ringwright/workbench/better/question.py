"""A question of what pays, as a page asks it: its fields, what the server lends to them, and the sheet that answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal
from ringwright.setting.choice import Trial
from ringwright.units import parse
from ringwright.verbs import app, fits
from ringwright.verbs.paying import Paid

__all__ = [
    "NO_FIT", "Asked", "Blank", "Ground", "Question", "Say", "Stopped", "number", "opened", "trial_of", "whole",
    "words_of",
]  # fmt: skip

Say = Callable[[str], None]
Stopped = Callable[[], bool]
NO_FIT = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What a server lends to the questions: its mill and where that stands, its records, and other mills by name.

    A page names nothing of the server's disk but what stands here: neither files nor folders are read from a field.
    """

    mill: Mill
    where: str
    names: tuple[str, str]
    """Frame and yarn."""
    records: str = ""
    others: Mapping[str, str] = field(default_factory=dict)

    @property
    def fits(self) -> tuple[str, ...]:
        """What may be said of a fit: that none is used, the latest, or a date; empty where none is kept."""
        dates = fits.kept_dates(self.where, self.names)
        return (NO_FIT, "latest", *dates) if dates else ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A question as it is asked: the ground it stands on, and what was typed by key."""

    ground: Ground
    typed: Mapping[str, str]

    def __getitem__(self, key: str) -> str:
        """Give what stands in a field, "" where nothing does."""
        return self.typed.get(key, "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """A field: its key in the address, label and hint; with ``choices`` it is a list, the first what stands there.

    ``offers`` gives the choices that a server has (none: the field is left out), ``start`` what stands in the field
    before anything was asked. ``long`` makes room for the lines of a file. ``option`` is what the command line calls
    it, so that a refusal can name the field.
    """

    key: str
    label: str
    hint: str = ""
    choices: tuple[str, ...] = ()
    offers: Callable[[Ground], tuple[str, ...]] | None = None
    start: Callable[[Ground], str] | None = None
    long: bool = False
    option: str = ""

    def choices_of(self, ground: Ground) -> tuple[str, ...]:
        """Give the choices, those that the server has among them."""
        return self.choices if self.offers is None else self.offers(ground)

    def offered(self, ground: Ground) -> bool:
        """Say whether the field stands on the page of this server."""
        return self.offers is None or bool(self.offers(ground))


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A question with the function that answers it for what was asked.

    ``answer`` hears also whom to tell of its progress and what says whether to stop; with ``long`` it takes more than
    a second or two, and is asked in the background; without, the page answers at once. ``command`` is what the command
    line calls it, ``act`` the word on the button. It raises Refusal for what cannot be used.
    """

    key: str
    name: str
    question: str
    blanks: tuple[Blank, ...]
    answer: Callable[[Asked, Say, Stopped], Paid]
    command: str
    act: str = "Work it out"
    before: str = "Leave the fields as they are for the setting as the mill has it, or try something else."
    """What stands where the answer will stand, before it was asked for."""
    long: bool = False

    def offered(self, ground: Ground) -> tuple[Blank, ...]:
        """Give the fields that stand on the page of this server."""
        return tuple(blank for blank in self.blanks if blank.offered(ground))

    def check(self, asked: Asked) -> None:
        """Raise Refusal for a word that its list does not offer, as an address may hold one."""
        faults = [
            Fault(where=blank.label, got=f'"{asked[blank.key]}"', wants=f"one of {', '.join(choices)}")
            for blank in self.offered(asked.ground)
            if (choices := blank.choices_of(asked.ground)) and asked[blank.key] not in {"", *choices}
        ]
        if faults:
            raise Refusal(faults)


def opened(asked: Asked) -> fits.Opened:
    """Open the mill with the fit that was chosen; Refusal if it cannot be read."""
    if asked["fit"] in {"", NO_FIT}:
        return fits.Opened(mill=asked.ground.mill)
    return fits.open_for(asked.ground.where, asked.ground.names, asked["fit"])


def trial_of(asked: Asked, before: str = "") -> Trial:
    """Read what is tried as the command line reads its options; Refusal with every fault.

    ``before`` is what the keys of the fields begin with, "" for those of the setting itself.
    """
    return app.trial(
        guide_fixed=asked[f"{before}guide"] == "fixed",
        no_control_ring=asked[f"{before}control_ring"] == "none",
        traveller=asked[f"{before}traveller"] or None,
        speed=asked[f"{before}speed"] or None,
        ring_friction=number(asked, f"{before}friction", "--ring-friction"),
    )


def number(asked: Asked, key: str, label: str) -> float | None:
    """Read a bare number, None where nothing is typed; Refusal for what is none."""
    return parse(asked[key], "ratio", label) if asked[key] else None


def whole(asked: Asked, key: str, label: str) -> int | None:
    """Read a whole number, None where nothing is typed; Refusal for what is none."""
    value = number(asked, key, label)
    if value is not None and value != round(value):
        raise Refusal(Fault(where=label, got=asked[key], wants="a whole number"))
    return None if value is None else round(value)


def words_of(asked: Asked, key: str) -> tuple[str, ...]:
    """Read several words, parted by commas or lines."""
    return tuple(word.strip() for word in asked[key].replace("\n", ",").split(",") if word.strip())
