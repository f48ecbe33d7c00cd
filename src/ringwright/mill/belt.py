"""What a mill says about its spindle drive: the belt, the tapes, the motors, and the wharves they turn."""

from typing import ClassVar, Literal

from ringwright.mill.field import plain_field, quantity_field
from ringwright.mill.rule import Rule
from ringwright.mill.table import Table

__all__ = ["Belt", "Motors", "Tape", "Wharves"]

_NEUTRAL = "height over the running face of the layer that keeps its length where the belt bends; half the thickness"
_BENDING = "share of the energy of bending a solid strip that each bend takes for good"
_NEUTRAL_RULE = Rule(
    "neutral_height", "at most", ("thickness",), lambda thickness: thickness, "the thickness of the belt or tape"
)


class Belt(Table):
    """A tangential belt that runs past the wharves, pressed on them by rollers; also the belts of groups."""

    width: float = quantity_field(
        "length", "mm", (5, 150), "width of the belt", default=35, origin="assumed", note="no mill reading"
    )
    thickness: float = quantity_field(
        "length", "mm", (0.3, 8), "thickness of the belt", default=2.6, origin="assumed", note="no mill reading"
    )
    neutral_height: float | None = quantity_field(
        "length", "mm", (0, 8), _NEUTRAL,
        optional=True, origin="assumed", note="half the thickness; less where the pulling layer lies near the wharve",
    )  # fmt: skip
    density: float = quantity_field(
        "density", "g/cm3", (0.3, 3), "mass of the belt to its volume",
        default=1.1, origin="assumed", note="polyamide, rubber and fabric, from memory",
    )  # fmt: skip
    pull_at_one_percent: float = quantity_field(
        "force", "N", (5, 50000), "pull in one strand that stretches the belt by 1 %",
        default=1100, origin="assumed", note="some 30 N for each mm of width; the belt's data sheet has it",
    )  # fmt: skip
    tension: float = quantity_field(
        "force", "N", (1, 20000), "pull in one strand of the belt at rest; with weight or spring, what that holds",
        default=900, origin="assumed", note="no mill reading",
    )  # fmt: skip
    held: Literal["fixed", "weight or spring"] = plain_field(
        "what keeps the belt tight: pulleys fixed once set, or a weight or spring on the slack strand",
        default="fixed", origin="common practice", note="set by a screw, no source",
    )  # fmt: skip
    friction: float = quantity_field(
        "ratio", "1", (0.05, 1.2), "coefficient of friction between belt and wharve",
        default=0.25, origin="assumed", note="no mill reading; 0.2 to 0.4, from memory",
    )  # fmt: skip
    drum_friction: float = quantity_field(
        "ratio", "1", (0.05, 1.2), "coefficient of friction between belt and drum",
        default=0.4, origin="assumed", note="no mill reading",
    )  # fmt: skip
    drum_wrap: float = quantity_field(
        "angle", "°", (30, 330), "angle over which the belt lies on the drum",
        default=180, origin="assumed", note="half a turn",
    )  # fmt: skip
    wrap: float = quantity_field(
        "angle", "°", (0, 180), "angle that rollers set fast turn the belt at each wharve",
        default=0, origin="assumed", note="the belt passes straight, and spring rollers press it on",
    )  # fmt: skip
    spindles_per_roller: float = quantity_field(
        "ratio", "1", (1, 20), "spindles to one pressure roller",
        default=2, origin="common practice", note="one roller between two spindles, from memory",
    )  # fmt: skip
    roller_force: float = quantity_field(
        "force", "N", (0, 500), "force of the spring of one pressure roller across the belt",
        default=16, origin="assumed", note="no mill reading",
    )  # fmt: skip
    roller_drag: float = quantity_field(
        "share", "%", (0, 20), "pull that a pressure roller takes, as a share of its force",
        default=0.8, origin="assumed", note="its bearing and the belt pressed flat under it; no source",
    )  # fmt: skip
    bending_loss: float = quantity_field(
        "share", "%", (0, 100), _BENDING, default=5, origin="assumed", note="layers bend more easily; no source"
    )
    first: Literal["near the drum", "far from the drum"] = plain_field(
        "where the belt meets its first spindle as it comes slack off the drum, which stands before spindle 1",
        default="near the drum", origin="assumed", note="no mill reading",
    )  # fmt: skip

    rules: ClassVar[tuple[Rule, ...]] = (
        _NEUTRAL_RULE,
        Rule(
            "roller_force", "more than", ("wrap",), lambda wrap: 0.0 if wrap == 0 else -1.0,
            "0 where the wrap is 0, since then nothing else presses the belt on the wharves", ("force", "N"),
        ),
    )  # fmt: skip


