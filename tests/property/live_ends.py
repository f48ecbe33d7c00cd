"""Kill the listener at random moments while events come by HTTP or MQTT, and count what is in the store afterwards."""

from __future__ import annotations

import contextlib
import http.client
import random
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import orjson
import pyarrow.parquet as pq
from paho.mqtt.client import Client, MQTTv5
from paho.mqtt.enums import CallbackAPIVersion

from ringwright.live.broker import tuned_settings
from ringwright.live.inbox import Inbox
from ringwright.live.intake import Intake
from ringwright.mill import demo_mill_path, read_mill
from ringwright.store import open_store

BATCH = 40
PATIENCE_S = 120.0
MOSQUITTO = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin")


@dataclass(frozen=True)
class Count:
    """Kills, events sent, events in the store, different ones among them, and gaps that were seen in the end."""

    kills: int
    sent: int
    held: int
    different: int
    gaps: int


def events(first: int, last: int) -> list[bytes]:
    """Events of one gateway, numbered."""
    made = []
    for number in range(first, last):
        second = number % 86400
        when = f"2026-03-{1 + number // 86400:02d}T{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}Z"
        held = {"gateway": "hall", "sequence": number, "machine": "F1", "spindle": 1 + number % 1008, "time": when}
        made.append(orjson.dumps(held))
    return made


def free_port() -> int:
    """A port that is free now."""
    with socket.create_server(("127.0.0.1", 0)) as held:
        return int(held.getsockname()[1])


class Listener:
    """A listening child that is started again whenever it was killed."""

    def __init__(self, store: Path, *words: str) -> None:
        self._words = ["-m", "ringwright", "listen", "--mill", "demo", "--store", str(store), "--every", "0.02", *words]
        self.kills = 0
        self.start()

    def start(self) -> None:
        """Start it."""
        self.child = subprocess.Popen([sys.executable, *self._words], stdout=subprocess.DEVNULL)  # noqa: S603

    def kill(self) -> None:
        """End it suddenly and start it again."""
        self.child.send_signal(signal.SIGKILL)
        self.child.wait()
        self.kills += 1
        self.start()

    def end(self) -> None:
        """Let it end in peace."""
        self.child.terminate()
        self.child.wait(PATIENCE_S)


def count(store: Path, kills: int, sent: int) -> Count:
    """Move what still waits, and count what is in the store."""
    intake = Intake(store, read_mill(demo_mill_path()))
    intake.move()
    intake.inbox.close()
    with open_store(store) as opened, opened.ledger.change():
        opened.settle()
        tables = [pq.ParquetFile(path).read(["source_id"]) for path in opened.paths("breaks", "alder-vale-spinning")]
    ids = [one for table in tables for one in table["source_id"].to_pylist()]
    inbox = Inbox(store)
    gaps = len(inbox.gaps())
    inbox.close()
    return Count(kills, sent, len(ids), len(set(ids)), gaps)


def by_http(folder: Path, kills: int, chance: random.Random) -> Count:
    """Send batches one after another, each again until it is answered, while the listener is killed."""
    port, store, sent = free_port(), folder / "store", 0
    listener = Listener(store, "--http", f"127.0.0.1:{port}")
    due = time.monotonic() + 3
    while listener.kills < kills or sent < 10 * BATCH:
        _send(port, b"\n".join(events(sent, sent + BATCH)))
        sent += BATCH
        if time.monotonic() >= due and listener.kills < kills:
            listener.kill()
            due = time.monotonic() + chance.uniform(1.5, 4)
    listener.end()
    return count(store, listener.kills, sent)


def _send(port: int, batch: bytes) -> None:
    """Send a batch until it is answered."""
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        try:
            with contextlib.closing(http.client.HTTPConnection("127.0.0.1", port, timeout=10)) as way:
                way.request("POST", "/breaks", batch)
                if way.getresponse().status == 200:
                    return
        except (OSError, http.client.HTTPException):
            time.sleep(0.05)
    raise TimeoutError


@contextlib.contextmanager
def broker(folder: Path, port: int) -> Iterator[None]:
    """Debian's mosquitto with the settings that come with us, but for its port and its folder."""
    settings = tuned_settings().replace("listener 1883", f"listener {port}")
    settings = settings.replace("/var/lib/mosquitto/", f"{folder}/") + "user root\n"
    (folder / "mosquitto.conf").write_text(settings, encoding="utf-8")
    child = subprocess.Popen([str(MOSQUITTO), "-c", str(folder / "mosquitto.conf")], stderr=subprocess.DEVNULL)  # noqa: S603
    try:
        yield
    finally:
        child.terminate()
        child.wait()


def by_mqtt(folder: Path, kills: int, chance: random.Random, rate: float = 500.0) -> Count:
    """Publish events one by one at a steady rate, while the listener is killed; then wait until it has them all."""
    port, store = free_port(), folder / "store"
    with broker(folder, port):
        time.sleep(1)
        listener = Listener(store, "--mqtt", f"127.0.0.1:{port}")
        time.sleep(3)  # the first connection makes the session that the broker keeps
        sender = Client(CallbackAPIVersion.VERSION2, "gateway", protocol=MQTTv5)
        sender.max_inflight_messages_set(0)
        sender.connect("127.0.0.1", port)
        sender.loop_start()
        sent, due, last = 0, time.monotonic() + 1.0, None
        while listener.kills < kills or sent < 1000:
            for message in events(sent, sent + 50):
                last = sender.publish("ringwright/breaks/hall", message, qos=1)
            sent += 50
            time.sleep(50 / rate)
            if time.monotonic() >= due and listener.kills < kills:
                listener.kill()
                due = time.monotonic() + chance.uniform(1.5, 4)
        assert last
        last.wait_for_publish(PATIENCE_S)
        _await(store, sent)
        sender.loop_stop()
        listener.end()
    return count(store, listener.kills, sent)


def _await(store: Path, sent: int) -> None:
    """Wait until every sequence number was heard."""
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        inbox = Inbox(store)
        spans = inbox._connection.execute("SELECT first, last FROM span").fetchall()
        inbox.close()
        if spans == [(0, sent - 1)]:
            return
        time.sleep(0.3)
