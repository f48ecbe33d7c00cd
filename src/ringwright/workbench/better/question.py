"""A question of what pays, as a page asks it: its fields, and the answer in the command line's own words."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal
from ringwright.setting.choice import Trial
from ringwright.units import parse
from ringwright.verbs import app

__all__ = [
    "Blank",
    "Block",
    "Figure",
    "Line",
    "Question",
    "Say",
    "Stopped",
    "Told",
    "number",
    "told",
    "trial_of",
    "words_of",
]

Say = Callable[[str], None]
Stopped = Callable[[], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """A field: its key in the address, label and hint; with ``choices`` it is a list, the first what stands there."""

    key: str
    label: str
    hint: str = ""
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A row of a table of an answer: its cells, and what is said of it."""

    cells: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A part of an answer: a paragraph, or a table with its heading; ``columns`` head all cells but the first."""

    heading: str
    words: str = ""
    columns: tuple[str, ...] = ()
    rows: tuple[Line, ...] = ()
    numbers: tuple[int, ...] = ()
    """Which cells of a row stand to the right, as numbers do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A picture of an answer: its title and the SVG."""

    title: str
    svg: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """An answer: what the command line says, in blocks, and its pictures."""

    blocks: tuple[Block, ...]
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A question with the function that answers it for mill, frame, yarn and what was typed by key.

    ``answer`` hears also whom to tell of its progress and what says whether to stop; with ``long`` it takes more than
    a second or two, and is asked in the background. It raises Refusal for what cannot be used.
    """

    key: str
    name: str
    question: str
    blanks: tuple[Blank, ...]
    answer: Callable[[Mill, tuple[str, str], Mapping[str, str], Say, Stopped], Told]
    long: bool = False


TRIED = (
    Blank(key="traveller", label="Traveller", hint='Another mass, as "40 mg".'),
    Blank(key="speed", label="Main speed", hint='Another one, as "17000 rpm"; the course keeps its shape.'),
    Blank(key="friction", label="Ring friction", hint='Another one, as "0.12".'),
    Blank(key="guide", label="Lappet", choices=("as set", "fixed")),
    Blank(key="control_ring", label="Control ring", choices=("as set", "none")),
)


def trial_of(typed: Mapping[str, str]) -> Trial:
    """Read what is tried as the command line reads its options; Refusal with every fault."""
    return app.trial(
        guide_fixed=typed.get("guide") == "fixed",
        no_control_ring=typed.get("control_ring") == "none",
        traveller=typed.get("traveller") or None,
        speed=typed.get("speed") or None,
        ring_friction=number(typed, "friction", "Ring friction"),
    )


def number(typed: Mapping[str, str], key: str, label: str) -> float | None:
    """Read a bare number, None where nothing is typed; Refusal for what is none."""
    return parse(typed[key], "ratio", label) if typed.get(key) else None


def whole(typed: Mapping[str, str], key: str, label: str) -> int | None:
    """Read a whole number, None where nothing is typed; Refusal for what is none."""
    value = number(typed, key, label)
    if value is not None and value != round(value):
        raise Refusal(Fault(where=label, got=typed[key], wants="a whole number"))
    return None if value is None else round(value)


def words_of(typed: Mapping[str, str], key: str) -> tuple[str, ...]:
    """Read several words, parted by commas."""
    return tuple(word.strip() for word in typed.get(key, "").split(",") if word.strip())


def told(text: str, *figures: Figure) -> Told:
    """Part what the command line says into its blocks; its title is the page's already, a picture of letters left out.

    A block whose lines are indented under its first is a table: cells stand two spaces or more apart, and a line that
    is indented further belongs to the row above it.
    """
    blocks = []
    for block in text.split("\n\n"):
        lines = [line for line in block.splitlines() if line.strip("= ")]
        if len(lines) < len(block.splitlines()):
            lines = lines[1:]  # the line over the rule is the title
        if not lines or (figures and any(_DRAWN.search(line) for line in lines)):
            continue
        indents = [_indent(line) for line in lines]
        if len(lines) > 1 and indents[0] == 0 and min(indents[1:]) > 0:
            blocks.append(_table(lines[0], lines[1:]))
        elif len(lines) > 1 and indents[0] > _HEADS_ONLY and min(indents[1:]) == 0:
            blocks.append(_table(f"-  {lines[0].strip()}", lines[1:]))
        else:
            blocks.append(Block(heading="", words=" ".join(line.strip() for line in lines)))
    return Told(blocks=tuple(blocks), figures=figures)


_DRAWN = re.compile(r"[\u2580-\u259f]|([/#o.\u00b7-])\1{11}")
_APART = re.compile(r"\s{2,}")
_ENDS_IN_A_MEASURE = re.compile(r"\d \S+$")
_EM_SPACE = "\u2003"
_HEADS_ONLY = 8
"""Indent of a first line from which it holds the heads of the columns and no heading."""
_LAST_COLUMN = 30
"""Indent from which a line goes on with the last cell of the row above it."""
_NUMBER = 18
"""Letters up to which a cell is taken for a number, which stands to the right."""


def _table(head: str, lines: Sequence[str]) -> Block:
    heads, step = _APART.split(head.strip()), min(_indent(line) for line in lines)
    if _indent(lines[0]) > step and len(lines) > 1:  # the heads of the columns stand below the heading
        heads, lines = [*heads, *_APART.split(lines[0].strip())], lines[1:]
    alone = [_indent(line) > step and not _APART.search(line.strip()) for line in lines]
    if sum(alone) > len(lines) / 2:  # a list of lists: each line for itself
        shown = (_EM_SPACE * one + line.strip() for one, line in zip(alone, lines, strict=True))
        return Block(heading=head, rows=tuple(Line(cells=(line,)) for line in shown))
    rows: list[list[str]] = []
    notes: dict[int, str] = {}
    for line in lines:
        cells = _APART.split(line.strip())
        if not rows or _indent(line) == step or (len(cells) > 1 and len(rows[-1]) in {1, len(cells)}):
            rows.append(cells)
        elif len(rows[-1]) > 2 and _indent(line) < _LAST_COLUMN:
            notes[len(rows) - 1] = f"{notes.get(len(rows) - 1, '')} {' '.join(cells)}".strip()
        else:
            rows[-1][-1] += f" {' '.join(cells)}"
    wide = max(len(row) for row in rows)
    if wide == 1:
        return Block(heading=head, rows=tuple(Line(cells=(words,)) for words in _sentences(row[0] for row in rows)))
    full = [_filled(row, wide) for row in rows]
    return Block(
        heading=heads[0].strip("-"),
        columns=_filled(heads, wide)[1:],
        rows=tuple(Line(cells=row, note=notes.get(k, "")) for k, row in enumerate(full)),
        numbers=tuple(k for k in range(1, wide) if all(len(row[k]) <= _NUMBER for row in full)),
    )


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())


def _filled(row: Sequence[str], wide: int) -> tuple[str, ...]:
    """Fill a short row up at its end, or after a first cell that holds the next one too."""
    gap = ("",) * (wide - len(row))
    run_on = bool(_ENDS_IN_A_MEASURE.search(row[0]))  # a name so long that the next cell follows it at once
    return (*row[:1], *gap, *row[1:wide]) if run_on else (*row[:wide], *gap)


def _sentences(lines: Iterable[str]) -> list[str]:
    """Join the lines of sentences that were broken to fit a terminal."""
    found: list[str] = []
    for line in lines:
        if found and not found[-1].endswith((".", ":")):
            found[-1] += f" {line}"
        else:
            found.append(line)
    return found