class Tape(Table):
    """A tape that drives a few spindles, half of them on each side, with a jockey pulley that keeps it tight."""

    spindles: int = quantity_field(
        "ratio", "1", (2, 12), "spindles that one tape drives",
        default=4, origin="common practice", note="two on each side, Shaikh-Bhattacharya (abstract)",
    )  # fmt: skip
    width: float = quantity_field(
        "length", "mm", (4, 40), "width of the tape", default=12, origin="assumed", note="no mill reading"
    )
    thickness: float = quantity_field(
        "length", "mm", (0.2, 3), "thickness of the tape", default=0.6, origin="assumed", note="no mill reading"
    )
    neutral_height: float | None = quantity_field(
        "length", "mm", (0, 3), _NEUTRAL, optional=True, origin="common practice", note="half the thickness"
    )
    density: float = quantity_field(
        "density", "g/cm3", (0.3, 3), "mass of the tape to its volume",
        default=1.1, origin="assumed", note="polyamide or polyester and fabric, from memory",
    )  # fmt: skip
    pull_at_one_percent: float = quantity_field(
        "force", "N", (1, 5000), "pull in one strand that stretches the tape by 1 %",
        default=100, origin="assumed", note="no mill reading; the tape's data sheet has it",
    )  # fmt: skip
    tension: float = quantity_field(
        "force", "N", (0.2, 200), "pull that the jockey pulley's weight or spring holds in one strand at rest",
        default=9, origin="assumed", note="no mill reading",
    )  # fmt: skip
    jockey_after: int = quantity_field(
        "ratio", "1", (0, 12), "spindles that the tape passes between drum and jockey pulley",
        default=2, origin="common practice", note="between the two sides of the frame, from memory",
    )  # fmt: skip
    jockey_drag: float = quantity_field(
        "force", "N", (0, 20), "pull that the jockey pulley takes", default=0.1, origin="assumed", note="no source"
    )
    friction: float = quantity_field(
        "ratio", "1", (0.05, 1.2), "coefficient of friction between tape and wharve",
        default=0.25, origin="assumed", note="no mill reading; 0.2 to 0.4, from memory",
    )  # fmt: skip
    drum_friction: float = quantity_field(
        "ratio", "1", (0.05, 1.2), "coefficient of friction between tape and drum",
        default=0.4, origin="assumed", note="no mill reading",
    )  # fmt: skip
    drum_wrap: float = quantity_field(
        "angle", "°", (30, 330), "angle over which the tape lies on the drum",
        default=150, origin="assumed", note="no mill reading",
    )  # fmt: skip
    wrap: float = quantity_field(
        "angle", "°", (10, 270), "angle over which the tape lies on a wharve",
        default=110, origin="common practice", note="110° to 120°, Shaikh-Bhattacharya (abstract)",
    )  # fmt: skip
    bending_loss: float = quantity_field(
        "share", "%", (0, 100), _BENDING, default=5, origin="assumed", note="woven tapes bend more easily; no source"
    )
    thickness_spread: float = quantity_field(
        "length", "mm", (0, 0.5), "standard deviation of the thickness from tape to tape",
        default=0.05, origin="assumed", note="new and worn tapes side by side; no mill reading",
    )  # fmt: skip

    rules: ClassVar[tuple[Rule, ...]] = (
        _NEUTRAL_RULE,
        Rule(
            "jockey_after", "at most", ("spindles",), lambda spindles: spindles, "the spindles of the tape",
            ("ratio", "1"),
        ),
    )  # fmt: skip


class Motors(Table):
    """Motors that share the frame: those of belts for groups, or one for each spindle."""

    spindles_per_group: int = quantity_field(
        "ratio", "1", (4, 1000), "spindles of one group, both sides together, where belts drive groups",
        default=100, origin="common practice", note="about 50 on each side, Klein-1987",
    )  # fmt: skip
    synchronisation: float = quantity_field(
        "share", "%", (0, 5), "most that the motor of a group may run off the mean, either way",
        default=0.1, origin="assumed", note="no mill reading",
    )  # fmt: skip
    control_error: float = quantity_field(
        "share", "%", (0, 5), "most that the motor of a single spindle may run off the mean, either way",
        default=0.05, origin="assumed", note="no mill reading",
    )  # fmt: skip


class Wharves(Table):
    """The wharves: how alike they are, the bolster under them, and how near to slipping they may run."""

    diameter_spread: float = quantity_field(
        "length", "mm", (0, 1), "standard deviation of the wharves' diameters",
        default=0.02, origin="assumed", note="no mill reading",
    )  # fmt: skip
    slip_margin: float = quantity_field(
        "ratio", "1", (1, 10), "least of the most pull over the pull wanted at a wharve in the main part of the doff",
        default=1.3, origin="common practice", note="room for start, dirt and damp; no source",
    )  # fmt: skip
    bearing_diameter: float = quantity_field(
        "length", "mm", (3, 30), "diameter at which the bolster's neck bearing rolls",
        default=8, origin="assumed", note="no mill reading",
    )  # fmt: skip
    bearing_friction: float = quantity_field(
        "ratio", "1", (0, 0.2), "coefficient of friction of the neck bearing under the belt's load",
        default=0.002, origin="common practice", note="rolling bearings 0.001 to 0.003, from memory",
    )  # fmt: skip
