"""The spin plan of a frame with a yarn: twist, drafts, wheels, speeds, production, doff, roving, fibres, traveller."""

from __future__ import annotations

from dataclasses import replace
from math import pi

from ringwright.mill import Mill, Roving, Yarn
from ringwright.physics.constants import MINIMUM_FIBRES
from ringwright.physics.contraction import contraction, machine_twist, untwisted_linear_density
from ringwright.physics.draft import draft_by_counts, main_draft, total_draft
from ringwright.physics.evenness import fibres_in_section
from ringwright.physics.production import (
    delivery_speed,
    doff_time,
    doffs,
    frame_production,
    frames_for_order,
    production_rate,
)
from ringwright.physics.roving import back_roller_speed, roving_consumption, run_out_time
from ringwright.physics.traveller_mass import usual_traveller_mass
from ringwright.physics.traveller_speed import missing_twist, rubbing_speed, traveller_lag, winding_speed
from ringwright.physics.twist import twist
from ringwright.setting.choice import AS_SET, Choice, Trial, choose
from ringwright.setting.electronic import values_to_set
from ringwright.setting.figure import STATED, Figure, computed, from_mill
from ringwright.setting.places import DoffProblem
from ringwright.setting.plan_notes import plan_notes, traveller_column
from ringwright.setting.planned import (
    DoffPlan,
    DraftPlan,
    FibrePlan,
    Order,
    OrderPlan,
    Plan,
    Production,
    RovingPlan,
    Speed,
    Speeds,
    TravellerPlan,
    TwistPlan,
)
from ringwright.setting.problem import doff_problem
from ringwright.setting.wheels import Wish, choose_wheels
from ringwright.sources import Grade, bibliography

__all__ = ["Order", "Plan", "spin_plan"]


def spin_plan(mill: Mill, frame_name: str, yarn_name: str, order: Order | None = None, trial: Trial = AS_SET) -> Plan:
    """Plan a yarn on a frame of the mill as set or as tried, and the frames for an order where one is given.

    Raises Refusal with the nearest name for an unknown frame, yarn or setting, and with every draft or twist that the
    frame's gearing cannot reach.
    """
    choice = choose(mill, frame_name, yarn_name, trial)
    roving, problem = mill.rovings[choice.setting.roving], doff_problem(choice)
    turns = _twist(choice.yarn)
    drafts = _draft(choice, roving, turns)
    speeds = _speeds(choice, problem, turns)
    production = _production(mill, choice, speeds)
    supply = _roving(roving, speeds, drafts, production)
    electronic, wish = choice.frame.drafting.electronic, _wish(turns, drafts)
    plan = Plan(
        mill=mill.name,
        frame=frame_name,
        yarn=yarn_name,
        setting=choice.setting.name,
        roving=roving.name,
        traveller=choice.traveller.name,
        twist=turns,
        draft=drafts,
        wheels=None if electronic else choose_wheels(choice.frame, wish),
        to_set=values_to_set(choice.frame, wish, speeds.main.spindle.value) if electronic else None,
        speeds=speeds,
        production=production,
        doff=_doff(problem, production),
        roving_supply=supply,
        fibres=_fibres(choice.yarn),
        traveller_motion=_traveller(choice, problem, speeds, turns),
        order=_order(order, production, supply) if order else None,
    )
    return replace(plan, notes=plan_notes(plan, choice, mill.limits))


def _twist(yarn: Yarn) -> TwistPlan:
    turns = twist(yarn.twist_multiplier, yarn.count)
    shortening = contraction(yarn.twist_multiplier)
    return TwistPlan(
        count=from_mill(yarn, "count", "count", "tex"),
        multiplier=from_mill(yarn, "twist_multiplier", "twist multiplier", "TM"),
        twist=computed(turns, "twist", "t/m", "twist-notes"),
        contraction=computed(shortening, "share", "%", "twist-notes"),
        delivered=computed(machine_twist(turns, shortening), "twist", "t/m", "study-cards"),
        strand_count=computed(untwisted_linear_density(yarn.count, shortening), "count", "tex", "study-cards"),
    )


def _draft(choice: Choice, roving: Roving, turns: TwistPlan) -> DraftPlan:
    drafting, count = choice.frame.drafting, choice.yarn.count
    total = total_draft(roving.count, count, turns.contraction.value)
    return DraftPlan(
        roving_count=from_mill(roving, "count", "count", "hank"),
        total=computed(total, "ratio", "", "Lord-2003"),
        by_counts=computed(draft_by_counts(roving.count, count), "ratio", "", "Lord-2003"),
        break_draft=from_mill(choice.frame, "drafting.break_draft", "ratio", ""),
        main=computed(main_draft(total, drafting.break_draft), "ratio", "", "Lord-2003"),
    )


def _wish(turns: TwistPlan, drafts: DraftPlan) -> Wish:
    return Wish(
        roving_count=drafts.roving_count.value,
        yarn_count=turns.count.value,
        total_draft=drafts.total.value,
        break_draft=drafts.break_draft.value,
        twist=turns.twist.value,
        contraction=turns.contraction.value,
    )


def _speeds(choice: Choice, problem: DoffProblem, turns: TwistPlan) -> Speeds:
    """Give the speeds of the course; the mean counts each speed by the time that it is run."""

    def at(spindle: Figure) -> Speed:
        delivery = delivery_speed(spindle.value, turns.twist.value, turns.contraction.value)
        return Speed(spindle=spindle, delivery=computed(delivery, "speed", "m/min", "Klein-1987"))

    def set_to(name: str) -> Speed:
        return at(from_mill(choice.setting, name, "rotation", "rpm"))

    mean = 2 * pi * problem.twist * problem.yarn_length / problem.doff_time
    return Speeds(
        start=set_to("start_speed"),
        base=set_to("base_speed"),
        main=set_to("main_speed"),
        tip=set_to("tip_speed"),
        mean=at(computed(mean, "rotation", "rpm")),
    )


