"""Ring frames and their parts."""

from typing import ClassVar, Literal

from pydantic import model_validator

from ringwright.mill.belt import Belt, Motors, Tape, Wharves
from ringwright.mill.centring import Centring
from ringwright.mill.creel import Creel
from ringwright.mill.field import plain_field, quantity_field
from ringwright.mill.frame_rules import FRAME_RULES
from ringwright.mill.gearing import Gearing
from ringwright.mill.rotor import Rotor
from ringwright.mill.rule import Rule
from ringwright.mill.strikes import Strikes
from ringwright.mill.table import Entry, Table
from ringwright.refusal import Fault, Refusal

__all__ = [
    "Build", "ControlRing", "Drafting", "Drive", "Frame", "Guide", "Ring", "Separators", "Spindle", "Tube",
]  # fmt: skip

_LOWEST = "above the ring rail's lowest place"


class Ring(Table):
    """The ring and its friction with the traveller."""

    diameter: float = quantity_field("length", "mm", (25, 120), "inside diameter of the ring")
    flange: float = quantity_field(
        "length", "mm", (1, 8), "width of the ring's flange",
        default=3.2, origin="common practice", note="flange number 1, from memory",
    )  # fmt: skip
    friction: float = quantity_field(
        "ratio", "1", (0.01, 0.6), "coefficient of friction between ring and traveller",
        default=0.10, origin="assumed", note="no mill reading; 0.1 to 0.3 is found in models, from memory",
    )  # fmt: skip
    friction_low: float = quantity_field(
        "ratio", "1", (0.01, 0.6), "lowest friction to reckon with",
        default=0.08, origin="assumed", note="no mill reading",
    )  # fmt: skip
    friction_high: float = quantity_field(
        "ratio", "1", (0.01, 0.6), "highest friction to reckon with",
        default=0.13, origin="assumed", note="no mill reading",
    )  # fmt: skip


class Tube(Table):
    """The tube that the cop is built on."""

    length: float = quantity_field("length", "mm", (100, 400), "length of the tube")
    bottom_diameter: float = quantity_field("length", "mm", (8, 60), "outside diameter at the foot of the tube")
    top_diameter: float = quantity_field("length", "mm", (6, 60), "outside diameter at the tip of the tube")
    bare_bottom: float = quantity_field(
        "length", "mm", (0, 60), "length of tube left bare at the foot",
        default=10, origin="common practice", note="about 10 mm at each end, Klein-1987, as quoted",
    )  # fmt: skip
    bare_top: float = quantity_field(
        "length", "mm", (0, 60), "length of tube left bare at the tip",
        default=10, origin="common practice", note="about 10 mm at each end, Klein-1987, as quoted",
    )  # fmt: skip


class Build(Table):
    """How the cop is built; heights are measured from the ring rail's lowest place."""

    lift: float = quantity_field(
        "length", "mm", (80, 350), "whole travel of the ring rail, foot of the first stroke to top of the last"
    )
    cop_diameter: float = quantity_field("length", "mm", (15, 110), "diameter of the full cop")
    chase: float = quantity_field("length", "mm", (15, 120), "stroke of the ring rail, the height of the wound cone")
    base_height: float = quantity_field(
        "length", "mm", (3, 200), f"height {_LOWEST} of the foot of the stroke that first reaches the full diameter"
    )
    yarn_per_stroke: float = quantity_field("length", "m", (0.5, 30), "yarn wound in one stroke up and down")
    rise_share: float = quantity_field(
        "share", "%", (30, 95), "share of that yarn which is laid on the slow rise",
        default=200 / 3, origin="common practice", note="winding to binding about 2 to 1, from memory",
    )  # fmt: skip
    package_density: float = quantity_field(
        "density", "g/cm3", (0.2, 0.9), "mass of yarn to the volume it fills on the cop",
        default=0.50, origin="common practice", note="0.45 to 0.55 g/cm3, from memory",
    )  # fmt: skip


class Guide(Table):
    """The thread guide (lappet) and the front-roller nip above it."""

    height: float = quantity_field(
        "length", "mm", (80, 500), f"height of the eyelet {_LOWEST} when the doff starts, at the foot of the stroke"
    )
    lift: float = quantity_field("length", "mm", (0, 350), "rise of the eyelet over the whole doff")
    stroke: float = quantity_field(
        "length", "mm", (0, 100), "movement of the eyelet with each stroke, upwards when the ring rail rises"
    )
    friction: float = quantity_field(
        "ratio", "1", (0.02, 0.8), "coefficient of friction between yarn and eyelet",
        default=0.20, origin="assumed", note="no mill reading",
    )  # fmt: skip
    nip_height: float = quantity_field("length", "mm", (150, 900), f"height of the front-roller nip {_LOWEST}")
    nip_offset: float = quantity_field(
        "length", "mm", (0, 300), "level distance from the front-roller nip to the spindle's axis"
    )


class ControlRing(Table):
    """The balloon control ring, where one is fitted."""

    diameter: float = quantity_field("length", "mm", (25, 130), "inside diameter of the control ring")
    height: float = quantity_field(
        "length", "mm", (20, 450), f"height {_LOWEST} when the doff starts, at the foot of the stroke"
    )
    lift: float = quantity_field("length", "mm", (0, 350), "rise of the control ring over the whole doff")
    stroke: float = quantity_field(
        "length", "mm", (0, 120), "movement with each stroke of the ring rail, upwards when the rail rises"
    )
    friction: float = quantity_field(
        "ratio", "1", (0.02, 0.8), "coefficient of friction between yarn and control ring",
        default=0.20, origin="assumed", note="no mill reading",
    )  # fmt: skip


