"""The form of a mill sheet as it comes back from the browser: what was shown, what is typed, and what is asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import parse_qsl

from ringwright.refusal import Fault, Refusal

__all__ = ["SheetForm", "read_form"]

MOST_FIELDS = 4000


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetForm:
    """A form by dotted key: ``was`` as the page showed it, ``typed`` as it stands now.

    ``unchosen`` are the keys that both changed and for which no choice was made.
    """

    act: str = "look"
    version: str = ""
    shown: str = ""
    was: Mapping[str, str] = field(default_factory=dict)
    typed: Mapping[str, str] = field(default_factory=dict)
    unchosen: tuple[str, ...] = ()
    merged: bool = False


def read_form(body: bytes) -> SheetForm:
    """Read the body of a sheet's form; Refusal if it is no such form."""
    try:
        pairs = parse_qsl(
            body.decode("ascii"), keep_blank_values=True, encoding="utf-8", errors="replace", max_num_fields=MOST_FIELDS
        )
    except ValueError:
        wants = f"a form of at most {MOST_FIELDS} fields from this page"
        raise Refusal(Fault(where="what was sent", got="not readable", wants=wants)) from None
    given = {key: value.replace("\r\n", "\n") for key, value in pairs}
    was, typed, own, before, choice = (_under(given, mark) for mark in ("w:", "v:", "m:", "b:", "c:"))
    unchosen = tuple(key for key in own if choice.get(key) not in {"mine", "theirs"})
    typed |= {key: word for key, word in own.items() if choice.get(key) != "theirs"}
    was |= {key: before.get(key, "") for key in unchosen}  # so that the two are seen to differ again
    return SheetForm(
        act=given.get("act", "look"),
        version=given.get("version", ""),
        shown=given.get("shown", ""),
        was=was,
        typed={key: word for key, word in typed.items() if key in was},
        unchosen=unchosen,
        merged=given.get("act") == "merge",
    )


def _under(given: Mapping[str, str], mark: str) -> dict[str, str]:
    return {key.removeprefix(mark): value for key, value in given.items() if key.startswith(mark)}
