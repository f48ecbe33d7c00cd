"""``ringwright energy``: where the power of one spindle goes."""

from __future__ import annotations

import click

from ringwright.cli.answering import answer, answer_options
from ringwright.cli.trial_options import fit_option, place_options, trial_options
from ringwright.verbs import app, fits, paying

__all__ = ["energy"]


@click.command()
@place_options
@trial_options
@fit_option
@answer_options
def energy(
    mill: str, frame: str, yarn: str, *, fit: str | None, as_json: bool, out: str | None, **tried: object
) -> None:
    """Part the power of one spindle through the doff, and the energy of a kilogram of yarn.

    MILL is a folder, a file, or the word demo. Parts: traveller, balloon, control ring, the cop in the air, the bare
    spindle and its drive, drafting, suction, motor.
    """
    names = (frame, yarn)
    trial = app.trial(**tried)  # type: ignore[arg-type]  # click's options
    found = paying.energy(fits.open_for(mill, names, fit), names, trial)
    answer(found, f"{frame}-{yarn}-energy", as_json=as_json, out=out)
