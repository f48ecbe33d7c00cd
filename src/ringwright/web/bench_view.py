"""What the bench shows of one solved moment: the pieces of the page, for a first visit and for an answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from markupsafe import Markup

from ringwright.report.marks import mark_figure
from ringwright.report.number import Origin
from ringwright.units import in_unit, parse, show
from ringwright.web.address import Address
from ringwright.web.drawing import HEIGHT, NAMES, WIDTH, anchors, drawing, label_heights, layout_of, leaders
from ringwright.web.from_above import PARTS_FROM_ABOVE, from_above
from ringwright.web.part_words import PART_WORDS
from ringwright.web.strip import strip
from ringwright.web.theme import themed
from ringwright.web.writing import chosen_unit, field_text, slider_span, write
from ringwright.workbench.asking import MOMENT_STEPS
from ringwright.workbench.field import FIELDS, SWITCHES, Choice, Field
from ringwright.workbench.figure import place_figure
from ringwright.workbench.numbers import PARTS, label_number, numbers_of
from ringwright.workbench.parts.catalogue import part_at
from ringwright.workbench.place import Moment, Place
from ringwright.workbench.safety import cautions_for
from ringwright.workbench.tried import Tried, read_tried

__all__ = ["Solved", "controls", "marks_of", "moment_controls", "part_view", "pieces", "rows", "setting_words"]

MARKS = {origin.value: themed(mark_figure(origin)) for origin in Origin}


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """The address with what was tried at it and what the solver found."""

    address: Address
    moment: Moment
    tried_a: Tried
    a: Place
    tried_b: Tried | None = None
    b: Place | None = None

    @property
    def units(self) -> Sequence[str]:
        """The units chosen in place of the usual ones."""
        return self.address.units


def part_of(solved: Solved) -> str:
    """Give the part chosen; the ring where the address names none that is known."""
    return solved.address.part if solved.address.part in PARTS else "ring"


def pieces(solved: Solved) -> tuple[dict[str, Markup], list[dict[str, Any]]]:
    """Draw what follows a slider: the drawing with the tension strip and the moment in words; and each part's label.

    A label has its height on the sheet, its name, its one number, and whether it is chosen.
    """
    a = place_figure(solved.a)
    b = place_figure(solved.b) if solved.b else None
    layout = layout_of(a)
    points = anchors(layout, a)
    heights = label_heights(points, PARTS)
    drawn = leaders(points, heights) + drawing(layout, a, b, part_of(solved)) + strip(layout.sheet, a, b)
    shown = {"sheet": themed(drawn), "moment-words": Markup(escape(moment_words(solved.a)))}  # noqa: S704
    return shown, [_label(solved, part, heights[part]) for part in PARTS]


def _label(solved: Solved, part: str, height: float) -> dict[str, Any]:
    number, word = label_number(part, solved.tried_a.mill, solved.a)
    text, unit, _, _ = write(number, solved.units)
    told = " ".join(piece for piece in (text, unit, word if unit else "") if piece)
    name, chosen = PART_WORDS[part].name, part == part_of(solved)
    return {"part": part, "name": name, "y": height, "number": told, "chosen": chosen}


def moment_words(place: Place) -> str:
    """Say when in the doff the drawing stands."""
    here = place.here
    minute, whole = float(here.places.time[0]) / 60, here.problem.doff_time / 60
    wound = float(here.places.share[0]) * here.problem.content
    stroke = int(here.places.stroke[0]) + 1
    phase, top = float(here.places.phase[0]), here.problem.rise_share
    end = "foot" if phase == 0.0 else "top" if phase >= top * (1 - 1e-9) else "on the rise"
    return (
        f"Minute {minute:.0f} of {whole:.0f}, stroke {stroke} of {here.problem.strokes:.0f} ({end}), "
        f"cop {show(wound, 'mass', 'g', 1)}"
    )


def setting_words(tried: Tried) -> str:
    """Say a setting in few words, for the head of the sheet."""
    choice = tried.choice
    if choice is None:
        return "cannot be used as typed"
    words = [show(choice.traveller.mass, "mass", "mg"), show(choice.setting.main_speed, "rotation", "rpm")]
    if choice.setting.guide_fixed:
        words.append("lappet fixed")
    if not tried.trial.control_ring:
        words.append("no control ring")
    words += [
        f"{one.name.split(',')[0].lower()} {tried.words[one.key]}" for one in FIELDS[2:] if one.key in tried.words
    ]
    return ", ".join(words)


def rows(solved: Solved) -> list[dict[str, Any]]:
    """Write the numbers of the chosen part."""
    made = []
    for row in numbers_of(part_of(solved), solved.tried_a.mill, solved.a, solved.b):
        figures, unit, span, origin = write(row.a, solved.units)
        b_figures, b_unit, _, b_origin = write(row.b, solved.units)
        made.append(
            {
                "name": row.name, "a": figures, "unit": unit, "span": span, "origin": origin or b_origin,
                "b": b_figures, "b_unit": b_unit, "mark": MARKS.get(origin or b_origin, ""),
            }
        )  # fmt: skip
    return made


def part_view(solved: Solved) -> dict[str, Any]:
    """Give the words of the chosen part with its numbers, care and cautions."""
    part = part_of(solved)
    words = PART_WORDS[part]
    return {
        "part": part,
        "name": words.name,
        "does": words.does,
        "page_name": part_at(words.page).name if words.page else "",
        "page_link": solved.address.link(f"parts/{words.page}").partition("?")[0] if words.page else "",
        "care": words.care,
        "cautions": cautions_for(solved.a.here.choice, words.works),
        "rows": rows(solved),
        "plan": _plan(solved) if part in PARTS_FROM_ABOVE else "",
        "sentence": "" if solved.a.here.steady else solved.a.here.sentence,
        "b_sentence": "" if solved.b is None or solved.b.here.steady else solved.b.here.sentence,
        "band": _band(solved),
    }


def _plan(solved: Solved) -> Markup:
    other = place_figure(solved.b) if solved.b else None
    return from_above(place_figure(solved.a), other, chosen_unit("mm", solved.units))


def _band(solved: Solved) -> str:
    frictions = sorted({s.choice.frame.ring.friction for s in (solved.a.here, *solved.a.band)})
    if len(frictions) < 2:
        return "no interval is given while a ring friction is tried"
    return f"intervals span ring friction {frictions[0]:.2f} to {frictions[-1]:.2f}"


def controls(tried: Tried, as_set: Tried, address: Address) -> dict[str, list[dict[str, Any]]]:
    """Give the fields and the switches of the bench, each with what was typed, its slider and its faults."""
    base = as_set.choice
    assert base is not None  # noqa: S101 - the mill's own setting was checked when it was read
    fields = []
    for one in FIELDS:
        value = one.value(base)
        if value is None:
            continue
        shown = chosen_unit(one.unit, address.units)
        typed = tried.words.get(one.key, "")
        low, high, step = slider_span(one.span(base), one.quantity, one.unit, shown)
        usual = field_text(value, one.quantity, shown)
        faults = [str(fault) for fault in tried.faults.get(one.key, ())]
        fields.append(
            {
                "key": one.key, "name": one.name, "why": one.why, "parts": " ".join(one.parts), "text": typed or usual,
                "usual": usual, "unit": "" if shown == "1" else shown, "low": low, "high": high, "step": step,
                "value": _slider_value(typed, one.quantity, shown, usual), "faults": faults, "mends": typed != "",
            }
        )  # fmt: skip
    switches = [
        {
            "key": one.key, "name": one.name, "words": one.words, "parts": " ".join(one.parts),
            "chosen": tried.words.get(one.key) or _as_set(one.key, as_set), "usual": _as_set(one.key, as_set),
        }
        for one in SWITCHES
        if one.offered(base)
    ]  # fmt: skip
    return {"fields": fields, "switches": switches}


def _as_set(key: str, as_set: Tried) -> str:
    fixed = key == "guide" and as_set.choice is not None and as_set.choice.setting.guide_fixed
    return "fixed" if fixed else {"guide": "travels", "control_ring": "fitted"}[key]


def _slider_value(typed: str, quantity: str, shown: str, usual: str) -> str:
    """Give the number at which the slider stands; a text that cannot be read leaves it at the usual place."""
    for text in (typed, usual):
        try:
            return f"{in_unit(parse(text, quantity, ''), quantity, shown):.6g}"
        except ValueError:
            continue
    return "0"


def marks_of(tried: Tried) -> dict[str, float]:
    """Give where a setting stands on each slider, 0 its least and 1 its most; a value off the slider at its end."""
    as_set = read_tried(tried.mill, tried.frame, tried.yarn, {}).choice
    assert as_set is not None  # noqa: S101 - the mill's own setting was checked when it was read
    marks = {}
    for one in FIELDS:
        value = tried.values.get(one.key, one.value(as_set))
        if value is not None:
            marks[one.key] = share_of(one, as_set, value)
    return marks


def share_of(field: Field, as_set: Choice, value: float) -> float:
    """Give where a value (SI) lies on the slider of a field."""
    low, high, _ = field.span(as_set)
    return round(min(max((in_unit(value, field.quantity, field.unit) - low) / (high - low), 0.0), 1.0), 4)


def moment_controls(solved: Solved, faults: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Give the two sliders of the moment."""
    usual = {"doff": "50 %", "chase": "0 %"}
    told = (
        ("doff", "Stage of the doff", "Share of the yarn wound."),
        ("chase", "Place in the stroke", "From foot, 0 %, to top, 100 %, of the slow rise."),
    )
    made = []
    for key, name, why in told:
        typed = solved.address.moment.get(key, "")
        value = _slider_value(typed, "share", "%", usual[key])
        made.append(
            {
                "key": key, "name": name, "why": why, "parts": "", "text": typed or usual[key], "usual": usual[key],
                "unit": "%", "low": 0, "high": 100, "step": round(100 * MOMENT_STEPS[key]), "value": value,
                "faults": [str(faults[key])] if key in faults else [], "mends": bool(typed),
            }
        )  # fmt: skip
    return made


def frame_of_sheet() -> dict[str, float]:
    """Give the size of the drawing's sheet and of its labels."""
    return {"width": WIDTH, "height": HEIGHT, "names": NAMES}
