"""``ringwright take``: break records and running time into the store."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

import click

from ringwright.verbs import records

__all__ = ["take"]


@click.command()
@click.argument("files", nargs=-1, metavar="FILE...")
@click.option("--source", help="The TOML file that states how the source writes its records.")
@click.option("--mill", help='The mill: a folder of TOML files, or "demo" for the Alder Vale demo mill.')
@click.option("--store", help="The folder of the store; it is made if it is not there.")
@click.option("--new-source", metavar="FILE", help="Write a source file to finish, suggested by this CSV file.")
@click.option("--list", "listed", is_flag=True, help="List what the store has taken in so far.")
def take(
    files: tuple[str, ...],
    source: str | None,
    mill: str | None,
    store: str | None,
    new_source: str | None,
    listed: bool,
) -> None:
    """Take break records or running time from FILE... (CSV or Parquet) into a store.

    Every row is taken, was known already, or is set aside in a CSV file that says why, and that can be mended and
    taken again. Taking a file twice changes nothing.
    """
    if new_source:
        path = records.new_source(new_source)
        click.echo(f"{path} now holds a source to finish. Check its columns and write its time zone.")
        return
    if listed and store:
        for one in records.takes(store):
            click.echo(f"{one.number:>5}  {one.at}  {one.file}: {one.in_words}")
        return
    wanted = {"FILE": files, "--source": source, "--mill": mill, "--store": store}
    missing = [name for name, given in wanted.items() if not given]
    if missing or not (source and mill and store):
        mend = "A source is begun with: ringwright take --new-source FILE"
        raise click.UsageError(f"Missing: {', '.join(missing)}. {mend}")
    for file in files:
        with click.progressbar(length=100, label=file, file=sys.stderr, hidden=not sys.stderr.isatty()) as bar:
            one = records.take(file, source, mill, store, _moved(bar))
        click.echo(f"{file}: {one.in_words}")
        if one.set_aside:
            click.echo(f"  Why, row by row: {store}/{one.set_aside_file}; mend the rows there and take that file.")


def _moved(bar: Any) -> Callable[[int, int], None]:  # noqa: ANN401 - click does not make its bar's type public
    """Give what moves a bar of 100 steps."""
    return lambda done, whole: bar.update(100 * done // max(whole, 1) - bar.pos)
