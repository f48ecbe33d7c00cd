"""Make the values that tests/unit/test_spindle_against_a_library.py holds our rotor to.

Run it in an environment of its own (the library brings 1.2 GB with it, too much for the tests of this project):

    pip install ross-rotordynamics==2.3.0 "plotly<6"
    python experiments/rotor_oracle.py

The spindle: steel, stepped; neck and foot on damped springs; a wharve at the neck; a full cop as six disks.
"""

from __future__ import annotations

import json

import numpy as np
import ross as rs

STEEL = rs.Material("blade", rho=7850, E=206e9, G_s=79e9)
PARTS = ((4, 0.025, 0.0065), (2, 0.0175, 0.009), (6, 0.030, 0.0105))
"""Elements, length of each, diameter: from the foot step upwards."""
COP = (0.008, 0.014, 0.016, 0.016, 0.014, 0.008)
"""Masses at the upper six nodes [kg]; each a disk of 16 mm radius and 30 mm height."""


def rotor() -> rs.Rotor:
    """Build the spindle."""
    shaft = [
        rs.ShaftElement(L=length, idl=0, odl=diameter, material=STEEL, shear_method_calc="cowper")
        for many, length, diameter in PARTS
        for _ in range(many)
    ]
    disks = [rs.DiskElement(n=4, m=0.07, Id=8.2e-6, Ip=6.4e-6)]
    disks += [
        rs.DiskElement(n=7 + k, m=m, Id=m * (0.016**2 / 4 + 0.03**2 / 12), Ip=m * 0.016**2 / 2)
        for k, m in enumerate(COP)
    ]
    bearings = [rs.BearingElement(n=0, kxx=4e4, cxx=78.0), rs.BearingElement(n=4, kxx=1e6, cxx=40.0)]
    return rs.Rotor(shaft, disks, bearings)


def main() -> None:
    """Print whirls (damped frequency [rad/s], decrement, sense) and the answer to unbalance at the top."""
    made = rotor()
    told: dict[str, object] = {"library": f"ross-rotordynamics {rs.__version__}", "kappa": made.shaft_elements[0].kappa}
    for rpm in (0, 16000):
        modal = made.run_modal(rpm * np.pi / 30, num_modes=16)
        told[f"whirl at {rpm} rpm"] = [
            [float(w), float(d), str(sense)]
            for w, d, sense in zip(modal.wd, modal.log_dec, modal.whirl_direction(), strict=True)
        ]
    spins = np.array([1500.0, 2600.0, 16000.0]) * np.pi / 30
    answer = made.run_unbalance_response(node=[10], unbalance_magnitude=[1e-6], unbalance_phase=[0.0], frequency=spins)
    x = answer.forced_resp[made.number_dof * 12]
    told["top [m] under 1 g mm at node 10"] = [[float(v.real), float(v.imag)] for v in x]
    print(json.dumps(told, indent=1))


if __name__ == "__main__":
    main()
