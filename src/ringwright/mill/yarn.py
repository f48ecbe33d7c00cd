"""Yarns with their fibres, and the rovings they are spun from."""

from typing import Literal

from pydantic import model_validator

from ringwright.mill.field import plain_field, quantity_field
from ringwright.mill.table import Entry, Table
from ringwright.refusal import Fault, Refusal
from ringwright.units import show

__all__ = ["Fibre", "Roving", "Yarn"]


class Fibre(Table):
    """One kind of fibre in a yarn."""

    name: str = plain_field("what the fibre is")
    share: float = quantity_field("share", "%", (0.1, 100), "share of the yarn's mass")
    fineness: float = quantity_field("count", "dtex", (0.3, 20), "linear density of the fibre")
    length: float = quantity_field("length", "mm", (8, 150), "mean length of the fibre")
    thermoplastic: bool = plain_field(
        "true if rubbing heat can melt the fibre, as with polyester",
        default=False, strict=True, origin="assumed", note="false unless it is written",
    )  # fmt: skip


class Yarn(Entry):
    """A yarn as it is to be spun."""

    count: float = quantity_field("count", "tex", (3, 200), "count of the yarn as spun")
    process: Literal["carded", "combed", "synthetic", "blend"] = plain_field("how the fibre was prepared")
    twist_multiplier: float = quantity_field("twist multiplier", "TM", (1.5, 8), "twist multiplier of the yarn")
    twist_direction: Literal["Z", "S"] = plain_field(
        "direction of twist",
        default="Z", origin="common practice", note="letters as in ISO 2; single yarns are mostly Z, no source",
    )  # fmt: skip
    strength: float = quantity_field("force", "cN", (20, 6000), "mean breaking strength of the single yarn")
    strength_cv: float = quantity_field("share", "%", (1, 40), "coefficient of variation of the breaking strength")
    end_use: Literal["knitting", "weft", "semi-warp", "warp", "crepe", "other"] = plain_field("what the yarn is for")
    density: float = quantity_field(
        "density", "g/cm3", (0.3, 1.6), "mass of the yarn to the volume that its diameter encloses",
        default=1 / 1.1, origin="common practice", note="Peirce-1937: specific volume 1.1 cm3/g, from memory",
    )  # fmt: skip
    drag_coefficient: float = quantity_field(
        "ratio", "1", (0.2, 3), "drag coefficient of the yarn across the air stream, on its diameter",
        default=1.0, origin="assumed", note="smooth cylinder at Reynolds numbers of 100 to 1000, from memory",
    )  # fmt: skip
    traveller_friction: float = quantity_field(
        "ratio", "1", (0.02, 0.8), "coefficient of friction between yarn and traveller",
        default=0.30, origin="assumed", note="0.2 to 0.3 is often used, from memory",
    )  # fmt: skip
    fibres: tuple[Fibre, ...] = plain_field("the fibres of the yarn, one table each; their shares add to 100 %")

    @model_validator(mode="after")
    def _shares_add_up(self) -> "Yarn":
        """Refuse a yarn whose fibre shares do not make the whole."""
        total = sum(fibre.share for fibre in self.fibres)
        if abs(total - 1) > 0.001:
            got = f"shares that add to {show(total, 'share')}" if self.fibres else "empty"
            mend = "Change the shares, or add the fibre that is missing."
            raise Refusal(Fault(where="fibres", got=got, wants="fibre shares that add to 100 %", mend=mend))
        return self


class Roving(Entry):
    """A roving and its bobbin."""

    count: float = quantity_field("count", "hank", (0.2, 5), "count of the roving")
    twist_multiplier: float = quantity_field("twist multiplier", "TM", (0.4, 3), "twist multiplier of the roving")
    bobbin_mass: float = quantity_field("mass", "kg", (0.1, 6), "mass of roving on a full bobbin")
    cohesion: float | None = quantity_field(
        "tenacity", "cN/tex", (0.005, 20), "tension at which the roving slips apart, over its count, from the mill",
        optional=True, origin="assumed", note="none is written, so twist, fibres and friction give an estimate",
    )  # fmt: skip
    cohesion_cv: float = quantity_field(
        "share", "%", (0, 60), "coefficient of variation of that tension from place to place",
        default=15, origin="assumed", note="no mill reading",
    )  # fmt: skip
    slip_extension: float = quantity_field(
        "share", "%", (0.5, 60), "how far the roving is drawn out when it slips",
        default=8, origin="assumed", note="no mill reading",
    )  # fmt: skip
    strand_density: float = quantity_field(
        "density", "g/cm3", (0.05, 1), "mass of the roving to the volume that its diameter encloses",
        default=0.3, origin="assumed", note="no mill reading; a wound bobbin has about as much",
    )  # fmt: skip
    fibre_friction: float = quantity_field(
        "ratio", "1", (0.05, 0.8), "coefficient of friction between the fibres",
        default=0.3, origin="assumed", note="cotton some 0.2 to 0.6, from memory",
    )  # fmt: skip
