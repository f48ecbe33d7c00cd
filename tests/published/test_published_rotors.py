"""Rotors that are printed elsewhere: worked examples of a textbook, and beams and shafts in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from ringwright.physics.rotor import Lump, Shaft, Spread, Support, spread_force, system
from ringwright.physics.whirl import critical_speeds, support_forces, unbalance_response, whirl
from ringwright.sources import bibliography

RPM = 2 * np.pi / 60
YOUNG, RIGIDITY, DENSITY = 211e9, 81.2e9, 7810.0
"""Steel of the examples [Pa, Pa, kg/m3]."""


def cowper(young, rigidity):
    """Cowper's shear factor of a solid round section, as the textbook takes it."""
    ratio = young / (2 * rigidity) - 1
    return 6 * (1 + ratio) ** 2 / (7 + 12 * ratio + 4 * ratio**2)


def round_shaft(length, diameter, elements):
    """A solid round steel shaft and its own mass."""
    area, second = np.pi * diameter**2 / 4, np.pi * diameter**4 / 64
    shaft = Shaft(
        heights=np.linspace(0, length, elements + 1),
        bending=np.full(elements, YOUNG * second),
        shear=np.full(elements, cowper(YOUNG, RIGIDITY) * RIGIDITY * area),
    )
    even = np.ones((elements, 4))
    return shaft, Spread(mass=DENSITY * area * even, diametral=DENSITY * second * even,
                         polar=2 * DENSITY * second * even)  # fmt: skip


def disk(node, bore, outside, width):
    """A steel disk with a hole."""
    mass = DENSITY * np.pi / 4 * (outside**2 - bore**2) * width
    polar = mass * (outside**2 + bore**2) / 8
    return Lump(node=node, mass=mass, diametral=polar / 2 + mass * width**2 / 12, polar=polar)


def two_disks(damping=0.0):
    """Example 5.9.1: 1.5 m of 50 mm shaft in 6 elements, two disks, both ends on 1 MN/m."""
    shaft, own = round_shaft(1.5, 0.05, 6)
    lumps = [disk(2, 0.05, 0.28, 0.07), disk(4, 0.05, 0.35, 0.07)]
    return system(shaft, own, lumps, [Support(node=k, stiffness=1e6, damping=damping) for k in (0, 6)])


def sizes(rotor, spin, many):
    return np.abs(whirl(rotor, spin, many).frequency)


# Oracle: Friswell, Penny, Garvey and Lees 2010, Dynamics of Rotating Machines, examples 5.9.1, 5.9.9 and 5.9.5,
# quoted after the tests of the library ross-rotordynamics 2.3.0 (there to 0.1 %); rad/s.
# At rest and without damping each frequency stands twice, once in each sense of turning.
def test_the_two_disk_rotor_of_the_textbook_swings_at_rest_as_printed():
    assert "Friswell-2010" in bibliography()
    assert sizes(two_disks(), 0.0, 6) == pytest.approx([86.66, 86.66, 274.31, 274.31, 716.78, 716.78], rel=1e-3)


def test_the_two_disk_rotor_of_the_textbook_whirls_at_4000_rpm_as_printed():
    assert sizes(two_disks(), 4000 * RPM, 5) == pytest.approx([85.39, 87.80, 251.78, 294.71, 600.18], rel=1e-3)


def test_backward_whirl_is_the_slower_of_each_pair():
    pairs = whirl(two_disks(), 4000 * RPM, 4).frequency
    assert np.sign(pairs).tolist() == [-1, 1, -1, 1]


@pytest.mark.parametrize(
    ("rpm", "printed"),
    [
        (0, [90.14, 90.14, 630.73, 630.73, 830.43, 830.43]),
        (4000, [76.19, 103.91, 565.99, 634.23, 647.75, 1174.2]),
    ],
)
def test_the_overhung_rotor_of_the_textbook_whirls_as_printed(rpm, printed):
    shaft, own = round_shaft(1.5, 0.05, 6)
    supports = [Support(node=k, stiffness=1e7) for k in (0, 4)]
    rotor = system(shaft, own, [disk(6, 0.05, 0.35, 0.07)], supports)
    assert sizes(rotor, rpm * RPM, 6) == pytest.approx(printed, rel=1e-3)


