"""What a person should know about a spin plan, in sentences: where a formula or a table ends, what a limit says."""

from __future__ import annotations

from collections.abc import Mapping

from ringwright.mill import Limit, Yarn
from ringwright.physics.constants import CONTRACTION_RANGE
from ringwright.physics.contraction import contraction_in_range
from ringwright.physics.traveller_mass import Column, table_span
from ringwright.setting.choice import Choice
from ringwright.setting.figure import Figure, from_mill
from ringwright.setting.planned import Plan, Speeds
from ringwright.sources.tables import traveller_mass_table
from ringwright.units import show

__all__ = ["plan_notes", "traveller_column"]


def plan_notes(plan: Plan, choice: Choice, limits: Mapping[str, Limit]) -> tuple[str, ...]:
    """Give the notes of a plan; those that ask for an act come first."""
    return (
        *_speed_notes(plan, limits),
        *_fibre_notes(plan, choice),
        *_contraction_notes(plan, choice),
        *_traveller_notes(plan, choice),
        *(_electronic_notes(choice) if plan.wheels is None else _slip_notes(plan.wheels.slip)),
        *_density_notes(choice),
    )


def traveller_column(yarn: Yarn) -> Column:
    """Give the column of the table of usual travellers that a yarn belongs to."""
    return "cotton" if yarn.process in {"carded", "combed"} else "blend"


def _speed_notes(plan: Plan, limits: Mapping[str, Limit]) -> list[str]:
    spindle, traveller = limits.get("spindle_speed"), limits.get("traveller_speed")
    name, fastest = _fastest(plan.speeds)
    notes = []
    if spindle is not None and fastest.value > spindle.value * (1 + 1e-9):
        notes.append(
            f"The {name} speed of {show(fastest.value, 'rotation', 'rpm')} lies above the mill's limit of "
            f"{show(spindle.value, 'rotation', 'rpm')} ({spindle.source})."
        )
    # speed and lag of the traveller both go with the spindle's speed, so the rubbing speed scales with it
    rubbing = plan.traveller_motion.speed_on_cop.value * fastest.value / plan.speeds.main.spindle.value
    if traveller is not None and rubbing > traveller.value * (1 + 1e-9):
        notes.append(
            f"At {name} speed the traveller runs at {show(rubbing, 'speed', 'm/s', 1)} on the full cop, above the "
            f"limit of {show(traveller.value, 'speed', 'm/s', 1)} ({traveller.source})."
        )
    return notes


def _fastest(speeds: Speeds) -> tuple[str, Figure]:
    course = {"start": speeds.start, "base": speeds.base, "main": speeds.main, "tip": speeds.tip}
    name = max(course, key=lambda at: course[at].spindle.value)
    return name, course[name].spindle


def _fibre_notes(plan: Plan, choice: Choice) -> list[str]:
    fibres = plan.fibres
    if fibres.in_section.value >= fibres.fewest.value:
        return []
    finest = show(fibres.finest_count.value, "count", "tex")
    there, fewest = fibres.in_section.value, fibres.fewest.value
    head = f"The section holds {there:.0f} fibres, fewer than the {fewest:.0f} that a {choice.yarn.process} yarn needs"
    return [f"{head}: with these fibres it should not be finer than {finest}."]


def _contraction_notes(plan: Plan, choice: Choice) -> list[str]:
    notes = []
    contraction = show(plan.twist.contraction.value, "share", "%", 1)
    if not contraction_in_range(plan.twist.multiplier.value):
        multiplier = show(plan.twist.multiplier.value, "twist multiplier", "TM")
        notes.append(
            f"The twist multiplier of {multiplier} lies outside {CONTRACTION_RANGE['lowest']:g} to "
            f"{CONTRACTION_RANGE['highest']:g} TM, for which the contraction formula is used: take its {contraction} "
            "as a guess, and weigh a lea of the first yarn before the count is trusted."
        )
    if choice.yarn.process in {"blend", "synthetic"}:
        kind = "a blend" if choice.yarn.process == "blend" else "of synthetic fibre"
        notes.append(
            f"The contraction formula is for cotton, and {plan.yarn} is {kind}: take its {contraction} as a guess, "
            "and weigh a lea of the first yarn before the count is trusted."
        )
    return notes


def _traveller_notes(plan: Plan, choice: Choice) -> list[str]:
    motion, caution = plan.traveller_motion, traveller_mass_table().caution
    lightest, heaviest = motion.usual_lightest, motion.usual_heaviest
    if lightest is None or heaviest is None:
        finest, coarsest = (show(end, "count", "tex") for end in table_span(traveller_column(choice.yarn)))
        count = show(plan.twist.count.value, "count", "tex")
        head = f"The table of usual travellers runs from {finest} to {coarsest} and does not reach {count}"
        return [f"{head}: no usual mass is given."]
    usual = f"{show(lightest.value, 'mass', 'mg', 1)} to {show(heaviest.value, 'mass', 'mg', 1)}"
    mass = motion.mass.value
    # The table prints tex to three digits, so that 30 Ne falls just beside its row; travellers are 6 % or 12 % apart.
    if lightest.value * 0.99 <= mass <= heaviest.value * 1.01:
        return [f"Usual traveller: {caution[:1].lower()}{caution[1:]}"]
    side = "lighter" if mass < lightest.value else "heavier"
    has = show(mass, "mass", "mg")
    return [f"The traveller of {has} is {side} than the usual {usual} for this count. {caution}"]


def _slip_notes(slip: Figure) -> list[str]:
    if slip.origin == "measured":
        return []
    head = f"The twist wheels are reckoned with a slip of {show(slip.value, 'share', '%')}, which is {slip.origin}"
    rest = "each 1 % more slip leaves 1 % less twist. To be sure, read the speed of drum and spindles."
    return [f"{head}; {rest}"]


def _electronic_notes(choice: Choice) -> list[str]:
    slip = from_mill(choice.frame, "drive.slip", "share", "%")
    head = "The twist to set is that of spindle and front roller as they turn"
    rest = "controls that reckon the spindle's speed from its drive must take off the slip"
    return [f"{head}; {rest}, {show(slip.value, 'share', '%')} ({slip.origin})."]


def _density_notes(choice: Choice) -> list[str]:
    density = from_mill(choice.frame, "build.package_density", "density", "g/cm3")
    if density.origin == "measured":
        return []
    told = f"{show(density.value, 'density', 'g/cm3')}, which is {density.origin}"
    return [
        f"Yarn on a full cop, and with it the doff's time, rests on a package density of {told}: weigh ten full cops."
    ]
