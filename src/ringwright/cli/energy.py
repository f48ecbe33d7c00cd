"""``ringwright energy``: where the power of one spindle goes."""

from __future__ import annotations

import click
import orjson

from ringwright.cli.trial_options import fit_option, place_options, trial_options
from ringwright.report.economy_charts import power_chart
from ringwright.report.economy_text import energy_text
from ringwright.report.folder import write_files
from ringwright.verbs import app, costing, fits

__all__ = ["energy"]


@click.command()
@place_options
@trial_options
@fit_option
@click.option("--json", "as_json", is_flag=True, help="Print watts and kWh/kg by part as JSON.")
@click.option("--out", help="Write the figure (SVG) into this folder.")
def energy(
    mill: str, frame: str, yarn: str, *, fit: str | None, as_json: bool, out: str | None, **tried: object
) -> None:
    """Part the power of one spindle through the doff, and the energy of a kilogram of yarn.

    MILL is a folder, a file, or the word demo. Parts: traveller, balloon, control ring, the cop in the air, the bare
    spindle and its drive, drafting, suction, motor.
    """
    opened = fits.open_for(mill, (frame, yarn), fit)
    trial = app.trial(**tried)  # type: ignore[arg-type]  # click's options
    whole, doff, found, sways = costing.energy(opened.mill, (frame, yarn), trial)
    if as_json:
        told: dict[str, object] = {
            "watt": found.means,
            "kWh_per_kg": {name: e / 3.6e6 for name, e in found.per_mass.items()},
        }
        told |= {"sways_kWh_per_kg": {one.name: [one.low / 3.6e6, one.high / 3.6e6] for one in sways}}
        told |= opened.values
        click.echo(orjson.dumps(told, option=orjson.OPT_INDENT_2))
    else:
        click.echo("\n\n".join(filter(None, (energy_text(doff.choice, found, whole, sways), opened.words))))
    if out:
        write_files(out, {f"{frame}-{yarn}-power.svg": power_chart(doff, found).encode()})
        click.echo(f"Wrote the figure into {out}.", err=True)
