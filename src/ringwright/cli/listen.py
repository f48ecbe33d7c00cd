"""``ringwright listen``: live intake of end breaks."""

from __future__ import annotations

import os
import signal
import threading
from pathlib import Path

import click

from ringwright.refusal import Fault, Refusal
from ringwright.verbs import records

__all__ = ["listen"]

TOKEN = "RINGWRIGHT_TOKEN"  # noqa: S105 - the name of the variable
USER, PASSWORD = "RINGWRIGHT_MQTT_USER", "RINGWRIGHT_MQTT_PASSWORD"


@click.command()
@click.option("--mill", help='The mill: a folder of TOML files, or "demo" for the Alder Vale demo mill.')
@click.option("--store", help="The folder of the store; it is made if it is not there.")
@click.option("--http", metavar="HOST:PORT", help="Take batches by HTTP here; beyond this computer it needs a token.")
@click.option("--folder", help="Take the files that are renamed into this folder.")
@click.option("--source", help="The source of CSV and Parquet files in the folder; .ndjson needs none.")
@click.option("--mqtt", metavar="HOST:PORT", help="Take events from the MQTT 5 broker there.")
@click.option("--broker-settings", metavar="FILE", help="The broker's mosquitto.conf, to be checked before the start.")
@click.option("--authority", help="The certificate of the broker's authority, for TLS.")
@click.option("--every", default=10.0, show_default=True, help="Minutes between two moves into the Parquet files.")
@click.option("--check-broker", metavar="FILE", help="Only check a mosquitto.conf, and say what would lose messages.")
@click.option("--write-broker", metavar="FILE", help="Only write a tuned mosquitto.conf.")
@click.option("--secured", is_flag=True, help="With --write-broker: for TLS and users, and with the rights to topics.")
@click.option("--list-aside", is_flag=True, help="Only list the live lines that were set aside, and why.")
@click.option("--write-aside", metavar="FILE", help="Only write those lines into a new file, to be mended.")
@click.option("--mend", metavar="FILE", help="Only take the mended lines of FILE.")
def listen(
    mill: str | None,
    store: str | None,
    http: str | None,
    folder: str | None,
    source: str | None,
    mqtt: str | None,
    broker_settings: str | None,
    authority: str | None,
    every: float,
    check_broker: str | None,
    write_broker: str | None,
    list_aside: bool,
    write_aside: str | None,
    mend: str | None,
    **how: bool,
) -> None:
    """Take end breaks and running time as they happen, by three doors; acknowledge each only after it is on the disk.

    Stop it with Ctrl+C. Secrets come from the environment: RINGWRIGHT_TOKEN for HTTP, RINGWRIGHT_MQTT_USER and
    RINGWRIGHT_MQTT_PASSWORD for the broker.
    """
    if check_broker:
        records.check_broker(check_broker)
        click.echo(f"{check_broker}: nothing in it loses messages that wait. {records.broker_promise()}")
        return
    if write_broker:
        written = records.write_broker(write_broker, secured=how["secured"])
        click.echo(f"{written[0]} now holds settings for mosquitto.")
        for path in written[1:]:
            click.echo(f"{path} now holds its rights to topics.")
        return
    if list_aside or write_aside or mend:
        if not store or (mend and not mill):
            raise click.UsageError("Give --store, and with --mend also --mill.")
        _aside(store, mill or "", write_aside, mend)
        return
    if not (mill and store and (http or folder or mqtt)):
        raise click.UsageError("Give --mill, --store, and at least one of --http, --folder, --mqtt.")
    from ringwright.live.listening import Doors  # noqa: PLC0415 - the other commands need not wait for the server
    from ringwright.live.mqtt import Broker  # noqa: PLC0415

    broker = None
    if mqtt:
        host, port = _address(mqtt, "--mqtt", 1883)
        user, password = os.environ.get(USER, ""), os.environ.get(PASSWORD, "")
        broker = Broker(host, port, user=user, password=password, authority=authority or "")
        _check(broker_settings)
    doors = Doors(
        http=_address(http, "--http", 8734) if http else None,
        token=os.environ.get(TOKEN, ""),
        folder=Path(folder) if folder else None,
        source=Path(source) if source else None,
        broker=broker,
        move_every_s=60 * every,
    )
    stop = threading.Event()
    for one in (signal.SIGINT, signal.SIGTERM):
        signal.signal(one, lambda *_: stop.set())
    records.listen(store, mill, doors, stop, click.echo)


def _check(settings: str | None) -> None:
    """Check the broker's settings before the start, or say that they were not; either way, what no broker promises."""
    if settings:
        records.check_broker(settings)
    else:
        click.echo("The broker's settings were not checked: name its file with --broker-settings, or check it there.")
    click.echo(records.broker_promise())


def _aside(store: str, mill: str, write: str | None, mend: str | None) -> None:
    """List, write or mend the lines set aside."""
    if mend:
        many, amiss = records.mend_asides(store, mill, mend)
        click.echo(f"{mend}: {many} lines: {many - len(amiss)} taken or known, {len(amiss)} still set aside")
        for line, reason in amiss:
            click.echo(f"  line {line}: {reason}")
        return
    if write:
        many = records.write_asides(store, write)
        told = f"{write} now holds {many} lines to mend; then: ringwright listen --mend {write} ..."
        click.echo(told if many else "No line is set aside; nothing was written.")
        return
    asides = records.live_asides(store)
    for one in asides:
        text = one.raw.decode("utf-8", errors="replace")
        shown = "".join(sign if sign.isprintable() else "?" for sign in text[:200])
        click.echo(f"{one.number:>6}  {one.at}  {one.door}: {one.reason}\n        {shown}")
    if not asides:
        click.echo("No line is set aside.")


def _address(text: str, option: str, port: int) -> tuple[str, int]:
    """Read HOST or HOST:PORT."""
    host, _, number = text.rpartition(":") if ":" in text else (text, "", str(port))
    if not host or not number.isdecimal() or int(number) > 65535:
        raise Refusal(Fault(where=option, got=f'"{text}"', wants=f"HOST:PORT, as localhost:{port}"))
    return host.strip("[]"), int(number)
