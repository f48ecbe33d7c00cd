"""Positions and limits against two independent reference codes (computed, not published).

The data lie in authorities/independent-balloon.  One code steps along the yarn, the other in
depth; they agree to 3e-13.
"""

from __future__ import annotations

import json
from math import pi, sqrt
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from ringwright.cli.main import ringwright
from ringwright.refusal import Refusal
from ringwright.verbs.app import solve_positions

AUTHORITY = Path(__file__).parents[2] / "authorities" / "independent-balloon"
POSITIONS = json.loads((AUTHORITY / "positions.json").read_text(encoding="utf-8"))["cases"]
LIMITS = json.loads((AUTHORITY / "limits.json").read_text(encoding="utf-8"))["cases"]
AGREES = 1e-6
# A tabulated value of nought is compared absolutely, in the key's own unit.
NOUGHT = 1e-9

# The scales on which the dimensionless limits are made into a position, all freely chosen.
TEX, RING_MM, RPM, AIR, YARN_DENSITY = 23.0, 42.0, 15000.0, 1.18, 880.0
M0_IN_MG = TEX * 1e-6 * (RING_MM / 2 * 1e-3) * 1e6
KINDS = {"fold": "fold_traveller_mass_mg", "lift-off": "lift_off_traveller_mass_mg"}


def solved(keys: dict[str, float], *, with_limits: bool = False) -> dict[str, Any]:
    (answer,) = solve_positions([("the case", keys)], with_limits=with_limits)
    assert not isinstance(answer, Refusal), answer
    return answer


def through_the_command(keys: dict[str, float], path: Path, *options: str) -> dict[str, Any]:
    path.write_text(json.dumps(keys), encoding="utf-8")
    result = CliRunner().invoke(ringwright, ["position", str(path), "--json", *options])
    assert result.exit_code == 0, result.output
    answer: dict[str, Any] = json.loads(result.output)
    return answer


def dimensional(case: dict[str, Any], heavy: float = 1.5) -> dict[str, float]:
    """A position with the case's h, p0 and c, and a traveller ``heavy`` times heavier than its heaviest event."""
    a, m = RING_MM / 2 * 1e-3, TEX * 1e-6
    thickness = sqrt(4 * m / (pi * YARN_DENSITY))
    heaviest = max(event["M0"] or 0.0 for name in ("end", "neck", "touch") if (event := case[name]))
    return {
        "yarn_tex": TEX,
        "ring_diameter_mm": RING_MM,
        "balloon_height_mm": case["h"] * RING_MM / 2,
        "traveller_speed_rpm": RPM,
        "traveller_mass_mg": heavy * heaviest * M0_IN_MG,
        "winding_diameter_mm": case["c"] * RING_MM,
        "ring_traveller_friction": 0.1,
        "yarn_traveller_friction": 0.3,
        "drag_coefficient": case["p0"] * m / (16 * 0.5 * AIR * thickness * a),
        "air_density_kg_m3": AIR,
        "yarn_density_kg_m3": YARN_DENSITY,
        "gauge_mm": 1.75 * RING_MM,
    }


def named(case: dict[str, Any]) -> str:
    return f"h={case['h']:g},p0={case['p0']:g},c={case['c']:g}"


def before_the_end(case: dict[str, Any], event: str) -> float | None:
    """M0 of an event if it is met on the taut branch, else None.

    The guide angle grows along the branch, so that an event at a wider angle than the end's lies beyond the end.
    """
    if not case[event] or case[event]["M0"] is None:
        return None
    if case["end"] and case[event]["alpha"] > case["end"]["alpha"]:
        return None
    return float(case[event]["M0"])


@pytest.mark.parametrize("case", POSITIONS, ids=lambda case: case["name"])
def test_a_position_agrees_in_every_key(case):
    answer = solved(case["input"])
    assert answer["outcome"] == "steady"
    for key, expected in case["expected"].items():
        assert answer[key] == pytest.approx(expected, rel=AGREES, abs=NOUGHT), key


@pytest.mark.parametrize("case", POSITIONS, ids=lambda case: case["name"])
def test_the_command_agrees_in_every_key(case, tmp_path):
    answer = through_the_command(case["input"], tmp_path / "position.json")
    assert answer["outcome"] == "steady"
    for key, expected in case["expected"].items():
        assert answer[key] == pytest.approx(expected, rel=AGREES, abs=NOUGHT), key


@pytest.mark.parametrize("case", [case for case in LIMITS if case["end"]], ids=named)
def test_the_end_of_the_branch_agrees_in_kind_and_mass(case, tmp_path):
    limits = through_the_command(dimensional(case), tmp_path / "position.json", "--limits")["limits"]
    end = case["end"]
    assert limits[KINDS[end["kind"]]] == pytest.approx(end["M0"] * M0_IN_MG, rel=AGREES)
    (other,) = set(KINDS) - {end["kind"]}
    assert limits[KINDS[other]] is None


@pytest.mark.parametrize("case", LIMITS, ids=named)
@pytest.mark.parametrize("event", ["neck", "touch"])
def test_a_neck_or_a_touch_counts_only_where_the_branch_meets_it_before_its_end(case, event, tmp_path):
    limits = through_the_command(dimensional(case), tmp_path / "position.json", "--limits")["limits"]
    expected = before_the_end(case, event)
    if expected is None:
        assert limits[f"{event}_traveller_mass_mg"] is None
    else:
        assert limits[f"{event}_traveller_mass_mg"] == pytest.approx(expected * M0_IN_MG, rel=AGREES)


@pytest.mark.parametrize("case", [case for case in LIMITS if case["end"]], ids=named)
def test_a_traveller_a_thousandth_heavier_than_the_end_spins_and_a_lighter_one_is_told_why_not(case):
    keys = dimensional(case)
    end = case["end"]["M0"] * M0_IN_MG
    assert solved({**keys, "traveller_mass_mg": 1.001 * end})["outcome"] == "steady"
    refused = solved({**keys, "traveller_mass_mg": 0.999 * end})
    assert refused["outcome"] == case["end"]["kind"]
    assert refused["guide_tension_cN"] is None


def test_at_the_neck_the_balloon_arrives_without_slope():
    # Just above the neck's mass there is no inner least radius, just below there is one.
    case = next(case for case in LIMITS if named(case) == "h=8,p0=4,c=0.9")
    neck = case["neck"]["M0"] * M0_IN_MG
    assert "neck" not in solved({**dimensional(case), "traveller_mass_mg": 1.0005 * neck})["passed"]
    assert "neck" in solved({**dimensional(case), "traveller_mass_mg": 0.9995 * neck})["passed"]


def test_without_a_gauge_no_touch_is_known():
    keys = dimensional(LIMITS[0])
    del keys["gauge_mm"]
    assert solved(keys, with_limits=True)["limits"]["touch_traveller_mass_mg"] is None
