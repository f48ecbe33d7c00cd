"""The reference page of a position's keys: what ``ringwright position`` reads and prints."""

from __future__ import annotations

from collections.abc import Mapping
from math import isnan
from types import MappingProxyType

from ringwright.physics.outcome import SENTENCES, Outcome
from ringwright.report.markdown import code, table
from ringwright.report.position_rows import COLUMNS, LIMITS
from ringwright.setting.position_keys import KEYS

__all__ = ["position_page"]

RESULTS: Mapping[str, str] = MappingProxyType(
    {
        "guide_tension_cN": "tension of the balloon at the guide",
        "ring_tension_cN": "tension of the balloon above the traveller",
        "winding_tension_cN": "tension between traveller and cop",
        "winding_ratio": "winding tension over the tension above the traveller",
        "traveller_wrap_deg": "angle by which the yarn wraps the traveller",
        "balloon_length_mm": "yarn between guide and traveller",
        "largest_radius_mm": "largest distance of the yarn from the spindle's axis",
        "largest_radius_depth_mm": "how far below the guide that is",
        "lag_deg": "angle of the traveller ahead of the yarn at the guide",
        "ring_force_cN": "force between traveller and ring",
        "ring_force_radial_cN": "its part outwards",
        "ring_force_axial_cN": "its part upwards",
        "guide_angle_deg": "angle of the yarn at the guide with the spindle's axis",
        "control_ring_force_cN": "force between yarn and control ring; 0 where they do not touch",
        "control_ring_bend_deg": "angle by which the yarn bends there",
    }
)
LIGHTER: Mapping[str, str] = MappingProxyType(
    {
        "fold_traveller_mass_mg": "the lightest traveller with a neighbouring steady balloon",
        "neck_traveller_mass_mg": "the one at which a neck enters the balloon at the ring",
        "lift_off_traveller_mass_mg": "the one that no longer presses outwards on the ring",
        "touch_traveller_mass_mg": "the one at which the balloon reaches half the gauge",
    }
)


def position_page() -> list[str]:
    """Tell the keys that ``ringwright position`` reads and those that it prints."""
    lines = [
        "# The keys of a position",
        "",
        "What `ringwright position` reads. Values are bare numbers; the key names the unit.",
        "",
    ]
    given = [
        (
            code(key.name),
            key.meaning,
            f"{'0, or ' if key.zero else ''}{key.low:g} to {key.high:g} {key.unit}".rstrip(),
            _default(key.default, key.origin),
        )
        for key in KEYS
    ]
    lines += table(("Key", "What it is", "Allowed", "If left out"), given)
    lines += ["## Results", "", "All are computed; they are `null` where there is no steady balloon.", ""]
    lines += table(("Key", "What it is"), [(code(key), RESULTS[key]) for key, _, _ in COLUMNS])
    lines += ["## Beside the results", ""]
    lines += table(("Key", "What it is"), _beside())
    lines += [
        "## With `--limits`",
        "",
        "`limits` holds traveller masses; `null` where the branch ends before the limit.",
        "",
    ]
    lines += table(("Key", "What it is"), [(code(key), LIGHTER[key]) for key, _ in LIMITS])
    lines += ["## Outcomes", ""]
    return lines + table(("`outcome`", "What it means"), [(code(one.word), SENTENCES[one]) for one in Outcome])


def _default(default: float | None, origin: str) -> str:
    if default is None:
        return "it must be given"
    return f"{default:.6g} ({origin})" if not isnan(default) else origin  # nan stands for a key that was not given


def _beside() -> list[tuple[str, str]]:
    return [
        (code("outcome"), "one word, as below; `refused` for a line of a stream that could not be taken"),
        (code("message"), "the outcome in a sentence, with how far a limit was passed"),
        (code("passed"), "limits that a steady balloon is beyond: `neck`, `separator`, `cop`"),
        (code("assumed"), "keys left out whose default is an assumption, with the value that stood in"),
        (code("line"), "number of the line, where it was refused"),
        (code("limits_message"), "how far the branch could be followed, where that was not to its end"),
    ]
