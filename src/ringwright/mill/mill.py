"""The mill as a whole: its facts and everything in it by name."""

from collections.abc import Iterable, Mapping

from pydantic import field_validator, model_validator

from ringwright.mill.creel import Creeling
from ringwright.mill.field import plain_field, quantity_field
from ringwright.mill.frame import Frame
from ringwright.mill.limit import Limit, standing_limits
from ringwright.mill.money import Money
from ringwright.mill.power import Power
from ringwright.mill.setting import SPEEDS, Setting
from ringwright.mill.table import Table, origin_faults
from ringwright.mill.traveller import Traveller
from ringwright.mill.yarn import Roving, Yarn
from ringwright.refusal import Fault, Refusal, nearest
from ringwright.units import show

__all__ = ["Mill", "setting_for", "speed_faults", "unknown_names"]


class Mill(Table):
    """A mill: name, air, shift, and its frames, yarns, rovings, travellers, settings and limits by name."""

    name: str = plain_field("name of the mill")
    air_density: float = quantity_field(
        "density", "kg/m3", (0.6, 1.5), "density of the air in the ring room",
        default=1.2, origin="assumed", note="dry air near 20 degrees and sea level, from memory",
    )  # fmt: skip
    shift_length: float = quantity_field(
        "time", "h", (1, 24), "length of a shift", default=8, origin="common practice", note="no source"
    )
    money: Money = plain_field("prices and the piecers' round", default_factory=Money)
    power: Power = plain_field("what the frames draw beside the yarn", default_factory=Power)
    creeling: Creeling = plain_field("hands, carts and stores of the creels", default_factory=Creeling)
    origins: dict[str, str] = plain_field("where the mill's own values come from", default_factory=dict)
    frames: dict[str, Frame] = plain_field("the frames by name", default_factory=dict)
    yarns: dict[str, Yarn] = plain_field("the yarns by name", default_factory=dict)
    rovings: dict[str, Roving] = plain_field("the rovings by name", default_factory=dict)
    travellers: dict[str, Traveller] = plain_field("the travellers by name", default_factory=dict)
    settings: dict[str, Setting] = plain_field("the settings by name", default_factory=dict)
    limits: dict[str, Limit] = plain_field("the limits by name", default_factory=standing_limits)

    @field_validator("limits")
    @classmethod
    def _with_standing(cls, limits: dict[str, Limit]) -> dict[str, Limit]:
        """Add the standing limits that the mill does not write itself."""
        return standing_limits() | limits

    @model_validator(mode="after")
    def _settings_fit(self) -> "Mill":
        """Refuse settings that name what is not there or run a spindle too fast."""
        known: dict[str, Iterable[str]] = {
            "frame": self.frames,
            "yarn": self.yarns,
            "roving": self.rovings,
            "traveller": self.travellers,
        }
        faults = []
        for setting in self.settings.values():
            names = {kind: getattr(setting, kind) for kind in known}
            found = unknown_names(names, known) + speed_faults(setting, self.frames)
            faults += [
                Fault(where=f"settings.{setting.name}.{f.where}", got=f.got, wants=f.wants, mend=f.mend) for f in found
            ]
        if faults:
            raise Refusal(faults)
        return self

    @model_validator(mode="after")
    def _origins_fit(self) -> "Mill":
        """Refuse origins of unknown keys, and unknown words."""
        faults = origin_faults(type(self), self.origins)
        if faults:
            raise Refusal(faults)
        return self


def unknown_names(names: Mapping[str, object], known: Mapping[str, Iterable[str]]) -> list[Fault]:
    """Give a fault for each name of a setting (frame, yarn, roving, traveller) that the mill does not have."""
    faults = []
    for kind, there in known.items():
        name = names.get(kind)
        if isinstance(name, str) and name not in there:
            mend = nearest(name, there)
            faults.append(Fault(where=kind, got=f'"{name}"', wants=f"the name of a {kind} of this mill", mend=mend))
    return faults


def speed_faults(setting: Setting, frames: Mapping[str, Frame]) -> list[Fault]:
    """Give a fault for each speed of a setting above the highest speed of its frame's spindle."""
    frame = frames.get(setting.frame)
    if frame is None:
        return []
    top = frame.spindle.highest_speed
    wants = f"at most {show(top, 'rotation')} (highest speed of the spindles of {frame.name})"
    return [
        Fault(where=key, got=show(getattr(setting, key), "rotation"), wants=wants)
        for key in SPEEDS
        if getattr(setting, key) > top * (1 + 1e-9)
    ]


def setting_for(mill: Mill, frame: str, yarn: str) -> Setting:
    """Find the setting of a frame with a yarn; Refusal with the nearest name if frame, yarn or setting is unknown."""
    faults = unknown_names({"frame": frame, "yarn": yarn}, {"frame": mill.frames, "yarn": mill.yarns})
    if faults:
        raise Refusal(faults)
    found = [setting for setting in mill.settings.values() if (setting.frame, setting.yarn) == (frame, yarn)]
    if len(found) == 1:
        return found[0]
    if found:
        names = ", ".join(setting.name for setting in found)
        mend = f"Keep one of {names}."
        raise Refusal(
            Fault(where=f"the setting of {frame} with {yarn}", got="there twice", wants="there once", mend=mend)
        )
    others = ", ".join(setting.yarn for setting in mill.settings.values() if setting.frame == frame)
    mend = f"{frame} has settings for {others}." if others else f"{frame} has no setting yet."
    wants = f"written as a [setting.{frame}-{yarn}] table"
    raise Refusal(Fault(where=f"the setting of {frame} with {yarn}", got="missing", wants=wants, mend=mend))
