"""What is to be run: a frame, a yarn and a setting chosen from the mill, with what is tried in place of it."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from ringwright.mill import Mill, Traveller, setting_for
from ringwright.mill.frame import Frame
from ringwright.mill.setting import SPEEDS, Setting
from ringwright.mill.yarn import Yarn
from ringwright.refusal import Fault, Refusal
from ringwright.units import show

__all__ = ["AS_SET", "Choice", "Trial", "choose"]

MASS_RANGE = (1e-6, 1e-3)
FRICTION_RANGE = (0.01, 0.6)
LEAST_SPEED = 1000 * 2 * pi / 60
"""[rad/s], as for the speeds of a setting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One frame with one yarn as set, or as tried: everything that the physics is given comes from here."""

    frame: Frame
    yarn: Yarn
    setting: Setting
    traveller: Traveller
    air_density: float
    """Density of the air in the ring room [kg/m3]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """What to try in place of the setting; None leaves it as it is set.

    ``traveller_mass`` [kg], 1 to 1000 mg. ``main_speed`` [rad/s], up to the spindle's highest; the speeds of start,
    base and tip change in the same ratio, so the course keeps its shape. ``ring_friction`` [1], 0.01 to 0.6. Without
    ``control_ring`` the frame is reckoned as if none were fitted.
    """

    guide_fixed: bool | None = None
    control_ring: bool = True
    traveller_mass: float | None = None
    main_speed: float | None = None
    ring_friction: float | None = None


AS_SET = Trial()
"""Nothing tried: the setting as the mill has it."""


def choose(mill: Mill, frame_name: str, yarn_name: str, trial: Trial = AS_SET) -> Choice:
    """Choose a frame and a yarn with their setting, changed as tried.

    Raises Refusal with the nearest name for an unknown frame, yarn or setting, and with every value out of its range.
    """
    setting = setting_for(mill, frame_name, yarn_name)
    frame, traveller = mill.frames[frame_name], mill.travellers[setting.traveller]
    faults = _faults(trial, frame, setting)
    if faults:
        raise Refusal(faults)
    return Choice(
        frame=_frame_as_tried(frame, trial),
        yarn=mill.yarns[yarn_name],
        setting=_setting_as_tried(setting, trial),
        traveller=traveller if trial.traveller_mass is None else _of_mass(traveller, trial.traveller_mass),
        air_density=mill.air_density,
    )


def _of_mass(traveller: Traveller, mass: float) -> Traveller:
    return traveller.model_copy(update={"name": f"tried, {show(mass, 'mass', 'mg')}", "mass": mass})


def _frame_as_tried(frame: Frame, trial: Trial) -> Frame:
    changes: dict[str, object] = {} if trial.control_ring else {"control_ring": None}
    if trial.ring_friction is not None:
        changes["ring"] = frame.ring.model_copy(update={"friction": trial.ring_friction})
    return frame.model_copy(update=changes)


def _setting_as_tried(setting: Setting, trial: Trial) -> Setting:
    changes: dict[str, object] = {} if trial.guide_fixed is None else {"guide_fixed": trial.guide_fixed}
    if trial.main_speed is not None:
        ratio = trial.main_speed / setting.main_speed
        changes |= {name: getattr(setting, name) * ratio for name in SPEEDS}
    return setting.model_copy(update=changes)


def _faults(trial: Trial, frame: Frame, setting: Setting) -> list[Fault]:
    faults = []
    mass, speed, friction = trial.traveller_mass, trial.main_speed, trial.ring_friction
    if mass is not None and not MASS_RANGE[0] <= mass <= MASS_RANGE[1]:
        least, most = (show(end, "mass", "mg") for end in MASS_RANGE)
        faults.append(Fault(where="traveller mass", got=show(mass, "mass", "mg"), wants=f"between {least} and {most}"))
    if friction is not None and not FRICTION_RANGE[0] <= friction <= FRICTION_RANGE[1]:
        wants = f"between {FRICTION_RANGE[0]:g} and {FRICTION_RANGE[1]:g}"
        faults.append(Fault(where="ring friction", got=f"{friction:g}", wants=wants))
    if speed is not None:
        quickest = max(getattr(setting, name) for name in SPEEDS)
        most_main = frame.spindle.highest_speed * setting.main_speed / quickest
        if not LEAST_SPEED <= speed <= most_main * (1 + 1e-9):
            least, most = (show(end, "rotation", "rpm") for end in (LEAST_SPEED, most_main))
            wants = f"between {least} and {most}"
            mend = (
                f"No speed of the doff may pass the spindle's {show(frame.spindle.highest_speed, 'rotation', 'rpm')}."
            )
            faults.append(Fault(where="main speed", got=show(speed, "rotation", "rpm"), wants=wants, mend=mend))
    return faults
