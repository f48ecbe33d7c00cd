"""Hold the doors open until told to stop, and move what came into the month's Parquet files now and then."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from ringwright.events.source import read_source
from ringwright.live.desk import Desk
from ringwright.live.folder import empty_folder
from ringwright.live.http import http_door
from ringwright.live.intake import Intake
from ringwright.live.mqtt import Broker, MqttDoor
from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal
from ringwright.store import open_store, take_file

__all__ = ["Doors", "listen"]

_LOOPBACK = {"127.0.0.1", "::1", "localhost"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Doors:
    """Which doors are open: address and port for HTTP, a folder (with a source for CSV files), a broker."""

    http: tuple[str, int] | None = None
    token: str = ""
    folder: Path | None = None
    source: Path | None = None
    broker: Broker | None = None
    move_every_s: float = 600.0
    look_every_s: float = 1.0


def listen(store: Path, mill: Mill, doors: Doors, stop: threading.Event, say: Callable[[str], None]) -> None:
    """Serve the doors until ``stop`` is set; ``say`` hears what a person should know. Refusal if a door cannot open."""
    if doors.http and doors.http[0] not in _LOOPBACK and not doors.token:
        mend = "Set the variable RINGWRIGHT_TOKEN, and send it as Authorization: Bearer TOKEN."
        wants = "with a token where other computers can reach it"
        raise Refusal(Fault(where="the door for HTTP", got="without a token", wants=wants, mend=mend))
    intake = Intake(store, mill)
    desk = Desk(intake)
    server = _serve(doors, desk, say) if doors.http else None
    door = _meet(doors.broker, desk, say) if doors.broker else None
    moved = time.monotonic()
    try:
        while not stop.is_set():
            _look(doors, desk, store, mill, say)
            if door is not None and door.failed:
                door.close()
                door = _meet(doors.broker, desk, say) if doors.broker else None
            if time.monotonic() - moved >= doors.move_every_s:
                _move(intake, say)
                moved = time.monotonic()
            stop.wait(doors.look_every_s)
    finally:
        if door is not None:
            door.close()
        if server is not None:
            server.should_exit = True
        desk.close()
        _move(intake, say)
        intake.inbox.close()


def _serve(doors: Doors, desk: Desk, say: Callable[[str], None]) -> uvicorn.Server:
    """Open the door for HTTP."""
    host, port = doors.http or ("", 0)
    try:
        held = socket.create_server((host, port))
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        wants = "an address of this computer, with a free port"
        raise Refusal(Fault(where=f"{host}:{port}", got=f"not to be had ({reason})", wants=wants)) from None
    say(f"HTTP: POST to {host}:{held.getsockname()[1]}/breaks")
    server = uvicorn.Server(uvicorn.Config(http_door(desk, doors.token), log_level="warning", server_header=False))
    threading.Thread(target=server.run, kwargs={"sockets": [held]}, name="http", daemon=True).start()
    return server


def _meet(broker: Broker | None, desk: Desk, say: Callable[[str], None]) -> MqttDoor:
    """Connect to the broker."""
    held = broker or Broker("localhost")
    try:
        return MqttDoor(held, desk, say)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        where = f"the broker {held.host}:{held.port}"
        wants = "a broker that runs and is who it says"
        raise Refusal(Fault(where=where, got=f"not to be reached ({reason})", wants=wants)) from None


def _look(doors: Doors, desk: Desk, store: Path, mill: Mill, say: Callable[[str], None]) -> None:
    """Empty the folder, if there is one; what cannot be taken is said and stays."""
    if doors.folder is None:
        return

    def take_csv(file: Path) -> None:
        with open_store(store, new=True) as opened:
            take = take_file(file, read_source(str(doors.source)), mill, opened)
        say(f"{file.name}: {take.in_words}")

    try:
        empty_folder(doors.folder, desk, take_csv if doors.source else None)
    except (Refusal, OSError) as error:
        say(f"The folder could not be emptied: {error}")


def _move(intake: Intake, say: Callable[[str], None]) -> None:
    """Move what waits into the Parquet files; if that cannot be, it stays where it is safe."""
    try:
        takes = intake.move()
    except Refusal as refusal:
        say(f"The events stay in the inbox: {refusal}")
        return
    for take in takes:
        say(f"Moved{'' if take.holds == 'breaks' else ' of running time'}: {take.in_words}")