def _production(mill: Mill, choice: Choice, speeds: Speeds) -> Production:
    yarn, frame, efficiency = choice.yarn, choice.frame, choice.setting.efficiency
    turns = twist(yarn.twist_multiplier, yarn.count)
    rate = production_rate(speeds.mean.spindle.value, turns, yarn.count, efficiency)
    shift = frame_production(rate, frame.spindles, mill.shift_length)
    return Production(
        efficiency=from_mill(choice.setting, "efficiency", "share", "%"),
        shift_length=from_mill(mill, "shift_length", "time", "h"),
        spindles=from_mill(frame, "spindles", "ratio", "spindles"),
        per_spindle=computed(rate, "output", "g/h", "study-cards"),
        per_frame=computed(rate * frame.spindles, "output", "kg/h", "study-cards"),
        per_frame_shift=computed(shift, "mass", "kg", "study-cards"),
    )


def _doff(problem: DoffProblem, production: Production) -> DoffPlan:
    rate, shift = production.per_spindle.value, production.shift_length.value
    return DoffPlan(
        content=computed(problem.content, "mass", "g"),
        yarn_length=computed(problem.yarn_length, "length", "m"),
        spinning_time=computed(problem.doff_time, "time", "min"),
        time_with_stops=computed(doff_time(problem.content, rate), "time", "min"),
        per_shift=computed(doffs(shift, problem.content, rate), "ratio", "doffs"),
    )


def _roving(roving: Roving, speeds: Speeds, drafts: DraftPlan, production: Production) -> RovingPlan:
    consumption = roving_consumption(production.per_spindle.value)
    lasts = run_out_time(roving.bobbin_mass, consumption)
    per_shift = production.spindles.value * production.shift_length.value / lasts
    return RovingPlan(
        consumption=computed(consumption, "output", "g/h"),
        feed_speed=computed(back_roller_speed(speeds.mean.delivery.value, drafts.total.value), "speed", "m/min"),
        bobbin_mass=from_mill(roving, "bobbin_mass", "mass", "kg"),
        run_out_time=computed(lasts, "time", "h"),
        bobbins_per_shift=computed(per_shift, "ratio", "bobbins"),
    )


def _fibres(yarn: Yarn) -> FibrePlan:
    shares, finenesses = [fibre.share for fibre in yarn.fibres], [fibre.fineness for fibre in yarn.fibres]
    there, fewest = fibres_in_section(yarn.count, shares, finenesses), MINIMUM_FIBRES[yarn.process]
    graded = bibliography()[fewest.source].grade is Grade.OUR_ESTIMATE
    told = Figure(
        value=float(fewest),
        quantity="ratio",
        unit="fibres",
        origin="assumed" if graded else "common practice",
        sources=(fewest.source,),
        note=f"fewest fibres, {yarn.process}: {fewest.where}" if graded else "",
    )
    return FibrePlan(
        in_section=computed(there, "ratio", "fibres", "GATE-2020"),
        fewest=told,
        finest_count=computed(yarn.count * fewest / there, "count", "tex", "Klein-1987"),
    )


def _traveller(choice: Choice, problem: DoffProblem, speeds: Speeds, turns: TwistPlan) -> TravellerPlan:
    ring, spindle = choice.frame.ring.diameter, speeds.main.spindle.value
    wound = winding_speed(speeds.main.delivery.value, turns.contraction.value)
    tube, cop = problem.shape.tube_foot_diameter, problem.shape.cop_diameter
    usual = usual_traveller_mass(choice.yarn.count, traveller_column(choice.yarn))

    def of_table(mass: float | None) -> Figure | None:
        if mass is None or usual is None:
            return None
        return Figure(value=mass, quantity="mass", unit="mg", origin="common practice", sources=(usual.source,))

    def speed(diameter: float) -> Figure:
        slower = spindle - traveller_lag(wound, diameter)
        return computed(rubbing_speed(slower, ring), "speed", "m/s", "Klein-1987")

    def lag(diameter: float) -> Figure:
        return computed(traveller_lag(wound, diameter), "rotation", "rpm", "Klein-1987")

    def missing(diameter: float) -> Figure:
        return computed(missing_twist(diameter), "twist", "t/m", "Klein-1987")

    return TravellerPlan(
        mass=from_mill(choice.traveller, "mass", "mass", "mg"),
        usual_lightest=of_table(usual.lightest if usual else None),
        usual_heaviest=of_table(usual.heaviest if usual else None),
        tube_diameter=computed(tube, "length", "mm"),
        cop_diameter=from_mill(choice.frame, "build.cop_diameter", "length", "mm"),
        speed_on_tube=speed(tube),
        speed_on_cop=speed(cop),
        lag_on_tube=lag(tube),
        lag_on_cop=lag(cop),
        missing_twist_on_tube=missing(tube),
        missing_twist_on_cop=missing(cop),
    )


def _order(order: Order, production: Production, supply: RovingPlan) -> OrderPlan:
    rate = production.per_frame.value
    frames = frames_for_order(order.mass, rate, order.time)
    bobbins = roving_consumption(order.mass) / supply.bobbin_mass.value
    return OrderPlan(
        mass=Figure(value=order.mass, quantity="mass", unit="kg", origin=STATED),
        time=Figure(value=order.time, quantity="time", unit="h", origin=STATED),
        frames=computed(frames, "ratio", "frames"),
        exact_frames=computed(order.mass / (rate * order.time), "ratio", "frames"),
        time_taken=computed(order.mass / (rate * frames), "time", "h"),
        roving_bobbins=computed(bobbins, "ratio", "bobbins"),
    )