class Separators(Table):
    """The plates between neighbouring balloons."""

    fitted: bool = plain_field(
        "true if the frame has separators",
        default=True, strict=True, origin="common practice", note="fitted unless it is written",
    )  # fmt: skip
    thickness: float = quantity_field(
        "length", "mm", (0.1, 8), "thickness of one plate", default=1, origin="assumed", note="no mill reading"
    )


class Spindle(Table):
    """The spindle."""

    highest_speed: float = quantity_field("rotation", "rpm", (3000, 35000), "highest speed the spindle is built for")
    wharve_diameter: float = quantity_field("length", "mm", (12, 40), "diameter of the wharve that tape or belt drives")


class Drive(Table):
    """The drive of the spindles."""

    kind: Literal[
        "four-spindle tape",
        "tangential belt, single",
        "tangential belt, double",
        "group belts",
        "single-spindle motors",
    ] = plain_field("how the spindles are driven")
    drum_diameter: float | None = quantity_field(
        "length", "mm", (50, 400), "diameter of the drum or pulley that drives the tape or belt",
        optional=True, origin="measured", note="none is written, so the twist train reaches the spindle itself",
    )  # fmt: skip
    slip: float = quantity_field(
        "share", "%", (0, 10), "speed lost between drum and wharve",
        default=1, origin="common practice", note="mean 0.5 % to 1 % under the nominal speed, from memory",
    )  # fmt: skip
    twist_spread: float = quantity_field(
        "share", "%", (0.05, 10), "most that a spindle's twist may differ from the mean of the frame, either way",
        default=1, origin="common practice", note="1 %, at most 2 % to 3 %, from memory, no source",
    )  # fmt: skip
    belt: Belt = plain_field("the belt, where tangential or group belts drive", default_factory=Belt)
    tape: Tape = plain_field("the tapes, where tapes drive", default_factory=Tape)
    motors: Motors = plain_field("the motors of groups or single spindles", default_factory=Motors)
    wharves: Wharves = plain_field("the wharves and the bolsters under them", default_factory=Wharves)


class Drafting(Table):
    """The drafting rollers and the gearing of the frame."""

    front_roller_diameter: float = quantity_field("length", "mm", (15, 60), "diameter of the front bottom roller")
    middle_roller_diameter: float = quantity_field(
        "length", "mm", (15, 60), "diameter of the middle bottom roller, over the apron where there is one"
    )
    back_roller_diameter: float = quantity_field("length", "mm", (15, 60), "diameter of the back bottom roller")
    break_draft: float = quantity_field("ratio", "1", (1.02, 3), "draft wanted between back and middle roller")
    electronic: bool = plain_field(
        "true if drafts and twist are set electronically, without change wheels",
        default=False, strict=True, origin="common practice", note="change wheels unless it is written",
    )  # fmt: skip
    gearing: Gearing | None = plain_field(
        "the trains of wheels; leave the table out where drafts and twist are set electronically",
        default=None, origin="measured", note="none is written, as there are no change wheels",
    )  # fmt: skip

    @model_validator(mode="after")
    def _wheels_or_none(self) -> "Drafting":
        """Refuse a frame that has neither wheels nor electronic drafts, or both."""
        if self.electronic and self.gearing is not None:
            mend = "Delete the tables of the gearing, or write electronic = false."
            raise Refusal(Fault(where="electronic", got="true beside a gearing", wants="one or the other", mend=mend))
        if not self.electronic and self.gearing is None:
            wants = "the trains of wheels, in three tables"
            mend = "Write electronic = true in drafting where there are no change wheels."
            raise Refusal(Fault(where="gearing", got="missing", wants=wants, mend=mend))
        return self


class Frame(Entry):
    """A ring frame."""

    spindles: int = quantity_field("ratio", "1", (1, 3000), "number of spindles, both sides together")
    sides: int = quantity_field(
        "ratio", "1", (1, 2), "number of sides",
        default=2, origin="common practice", note="two sides unless it is written",
    )  # fmt: skip
    gauge: float = quantity_field("length", "mm", (40, 160), "distance from spindle to spindle")
    ring: Ring = plain_field("the ring")
    tube: Tube = plain_field("the tube")
    build: Build = plain_field("the build of the cop")
    guide: Guide = plain_field("the thread guide")
    control_ring: ControlRing | None = plain_field(
        "the balloon control ring; leave the table out if none is fitted",
        default=None, origin="measured", note="none is written, so none is fitted",
    )  # fmt: skip
    separators: Separators = plain_field("the separators", default_factory=Separators)
    strikes: Strikes = plain_field("what a broken end does to its neighbours", default_factory=Strikes)
    spindle: Spindle = plain_field("the spindle")
    rotor: Rotor = plain_field("the spindle as a rotor", default_factory=Rotor)
    drive: Drive = plain_field("the drive of the spindles")
    drafting: Drafting = plain_field("the drafting rollers and gearing")
    creel: Creel = plain_field("the creel", default_factory=Creel)
    centring: Centring = plain_field(
        "tolerances of centring, the gauge, and how it is done",
        default_factory=Centring, origin="common practice", note="the defaults below, where nothing is written",
    )  # fmt: skip

    rules: ClassVar[tuple[Rule, ...]] = FRAME_RULES

    @property
    def spindle_turns_per_drum_turn(self) -> float:
        """Turns of the spindle to one turn of the drum, slip taken off; 1 x (1 - slip) without a drum."""
        drum = self.drive.drum_diameter
        return (1.0 if drum is None else drum / self.spindle.wharve_diameter) * (1 - self.drive.slip)
