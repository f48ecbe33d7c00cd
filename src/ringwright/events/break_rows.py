"""Check the rows of a block of end breaks."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from ringwright.events.block import Block
from ringwright.events.checked import Checked, checked
from ringwright.events.event import BREAKS
from ringwright.events.ground import Ground, read_machines, read_text, read_word
from ringwright.events.number import read_decimals, read_whole
from ringwright.events.reasons import Reasons, shown
from ringwright.events.source import Source
from ringwright.events.times import read_times

__all__ = ["check_breaks"]

Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

_DAY_US = 86_400_000_000


def check_breaks(block: Block, source: Source, ground: Ground, latest_us: int) -> Checked:
    """Hold every row against the mill; every row is either in the table or set aside with its reasons."""
    cells, reasons = block.cells, Reasons(block.lines)
    machine = read_machines(cells["machine"], ground, reasons)
    unknown = ~reasons.good
    spindle, side = _spindles(block, source, ground, (machine, unknown), reasons)
    times = read_times(cells, source, reasons, latest_us)
    columns: dict[str, object] = {
        "machine": pa.array(ground.frames, pa.string()).take(pa.array(machine)),
        "spindle": spindle,
        "side": side,
        "t_us": times.t_us,
        "second_us": times.second_us,
        "local_text": times.text,
        "zone": times.zone,
        "local_day": times.local_us // _DAY_US,
        "local_minute": times.local_us % _DAY_US // 60_000_000,
        "source": source.name,
    }
    if "cop" in cells:
        columns["cop_share"] = _cop_share(cells["cop"], source, ground.lifts[machine], reasons)
    if "yarn" in cells:
        keep = source.unknown_yarns == "keep"
        columns["yarn"] = read_word(cells["yarn"], ground.yarn_words, reasons, "yarn", keep=keep)
    if "cause" in cells:
        keep = source.unknown_causes == "keep"
        columns["cause"] = read_word(cells["cause"], source.causes, reasons, "cause", keep=keep)
    if "operator" in cells:
        columns["operator"] = read_text(cells["operator"], reasons, "operator")
    if "id" in cells:
        columns["source_id"] = read_text(cells["id"], reasons, "id")
    return checked(BREAKS, columns, block, reasons)


def _spindles(
    block: Block, source: Source, ground: Ground, machines: tuple[Ints, Mask], reasons: Reasons
) -> tuple[Ints, Ints]:
    """Read spindle and side; the spindle is counted through both sides."""
    texts, (machine, unknown) = block.cells["spindle"], machines
    number, reads = read_whole(texts)
    reasons.add(~reads, lambda row: _no_number(texts, row))
    whole, sides = ground.spindles[machine], ground.sides[machine]
    on_side = whole // sides
    by_side = source.spindles.numbering == "side and number"
    last = on_side if by_side else whole
    outside = reads & ~unknown & ((number < 1) | (number > last))
    unit = "a side of frame" if by_side else "frame"

    def told(row: int) -> str:
        frame = ground.frames[machine[row]]
        return f"the spindle {shown(texts, row)} is outside 1 to {last[row]} of {unit} {frame}"

    reasons.add(outside, told)
    own = np.where(number > on_side, 2, 1)
    if "side" not in block.cells:
        return number, np.minimum(own, sides)
    side = _sides(block.cells["side"], source, reasons)
    side = side if by_side else np.where(side == 0, np.minimum(own, sides), side)  # an empty side checks nothing
    single = (side > sides) & ~unknown
    reasons.add(single, lambda row: f"the frame {ground.frames[machine[row]]} has one side only")
    if by_side:
        return number + (side - 1) * on_side, side
    apart = reads & ~outside & ~unknown & ~single & (side > 0) & (side != np.minimum(own, sides))
    reasons.add(apart, lambda row: f"the spindle {shown(texts, row)} is not on side {side[row]}")
    return number, side


def _no_number(texts: pa.StringArray, row: int) -> str:
    if not texts[row].as_py():
        return "the spindle is missing"
    return f"the spindle {shown(texts, row)} is not a whole number"


def _sides(texts: pa.StringArray, source: Source, reasons: Reasons) -> Ints:
    """Read the side, 0 where its word is not known or, if spindles are counted through, empty."""
    words = source.spindles.sides
    found = pa.array(list(words.values()), pa.int64()).take(pc.index_in(texts, value_set=pa.array(list(words))))
    known = ", ".join(words)
    unknown = np.asarray(found.is_null())
    if source.spindles.numbering == "through":
        unknown &= np.asarray(pc.not_equal(texts, ""))
    reasons.add(unknown, lambda row: f"the side {shown(texts, row)} is none of {known}")
    return np.asarray(pc.fill_null(found, 0))


def _cop_share(
    texts: pa.StringArray, source: Source, lifts: npt.NDArray[np.float64], reasons: Reasons
) -> npt.NDArray[np.float64]:
    """Read the place in the cop as a share of the doff (0..1), nan where it is empty."""
    values, reads = read_decimals(texts, source.decimal)
    reasons.add(~reads, lambda row: f"the place in the cop {shown(texts, row)} is not a number")
    share = values / (lifts * 1000 if source.cop.unit == "mm" else 100.0 if source.cop.unit == "percent" else 1.0)
    outside = (share < 0) | (share > 1 + 1e-9)
    told = f"{source.cop.unit} is not between bare tube and full cop"
    reasons.add(outside, lambda row: f"the place in the cop {shown(texts, row)} {told}")
    clipped: npt.NDArray[np.float64] = np.minimum(share, 1.0)
    return clipped