def test_the_damped_rotor_of_the_textbook_whirls_as_printed():
    # Example 5.9.5, 3 kN s/m at both ends; printed as natural frequency and damped frequency in Hz, at rest.
    found = whirl(two_disks(damping=3e3), 0.0, 6)
    damped = np.abs(found.frequency) / (2 * np.pi)
    # decrement = 2 pi z / root(1 - z^2), so damped over natural frequency is 1 / root(1 + (decrement / 2 pi)^2)
    natural = damped * np.sqrt(1 + (found.decrement / (2 * np.pi)) ** 2)
    assert natural == pytest.approx([13.91, 13.91, 48.18, 48.18, 137.06, 137.06], rel=1e-3)
    assert damped == pytest.approx([13.89, 13.89, 46.54, 46.54, 103.22, 103.22], rel=1e-3)


def slender(elements=24):
    """A bar whose shear and section inertia are left out, so that Euler's and Bernoulli's closed forms hold."""
    shaft = Shaft(
        heights=np.linspace(0, 0.7, elements + 1), bending=np.full(elements, 50.0), shear=np.full(elements, 1e12)
    )
    nothing = np.zeros((elements, 4))
    return shaft, Spread(mass=np.full((elements, 4), 0.6), diametral=nothing, polar=nothing)


UNIT = np.sqrt(50.0 / 0.6) / 0.7**2


def test_a_bar_on_two_pins_swings_as_the_closed_form_says():
    shaft, own = slender()
    rotor = system(shaft, own, supports=[Support(node=k, stiffness=1e12) for k in (0, 24)])
    assert critical_speeds(rotor, 3) == pytest.approx(UNIT * (np.pi * np.array([1, 2, 3])) ** 2, rel=1e-4)


def test_a_bar_held_at_one_end_swings_as_the_closed_form_says():
    # cos a cosh a = -1: roots 1.8751, 4.6941, 7.8548 (found here, not recalled). Two stiff pins close by hold the end.
    roots = [brentq(lambda a: np.cos(a) * np.cosh(a) + 1, low, low + 1) for low in (1.5, 4.2, 7.4)]
    shaft, own = slender()
    low = Shaft(heights=np.append(-0.1, shaft.heights), bending=np.append(1e8, shaft.bending),
                shear=np.append(1e12, shaft.shear))  # fmt: skip
    empty = np.zeros((1, 4))
    light = Spread(mass=np.vstack([empty, own.mass]), diametral=np.zeros((25, 4)), polar=np.zeros((25, 4)))
    rotor = system(low, light, supports=[Support(node=k, stiffness=1e11) for k in (0, 1)])
    assert critical_speeds(rotor, 3) == pytest.approx(UNIT * np.array(roots) ** 2, rel=1e-3)


def test_a_free_bar_on_one_pin_swings_as_the_closed_form_says():
    # tan a = tanh a: 3.9266, 7.0686 beside the free turning about the pin, here held by a soft spring.
    roots = [brentq(lambda a: np.tan(a) - np.tanh(a), low, low + 0.3) for low in (3.8, 6.9)]
    shaft, own = slender()
    rotor = system(shaft, own, supports=[Support(node=0, stiffness=1e12), Support(node=24, stiffness=1e-6)])
    assert critical_speeds(rotor, 3)[1:] == pytest.approx(UNIT * np.array(roots) ** 2, rel=1e-3)


def jeffcott(damping):
    """A disk half-way along a shaft without mass on stiff pins: Jeffcott's rotor."""
    shaft, _ = slender(2)
    none = np.full((2, 4), 1e-12)
    damped = Support(node=1, stiffness=0.0, damping=damping)
    stiff = [Support(node=k, stiffness=1e12) for k in (0, 2)]
    disk_ = Lump(node=1, mass=0.4, diametral=1e-6, polar=0.0)
    return system(shaft, Spread(mass=none, diametral=none, polar=0 * none), [disk_], [*stiff, damped])


