"""The creel against printed values: tension over a rod, queues of stopped machines, and contents of bobbins."""

from math import radians

import numpy as np
import pytest
from tests.published.agreement import agrees, authority, printed

from ringwright.creel.floor import Crew, FrameRun, run_floor
from ringwright.creel.judged import USUAL_DENSITY
from ringwright.mill.creel import Creel
from ringwright.physics.unwinding import Bobbin, Strand, guide_gain, package_density
from ringwright.units.factors import INCH


def test_tension_over_a_rod_is_that_of_the_printed_answer():
    entry = printed("GATE-2014", "tension-after-wrap")
    given = entry.given
    strand = Strand(stiffness=1.0, wrap=radians(given["wrap_degrees"]), friction=given["friction"])
    assert agrees(given["tension_cN"] / 100 * guide_gain(strand), entry.printed)


def queue(machines, runs, service, servers, rounds):
    """Frames that stop at random and one crew or more that serves them: the doffs of the floor as such a queue."""
    frames = tuple(
        FrameRun(
            name=str(k), spin=lambda chance: float(chance.exponential(runs)),
            doff=lambda chance: float(chance.exponential(service)), plan=((),), per_spin=1.0, content=1.0,
        )
        for k in range(machines)
    )  # fmt: skip
    crew = Crew(
        creelers=1, doffing_crews=servers, carts=1, cart_size=1, store=1, per_bobbin=lambda _: 1.0,
        trip=lambda _: 1e9,
    )  # fmt: skip
    log = run_floor(frames, crew, rounds * (runs + service) / machines, seed=20)
    waits = np.array([begun - asked for _, asked, begun, _ in log.doffs])
    return waits, log.horizon


@pytest.mark.parametrize("name", ["wait-050", "wait-100", "wait-100-two"])
def test_frames_that_wait_for_their_doffers_wait_as_the_finite_queuing_tables_say(name):
    entry = printed("finite-queues", name)
    given = entry.given
    factor, machines = given["factor"], given["machines"]
    waits, horizon = queue(machines, 1 - factor, factor, given["servers"], 25_000)
    # 25 000 stops, somewhat alike from one to the next: three standard errors of a share are about 0.015.
    assert (waits > 0).mean() == pytest.approx(float(given["D"]), abs=0.015)
    assert 1 - waits.sum() / horizon / machines == pytest.approx(float(entry.printed), abs=0.004)


def test_six_machines_and_one_repairer_wait_as_printed():
    entry = printed("Anderson-queues", "wait")
    given = entry.given
    waits, _ = queue(given["machines"], given["runs_h"], given["repair_h"], given["servers"], 25_000)
    assert waits.mean() == pytest.approx(float(entry.printed), rel=0.05)


@pytest.mark.parametrize("name", authority("SITRA-norms"))
def test_printed_contents_make_the_density_that_is_called_usual(name):
    entry = printed("SITRA-norms", name)
    lift, diameter = (entry.given[key] for key in ("lift_inch", "diameter_inch"))
    bobbin = Bobbin(
        empty_radius=Creel().empty_diameter / 2, full_radius=diameter * INCH / 2, traverse=lift * INCH, tube_mass=0.25,
        content=float(entry.printed),
    )  # fmt: skip
    assert USUAL_DENSITY[0] < package_density(bobbin) < USUAL_DENSITY[1]
