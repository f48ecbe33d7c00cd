"""``ringwright plan``: the spin plan of one yarn on one frame."""

from __future__ import annotations

import re
from typing import Literal

import click
import orjson

from ringwright.refusal import Fault, Refusal
from ringwright.report.plan_text import plan_text
from ringwright.report.plan_values import plan_values
from ringwright.units import parse
from ringwright.verbs import app

__all__ = ["plan"]

_TONNES = re.compile(r"(.*?)\s*(?:t|tonnes?)\s*", re.IGNORECASE | re.DOTALL)
_BARE = re.compile(r"\s*\d+(?:\.\d+)?\s*")


@click.command()
@click.argument("mill")
@click.option("--frame", required=True, help="Name of the frame.")
@click.option("--yarn", required=True, help="Name of the yarn.")
@click.option("--order", help='Yarn to be made, as "20 t" or "500 kg"; needs --hours.')
@click.option("--hours", help='Time to make the order in, as "120 h".')
@click.option("--units", type=click.Choice(["tex", "ne"], case_sensitive=False), default="tex", show_default=True,
              help="Which units lead: tex and t/m, or Ne and tpi.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print SI values, origins and sources as one JSON object.")
def plan(
    mill: str, frame: str, yarn: str, order: str | None, hours: str | None, units: Literal["tex", "ne"], as_json: bool
) -> None:
    """Plan a yarn on a frame: twist, drafts, change wheels, speeds, production, roving, fibres, traveller.

    MILL is the folder or file of a mill, or the word demo for the mill that comes with the program.
    """
    planned = app.plan(mill, frame, yarn, _order(order, hours))
    if as_json:
        click.echo(orjson.dumps(plan_values(planned), option=orjson.OPT_INDENT_2))
    else:
        click.echo(plan_text(planned, units))


def _order(mass: str | None, hours: str | None) -> tuple[float, float] | None:
    """Read an order as mass [kg] and time [s]; both its parts or neither."""
    if mass is None and hours is None:
        return None
    faults: list[Fault] = []
    values: list[float] = []
    for read, given in ((_mass, mass), (_time, hours)):
        try:
            values.append(read(given))
        except Refusal as refusal:
            faults += refusal.faults
    if faults:
        raise Refusal(faults)
    return values[0], values[1]


def _mass(given: str | None) -> float:
    """Read a mass of yarn; orders are spoken of in tonnes, which no other mass of the mill is."""
    if given is None:
        wants = "given together with --hours, as --order '20 t'"
        raise Refusal(Fault(where="--order", got="missing", wants=wants))
    tonnes = _TONNES.fullmatch(given)
    try:
        return 1000 * parse(f"{tonnes[1]} kg", "mass", "--order") if tonnes else parse(given, "mass", "--order")
    except Refusal:
        wants = "a mass with its unit (t, kg, g, lb), as --order '20 t'"
        raise Refusal(Fault(where="--order", got=f'"{given}"', wants=wants)) from None


def _time(given: str | None) -> float:
    """Read a time; a bare number under --hours is hours."""
    if given is None:
        wants = "given together with --order, as --hours '120 h'"
        raise Refusal(Fault(where="--hours", got="missing", wants=wants))
    return parse(f"{given} h" if _BARE.fullmatch(given) else given, "time", "--hours")
