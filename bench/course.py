"""How long the best course and the search over the parts take, beside a general optimiser that solves every trial.

Run: python bench/course.py. The rival seeks four speeds at the setting's own corners with scipy's SLSQP and solves the
doff anew for each trial; ours solves it once. The last rival solves its places in a loop over scipy's boundary-value
solver too, on a frame without control ring and under the limit of strength alone, as that solver knows a free balloon.
"""

from __future__ import annotations

from dataclasses import replace
from time import perf_counter, process_time

import numpy as np
from scipy.optimize import minimize
from spread import by_solve_bvp

from ringwright.improve.asking import with_limits
from ringwright.improve.better import AIMS, Question, seek
from ringwright.improve.course import study_course
from ringwright.improve.drive import RPM, Drive, SpeedCourse, course_as_set
from ringwright.improve.respun import respun
from ringwright.improve.run import whole_doff
from ringwright.judgement.stated import stated_rooms
from ringwright.mill import Mill, demo_mill_path, read_mill
from ringwright.physics.spinning_angle import angle_to_vertical, triangle_tension
from ringwright.setting.choice import Trial
from ringwright.setting.doff import Doff, solve_doff
from ringwright.setting.places import Sampling
from ringwright.setting.problem import positions

CASES = (("F1", "AV30K"), ("F3", "AV30K"), ("F4", "AV60C"))
SMALL, TINY = Sampling(strokes=20, places=7), Sampling(strokes=4, places=2)


def rival(mill: Mill, doff: Doff) -> tuple[SpeedCourse, int]:
    """Seek start, base, main and tip with SLSQP over doffs solved again; give the course and the doffs solved."""
    shares = course_as_set(doff.choice.setting).shares
    turns = float(doff.problem.twist * doff.problem.yarn_length)
    count = 0

    def course(thousands: np.ndarray) -> SpeedCourse:
        start, base, main, tip = (float(value) * 1000 * RPM for value in thousands)
        return SpeedCourse(shares=shares, speeds=(start, base, main, main, tip))

    def rooms(thousands: np.ndarray) -> np.ndarray:
        nonlocal count
        count += 1
        start, base, main, _, tip = course(thousands).speeds
        speeds = {"start_speed": start, "base_speed": base, "main_speed": main, "tip_speed": tip}
        setting = doff.choice.setting.model_copy(update=speeds)
        again = whole_doff(mill, replace(doff.choice, setting=setting), SMALL)
        return np.array([room.room / room.scale for room in stated_rooms(again, mill.limits) if room.room is not None])

    found = minimize(
        lambda x: course(x).doff_time(turns) / 1000,
        np.full(4, 12.0),
        method="SLSQP",
        constraints=[{"type": "ineq", "fun": rooms}],
        options={"maxiter": 40, "ftol": 1e-6},
    )
    return course(found.x), count


def rival_by_solve_bvp(doff: Doff, limit: float) -> tuple[SpeedCourse, int, int]:
    """Seek the same with each place of each trial solved by scipy; give the course, the places solved, and those lost.

    ``limit`` is the highest tension at the spinning triangle [N].
    """
    choice, turns = doff.choice, float(doff.problem.twist * doff.problem.yarn_length)
    shares, guide = course_as_set(choice.setting).shares, choice.frame.guide
    count = lost = 0

    def course(thousands: np.ndarray) -> SpeedCourse:
        start, base, main, tip = (float(value) * 1000 * RPM for value in thousands)
        return SpeedCourse(shares=shares, speeds=(start, base, main, main, tip))

    def rooms(thousands: np.ndarray) -> np.ndarray:
        nonlocal count, lost
        places = respun(doff, course(thousands)).places
        given = positions(choice, places)
        lean = angle_to_vertical(guide.nip_offset, guide.nip_height - places.guide_height)
        found = [by_solve_bvp(given, number) for number in range(len(places))]
        tension, angle = np.array(found).T
        count, lost = count + len(found), lost + int(np.isnan(tension).sum())
        most = triangle_tension(tension, angle, lean, guide.friction).most
        return np.nan_to_num(1 - most / limit, nan=0.0)

    found = minimize(
        lambda x: course(x).doff_time(turns) / 1000,
        np.full(4, 12.0),
        method="SLSQP",
        bounds=[(8.0, 25.0)] * 4,
        constraints=[{"type": "ineq", "fun": rooms}],
        options={"maxiter": 12, "ftol": 1e-4},
    )
    return course(found.x), count, lost


def against_solve_bvp(mill: Mill) -> None:
    """Print our course and that of the loop over scipy on the same places, and how many times longer the loop takes."""
    begun = process_time()
    doff = solve_doff(mill, "F1", "AV30K", Trial(control_ring=False, traveller_mass=50e-6), TINY)
    limit = mill.limits["strength_share"].value * doff.choice.yarn.strength
    free = {"strength_share": mill.limits["strength_share"]}
    study = study_course(doff, free, Drive(most=25000 * RPM))
    ours = process_time() - begun
    begun = process_time()
    other, places, lost = rival_by_solve_bvp(doff, limit)
    theirs = process_time() - begun
    means = [one.mean_speed(study.turns) / RPM for one in (study.best, other)]
    print(
        f"F1 AV30K without control ring, {len(doff.places)} places, strength alone: ours {ours:.2f} s of processor, "
        f"mean {means[0]:.0f} rpm (a stroke has one speed); loop over solve_bvp and SLSQP {theirs:.1f} s, {places} "
        f"places ({lost} lost), mean {means[1]:.0f} rpm; {theirs / ours:.0f} times ours"
    )


def main() -> None:
    """Print the times and the courses' mean speeds."""
    mill = with_limits(read_mill(demo_mill_path()), ("strength_share=10 %",))
    for frame, yarn in CASES:
        begun = perf_counter()
        whole = solve_doff(mill, frame, yarn)
        study = study_course(whole, mill.limits, Drive())
        ours = perf_counter() - begun
        doff = solve_doff(mill, frame, yarn, sampling=SMALL)
        begun = perf_counter()
        other, doffs = rival(mill, doff)
        theirs = perf_counter() - begun
        means = [one.mean_speed(study.turns) / RPM for one in (study.best, other)]
        print(
            f"{frame} {yarn}: course in {ours:.2f} s over {len(whole.places)} places, mean {means[0]:.0f} rpm; "
            f"SLSQP over {len(doff.places)} places in {theirs:.1f} s and {doffs} doffs, mean {means[1]:.0f} rpm"
        )
    against_solve_bvp(mill)
    mill = read_mill(demo_mill_path())
    for aim in AIMS:
        begun = perf_counter()
        found = seek(Question(mill=mill, frame="F1", yarn="AV30K", aim=aim))
        print(f"F1 AV30K, parts for {aim}: {perf_counter() - begun:.1f} s, {len(found.found.picks)} candidates")


if __name__ == "__main__":
    main()
