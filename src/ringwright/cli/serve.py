"""``ringwright serve``: the workbench as pages in the browser."""

from __future__ import annotations

import contextlib
import os
import socket
import ssl
import sys
import threading
import webbrowser
from collections.abc import Sequence
from pathlib import Path
from urllib.parse import urlunsplit

import click

from ringwright.refusal import Fault, Refusal
from ringwright.verbs import app

__all__ = ["serve"]

LOOPBACK = {"127.0.0.1", "localhost", "::1"}
PASSWORD = "RINGWRIGHT_PASSWORD"  # noqa: S105 - the name of the variable, not a password


@click.command()
@click.argument("mill", default=app.DEMO)
@click.option("--host", default="127.0.0.1", show_default=True, help="Answer at this address; others need a password.")
@click.option("--port", default=8733, show_default=True, type=click.IntRange(0, 65535), help="Answer at this port.")
@click.option("--name", "names", multiple=True, help="Answer to this host name too, as a colleague would type it.")
@click.option(
    "--store",
    "--records",
    "store",
    default="",
    help="Make work lists and studies from this store of records, and keep rounds of readings and ticks in it.",
)
@click.option(
    "--other-mill", "others", multiple=True, help="Let pages compare with the mill in this folder; may be repeated."
)
@click.option("--certificate", default="", help="Encrypt the way with this certificate (PEM, with its chain).")
@click.option("--key", default="", help="The private key (PEM) of the certificate.")
@click.option("--open", "open_page", is_flag=True, help="Open the page in the browser.")
def serve(
    mill: str, host: str, port: int, names: tuple[str, ...], *, store: str, others: tuple[str, ...], certificate: str,
    key: str, open_page: bool,
) -> None:  # fmt: skip
    """Serve the workbench of MILL (a folder, a file, or the word demo) as pages in the browser.

    By default only this computer can reach them. Any other address asks everyone for a password, which is read from
    the variable RINGWRIGHT_PASSWORD or asked for at the start. With a certificate and its key the way is encrypted.
    """
    # The solver's arrays are small: more threads of the algebra library would only stand in each other's way.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    import uvicorn  # noqa: PLC0415 - the other commands need not wait for the server

    from ringwright.web.password import Lock  # noqa: PLC0415
    from ringwright.web.patience import Patient  # noqa: PLC0415
    from ringwright.web.server import make_app  # noqa: PLC0415

    if mill != app.DEMO:
        app.open_mill(mill)  # so that a wrong file is told here, before a page is opened
    beside, encrypted = _by_name(others), _certified(certificate, key)
    lock = None if host in LOOPBACK else Lock(_password(host))
    listening = _listen(host, port)
    shown = listening.getsockname()[1]
    at = urlunsplit(
        ("https" if encrypted else "http", f"{'localhost' if host in LOOPBACK else host}:{shown}", "/", "", "")
    )
    click.echo(f"The workbench is at {at} (stop it with Ctrl+C).")
    if lock is not None:
        way = "is encrypted" if encrypted else "is not encrypted; --certificate and --key would encrypt it"
        click.echo(f"It answers beyond this computer: everyone must give the password. The way {way}.")
    if open_page:
        threading.Timer(0.8, webbrowser.open, (at,)).start()
    hosts = LOOPBACK | {host, *names} | (_own_names() if lock is not None else set())
    config = uvicorn.Config(
        make_app(mill, hosts=hosts, lock=lock, store=store, others=beside),
        log_level="warning",
        ws="none",
        http=Patient,
        proxy_headers=False,  # a client may write any address of its own there, past the count of wrong passwords
        server_header=False,
        date_header=False,
        timeout_graceful_shutdown=2,
        ssl_certfile=certificate or None,
        ssl_keyfile=key or None,
    )
    uvicorn.Server(config).run(sockets=[listening])


def _by_name(folders: Sequence[str]) -> dict[str, str]:
    """Give the other mills by the names of their folders; Refusal for one that cannot be read, or two of a name."""
    found: dict[str, str] = {}
    for folder in folders:
        app.open_mill(folder)
        name = Path(folder).resolve().name if folder != app.DEMO else app.DEMO
        if name in found:
            mend = "Rename one of the folders."
            raise Refusal(Fault(where="--other-mill", got=f'given twice as "{name}"', wants="told apart", mend=mend))
        found[name] = folder
    return found


def _certified(certificate: str, key: str) -> bool:
    """Say whether the way is to be encrypted; Refusal where certificate and key cannot be used together."""
    if not certificate and not key:
        return False
    mend = "Give both --certificate and --key, as PEM files of one pair; the key without a password."
    if not certificate or not key:
        missing = "--key" if certificate else "--certificate"
        raise Refusal(Fault(where=missing, got="not given", wants="given with its counterpart", mend=mend))
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, password=_no_password)
    except OSError as error:  # an SSLError too: no such file, no certificate, or not a pair
        reason = (error.strerror or "not usable").lower() if not isinstance(error, ssl.SSLError) else "not usable"
        where, wants = f"{certificate} with {key}", "a certificate and its own key"
        raise Refusal(Fault(where=where, got=reason, wants=wants, mend=mend)) from None
    return True


def _no_password() -> str:
    return ""


def _listen(host: str, port: int) -> socket.socket:
    """Take the port, or say in a sentence why not."""
    kind = socket.AF_INET6 if ":" in host else socket.AF_INET
    # With its protocol named, asyncio turns off Nagle's algorithm, which would hold small answers back by 40 ms.
    made = socket.socket(kind, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if sys.platform != "win32":
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
    except OSError as error:
        made.close()
        reason = (error.strerror or "not to be had").lower()
        mend = "Choose another with --port, or stop what holds it."
        wants = "a free address of this computer"
        raise Refusal(Fault(where=f"{host}, port {port}", got=f"not free ({reason})", wants=wants, mend=mend)) from None
    made.listen(128)
    return made


def _password(host: str) -> str:
    """Read the password that an open address needs."""
    from ringwright.web.password import LEAST, MOST  # noqa: PLC0415

    word = os.environ.pop(PASSWORD, "")
    if not word and sys.stdin.isatty():
        word = click.prompt(f"Password for everyone who opens {host}", hide_input=True, confirmation_prompt=True)
    if not LEAST <= len(word) <= MOST:
        got = f"kept by a password of {len(word)} letters" if word else "open without a password"
        wants = f"kept by one of at least {LEAST} and at most {MOST}"
        mend = f"Set {PASSWORD}, or leave --host out so that only this computer can reach the pages."
        raise Refusal(Fault(where=f"the address {host}", got=got, wants=wants, mend=mend))
    return word


def _own_names() -> set[str]:
    """Give the names and addresses of this computer, which a browser may ask for."""
    name = socket.gethostname()
    found = {name, socket.getfqdn()}
    with contextlib.suppress(OSError):
        found |= {str(entry[4][0]) for entry in socket.getaddrinfo(name, None)}
    return found