@pytest.mark.parametrize("ratio", [0.3, 0.9, 1.0, 1.2, 3.0])
def test_jeffcotts_rotor_answers_to_unbalance_as_his_closed_form_says(ratio):
    # Jeffcott 1919: w = e r^2 / (1 - r^2 + 2 i z r), r = spin / root(k/m), k = 48 EI / l^3.
    assert "Jeffcott-1919" in bibliography()
    stiffness, mass, share, offset = 48 * 50.0 / 0.7**3, 0.4, 0.08, 2e-5
    critical = np.sqrt(stiffness / mass)
    pull = np.zeros(6)
    pull[2] = mass * offset
    moved = unbalance_response(jeffcott(2 * share * mass * critical), pull, np.array([ratio * critical]))[0, 2]
    expected = offset * ratio**2 / (1 - ratio**2 + 2j * share * ratio)
    assert moved == pytest.approx(expected, rel=1e-5)


def test_jeffcotts_rotor_dies_away_as_one_mass_on_a_spring():
    # Decrement of one mass on a damped spring: 2 pi z / root(1 - z^2).
    share, critical = 0.08, np.sqrt(48 * 50.0 / 0.7**3 / 0.4)
    found = whirl(jeffcott(2 * share * 0.4 * critical), 1.7 * critical, 2)
    assert found.decrement == pytest.approx([2 * np.pi * share / np.sqrt(1 - share**2)] * 2, rel=1e-5)
    assert np.abs(found.frequency) == pytest.approx([critical * np.sqrt(1 - share**2)] * 2, rel=1e-5)


def test_an_overhung_disk_whirls_as_the_closed_form_says():
    # A disk at the end of a held shaft without mass: (k11 - m w^2)(k22 - Id w^2 + Ip S w) = k12^2, with
    # k11 = 12 EI/l^3, k12 = 6 EI/l^2, k22 = 4 EI/l (Den Hartog 1985, section 6.8, from memory; written out here).
    assert "Den-Hartog-1985" in bibliography()
    bending, length, mass, diametral, polar, spin = 50.0, 0.2, 0.5, 3e-4, 6e-4, 900.0
    k11, k12, k22 = 12 * bending / length**3, 6 * bending / length**2, 4 * bending / length
    quartic = np.polysub(np.polymul([-mass, 0, k11], [-diametral, polar * spin, k22]), [k12**2])
    expected = np.sort(np.roots(quartic).real)
    shaft = Shaft(heights=np.array([-0.1, 0, length]), bending=np.array([1e8, bending]), shear=np.full(2, 1e12))
    none = np.zeros((2, 4))
    rotor = system(shaft, Spread(mass=none + 1e-9, diametral=none + 1e-15, polar=none),
                   [Lump(node=2, mass=mass, diametral=diametral, polar=polar)],
                   [Support(node=k, stiffness=1e11) for k in (0, 1)])  # fmt: skip
    assert np.sort(whirl(rotor, spin, 4).frequency) == pytest.approx(expected, rel=2e-3)


def test_far_above_its_critical_speeds_a_free_rotor_turns_about_its_mass():
    # Without supports to speak of, the mass stays where it is and the shaft moves by minus the offset: momentum.
    shaft, own = slender()
    rotor = system(shaft, own, supports=[Support(node=k, stiffness=1e-3) for k in (0, 24)])
    moved = unbalance_response(rotor, spread_force(shaft, own.mass * 1e-4), np.array([50.0]))[0]
    assert moved[::2] == pytest.approx(np.full(25, -1e-4), rel=1e-3)


def test_the_forces_on_the_supports_balance_the_turning_mass():
    # Newton over the whole rotor: sum of support forces = spin^2 x sum of mass (motion + offset).
    shaft, own = slender()
    supports = [Support(node=3, stiffness=4e4), Support(node=24, stiffness=2e4)]
    rotor = system(shaft, own, supports=supports)
    spins, pull = np.array([120.0]), spread_force(shaft, own.mass * 5e-5)
    moved = unbalance_response(rotor, pull, spins)
    held = sum(float(support_forces(one, moved, spins)[0]) for one in supports)
    everywhere = np.tile([1.0, 0.0], 25)
    turning = 120.0**2 * (everywhere @ rotor.mass @ moved[0] + everywhere @ pull)
    assert held == pytest.approx(abs(turning), rel=1e-6)
