"""What a page says of each part: its name, what it does, how it is cared for, and which work on it can hurt."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["PART_WORDS", "PartWords"]

PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartWords:
    """A part's name, one or two sentences on what it does, its care, and the kinds of work with a caution.

    ``page`` is the key of the part's own page in the catalogue of parts, where it has one.
    """

    name: str
    does: str
    care: tuple[str, ...]
    works: tuple[str, ...]
    page: str = ""


_PAST_GUARDS = "all work past the guards"

PART_WORDS: dict[str, PartWords] = {
    "creel": PartWords(
        name="Creel and roving",
        does="The bobbin hangs free and turns as the roving is drawn off. A pull too hard stretches the roving and "
        "thins the yarn.",
        care=(
            "Turn each hanger by hand: it must turn freely and stop without swinging on.",
            "Renew bobbins in turns, so that not all run out in one shift.",
        ),
        works=(_PAST_GUARDS, "cleaning"),
        page="creel",
    ),
    "drafting": PartWords(
        name="Drafting",
        does="Three pairs of rollers draw the roving out. The total draft makes the count, and the break draft loosens "
        "the roving first.",
        care=("Look at cots and aprons for grooves and lapping, and clean the roller necks.",),
        works=(_PAST_GUARDS, "cleaning"),
    ),
    "triangle": PartWords(
        name="Spinning triangle",
        does="Twist runs up from the balloon to the front-roller nip. The last millimetres have least twist, and most "
        "yarns break there.",
        care=("Keep the suction tube close to the nip and free of fly.",),
        works=(_PAST_GUARDS,),
    ),
    "lappet": PartWords(
        name="Lappet",
        does="The eyelet stands on the spindle's axis and is the top of the balloon. Its rail rises through the doff "
        "so that the balloon stays of a like height.",
        care=(
            "Set each eyelet over its spindle: the pointer touches the eyelet's inner edge, not its middle.",
            "Change an eyelet that has a groove.",
        ),
        works=(_PAST_GUARDS,),
        page="centring",
    ),
    "balloon": PartWords(
        name="Balloon",
        does="The yarn between lappet and traveller turns with the traveller. Air holds it back, and its own mass "
        "pulls it outward: that makes the tension.",
        care=("Look along the row with a lamp: a balloon unlike its neighbours has something to tell.",),
        works=("reading tension on a running spindle",),
    ),
    "control-ring": PartWords(
        name="Control ring",
        does="A ring round the balloon parts it in two small ones, so that a lighter traveller will hold it. The yarn "
        "rubs there, which costs heat and hairs.",
        care=("Centre it with ring and lappet, and feel for grooves and melted fibre.",),
        works=("setting control rings", _PAST_GUARDS),
    ),
    "separators": PartWords(
        name="Separators",
        does="Plates between neighbouring balloons. Without one, a broken end lashes its neighbour.",
        care=("Straighten bent plates, and put back those that are missing.",),
        works=(_PAST_GUARDS,),
        page="separators",
    ),
    "ring": PartWords(
        name="Ring and traveller",
        does="Winding tension drags the traveller round, and its friction on the ring holds it back a little behind "
        "the spindle. Its mass sets the tension of the whole position.",
        care=(
            "Change travellers of a frame together and write the date down.",
            "Run new rings and travellers in at a lower speed, as your supplier says.",
        ),
        works=("changing travellers", "changing or setting rings"),
        page="centring",
    ),
    "cop": PartWords(
        name="Cop and rails",
        does="The ring rail rises slowly and falls quickly, and lays the yarn in cones. Foot and top of a stroke wind "
        "on different diameters, so the tension breathes with each stroke.",
        care=("See that the rail moves level from end to end and does not stick at its turning points.",),
        works=(_PAST_GUARDS,),
    ),
    "wharve": PartWords(
        name="Wharve and drive",
        does="Tape or belt turns the wharve. Slip makes a spindle slower than its neighbours, and its yarn softer.",
        care=("Look at tapes and belts for wear, and at the tension rollers.",),
        works=("work on belts", "work on spindle tapes", "work on spindle motors"),
        page="drive",
    ),
    "spindle": PartWords(
        name="Spindle",
        does="It carries the tube and puts in the twist, one turn for each of its own less those of the winding.",
        care=("Oil as the spindle's maker says, and centre it in its ring when the balloon beats.",),
        works=(_PAST_GUARDS, "being in the ring room"),
        page="spindle",
    ),
}
