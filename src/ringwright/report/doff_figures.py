"""The figures of a doff: tension, balloon height and rails against time, with what it is compared to."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ringwright.report.rails_chart import HeightCourse, RailsFigure, balloon_height_chart, rails_chart
from ringwright.report.tension_chart import SpeedCourse, TensionCourse, TensionFigure, tension_chart
from ringwright.setting.doff import Comparison, Doff

__all__ = ["doff_figures", "speed_course", "tension_course", "tension_figure"]


def tension_course(doff: Doff, name: str) -> TensionCourse:
    """Take the envelope of each stroke of a doff; a stroke with any place that has no steady balloon has none."""
    forces = doff.forces
    whole = np.where(np.isnan(forces.winding_tension).reshape(-1, doff.places_per_stroke).any(axis=1), np.nan, 0.0)
    winding, guide = doff.envelope(forces.winding_tension), doff.envelope(forces.guide_tension)
    return TensionCourse(
        name=name,
        time=_plain(doff.stroke_time),
        winding_low=_plain(winding.least + whole),
        winding_high=_plain(winding.most + whole),
        guide_low=_plain(guide.least + whole),
        guide_high=_plain(guide.most + whole),
        triangle_high=_plain(doff.envelope(forces.triangle_most).most + whole),
    )


def speed_course(doff: Doff) -> SpeedCourse:
    """Take the spindle's speed at the corners of its course."""
    setting = doff.choice.setting
    share = doff.places.share[:: doff.places_per_stroke]
    corners = np.array([0.0, setting.base_until / 2, setting.base_until, setting.tip_from, share[-1]])
    time = np.interp(corners, share, doff.stroke_time)
    speed = np.interp(corners, share, doff.places.spindle_speed[:: doff.places_per_stroke])
    return SpeedCourse(time=_plain(time), speed=_plain(speed))


def tension_figure(
    doff: Doff, other: Doff | None = None, other_name: str = "", limit: float | None = None
) -> TensionFigure:
    """Make the tension figure of a doff, beside another one where it is given; the limit (N) is on the triangle."""
    return TensionFigure(
        a=tension_course(doff, "A"),
        b=None if other is None else tension_course(other, other_name),
        limit=limit,
        limit_name="strength limit" if limit is not None else "",
        speed=speed_course(doff),
    )


def doff_figures(shown: Comparison, limit: float | None) -> dict[str, str]:
    """Draw every figure of a doff as SVG, by the name of its file."""
    doff, fixed, bare = shown.as_chosen, shown.guide_fixed, shown.without_control_ring
    figures = {"tension": tension_chart(tension_figure(doff, limit=limit)), "rails": _rails(doff)}
    if not doff.choice.setting.guide_fixed:
        moving, still = _height(doff, "guide moving"), _height(fixed, "guide fixed")
        figures["balloon-height-guide-fixed"] = balloon_height_chart(moving, still)
        figures["tension-guide-fixed"] = tension_chart(tension_figure(doff, fixed, "guide fixed"))
    else:
        figures["balloon-height"] = balloon_height_chart(_height(doff, "guide fixed"))
    if bare is not None:
        figures["tension-no-control-ring"] = tension_chart(tension_figure(doff, bare, "no control ring"))
    return figures


def _height(doff: Doff, name: str) -> HeightCourse:
    return _course(doff, name, doff.places.balloon_height)


def _rails(doff: Doff) -> str:
    p, tube = doff.places, doff.choice.frame.tube
    rails = [_course(doff, "lappet", p.guide_height)]
    if not np.isnan(p.control_ring_height).all():
        rails.append(_course(doff, "control ring", p.control_ring_height))
    rails.append(_course(doff, "ring rail", p.ring_height))
    return rails_chart(RailsFigure(rails=rails, tube_tip=tube.length - tube.bare_bottom))


def _course(doff: Doff, name: str, values: NDArray[np.float64]) -> HeightCourse:
    envelope = doff.envelope(values)
    return HeightCourse(
        name=name, time=_plain(doff.stroke_time), low=_plain(envelope.least), high=_plain(envelope.most)
    )


def _plain(values: NDArray[np.float64]) -> list[float]:
    return [float(v) for v in values]
