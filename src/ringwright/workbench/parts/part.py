"""A part of the frame as the pages ask for it: its fields, and the sheet that answers them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from ringwright.mill import Mill
from ringwright.report.sheets.sheet import Sheet

__all__ = ["Part", "PartField"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartField:
    """One field of a part's page: its key in the address, label, hint, what stands in it at first, and its choices.

    ``start`` gives the text at first from mill, frame and yarn (the mill's own value with its unit, or nothing where
    the field may be left empty). With ``choices`` the field is a list to choose from; ``long`` makes room for lines.
    """

    key: str
    label: str
    hint: str
    start: Callable[[Mill, str, str], str]
    choices: tuple[str, ...] = ()
    long: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A page about one part: its key in the address, its name in the trade, the question that it answers.

    ``sheet`` takes mill, frame, yarn and what was typed by key (an untouched field holds its start) and gives the
    sheet; it raises Refusal for what cannot be used, naming the field by its label.
    """

    key: str
    name: str
    question: str
    fields: tuple[PartField, ...]
    sheet: Callable[[Mill, str, str, Mapping[str, str]], Sheet]
