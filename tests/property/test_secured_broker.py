"""Debian's mosquitto with the secured settings that come with us: who may connect, and to which topic."""

from __future__ import annotations

import contextlib
import gc
import shutil
import socket
import subprocess
import time
from pathlib import Path
from ssl import CERT_REQUIRED

import orjson
import pytest
from paho.mqtt.client import Client, MQTTv5
from paho.mqtt.enums import CallbackAPIVersion
from tests.property.live_ends import MOSQUITTO, free_port

from ringwright.live.broker import topic_rights, tuned_settings
from ringwright.live.desk import Desk
from ringwright.live.intake import Intake
from ringwright.live.listening import _meet
from ringwright.live.mqtt import Broker, MqttDoor
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal

OPENSSL = shutil.which("openssl")
PATIENCE_S = 20.0

pytestmark = pytest.mark.skipif(MOSQUITTO is None or OPENSSL is None, reason="needs Debian's mosquitto and openssl")


def openssl(folder: Path, words: str) -> None:
    subprocess.run([str(OPENSSL), *words.split()], cwd=folder, check=True, capture_output=True)  # noqa: S603


@pytest.fixture(scope="module")
def broker(tmp_path_factory):
    """Start the broker as the how-to says, with certificates of an authority made for it; gives folder and port."""
    folder, port = tmp_path_factory.mktemp("broker"), free_port()
    new = "req -newkey rsa:2048 -nodes -keyout"
    openssl(folder, f"{new} authority.key -x509 -days 2 -subj /CN=authority -out authority.crt")
    openssl(folder, f"{new} other.key -x509 -days 2 -subj /CN=other -out other.crt")
    openssl(folder, f"{new} broker.key -subj /CN=localhost -out broker.csr")
    (folder / "name").write_text("subjectAltName=DNS:localhost,IP:127.0.0.1\n", encoding="utf-8")
    openssl(folder, "x509 -req -in broker.csr -CA authority.crt -CAkey authority.key -CAcreateserial -days 2 "
            "-extfile name -out broker.crt")  # fmt: skip
    for user in ("ringwright", "hall"):
        make = "" if (folder / "passwords").exists() else "-c "
        words = f"{shutil.which('mosquitto_passwd')} {make}-b {folder}/passwords {user} secret-{user}"
        subprocess.run(words.split(), check=True, capture_output=True)  # noqa: S603
    (folder / "ringwright.acl").write_text(topic_rights(), encoding="utf-8")
    settings = tuned_settings(secured=True).replace("listener 8883", f"listener {port} 127.0.0.1")
    settings = settings.replace("/etc/mosquitto/certs/", f"{folder}/").replace("/etc/mosquitto/", f"{folder}/")
    settings = settings.replace("/var/lib/mosquitto/", f"{folder}/") + "user root\n"
    (folder / "mosquitto.conf").write_text(settings, encoding="utf-8")
    child = subprocess.Popen([str(MOSQUITTO), "-c", str(folder / "mosquitto.conf")], stderr=subprocess.DEVNULL)  # noqa: S603
    wait_for(lambda: listens(port))
    yield folder, port
    child.terminate()
    child.wait()


def listens(port: int) -> bool:
    with contextlib.suppress(OSError), socket.create_connection(("localhost", port), timeout=1):
        return True
    return False


class Gateway:
    """A sender, with what the broker answered to its connection and to each message."""

    def __init__(self, broker: tuple[Path, int], user: str, password: str) -> None:
        folder, port = broker
        self.connected: list[str] = []
        self.published: list[str] = []
        client = Client(CallbackAPIVersion.VERSION2, f"gateway {user}", protocol=MQTTv5)
        client.tls_set(str(folder / "authority.crt"), cert_reqs=CERT_REQUIRED)
        client.username_pw_set(user, password)
        client.on_connect = lambda *told: self.connected.append(str(told[3]))
        client.on_publish = lambda *told: self.published.append(str(told[3]))
        client.connect("localhost", port)
        client.loop_start()
        self.client = client
        wait_for(lambda: bool(self.connected))

    def send(self, topic: str, number: int) -> str:
        """Publish an event; gives the broker's answer."""
        event = {"gateway": "hall", "sequence": number, "machine": "F1", "spindle": number}
        event["time"] = "2026-03-02T06:00:00Z"
        before = len(self.published)
        self.client.publish(topic, orjson.dumps(event), qos=1)
        wait_for(lambda: len(self.published) > before)
        return self.published[-1]

    def leave(self) -> None:
        """Go."""
        self.client.disconnect()
        self.client.loop_stop()


def wait_for(done) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while not done() and time.monotonic() < deadline:
        time.sleep(0.02)
    assert done()


@pytest.fixture
def desk(tmp_path):
    intake = Intake(tmp_path / "store", read_mill(demo_mill_path()))
    made = Desk(intake)
    yield made
    made.close()
    intake.inbox.close()


def ours(broker, password="secret-ringwright", user="ringwright", authority="authority.crt"):  # noqa: S107
    folder, port = broker
    return Broker("localhost", port, user=user, password=password, authority=str(folder / authority))


def test_an_event_comes_through_tls_user_and_rights_and_a_wrong_topic_does_not(broker, desk):
    said: list[str] = []
    door = MqttDoor(ours(broker), desk, said.append)
    time.sleep(0.5)
    gateway = Gateway(broker, "hall", "secret-hall")
    assert gateway.connected == ["Success"]
    assert gateway.send("ringwright/breaks/hall", 1) == "Success"
    assert gateway.send("ringwright/breaks/another", 2) == "Not authorized"
    assert gateway.send("anything", 3) == "Not authorized"
    wait_for(lambda: desk.intake.inbox.counts()["waiting"] > 0)
    time.sleep(0.3)
    assert desk.intake.inbox.counts() == {"waiting": 1, "set_aside": 0}
    assert said == []
    gateway.leave()
    door.close()


def test_a_wrong_password_and_an_unknown_user_are_refused(broker, desk):
    for user, password in (("hall", "wrong"), ("nobody", "secret-hall")):
        gateway = Gateway(broker, user, password)
        assert gateway.connected[0] == "Not authorized"
        gateway.leave()
    said: list[str] = []
    door = MqttDoor(ours(broker, password="wrong"), desk, said.append)  # noqa: S106
    wait_for(lambda: bool(said))
    door.close()
    assert said[0] == "The broker refused us: not authorized. Look at user, password and rights."


@pytest.mark.filterwarnings("ignore::ResourceWarning")  # paho leaves the socket of a refused greeting
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_broker_that_the_authority_does_not_know_is_not_spoken_to(broker, desk):
    with pytest.raises(Refusal, match="certificate verify failed"):
        _meet(ours(broker, authority="other.crt"), desk, print)
    gc.collect()
