"""The door for MQTT 5: events from a broker, acknowledged to it only after the commit."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Any, Final

from paho.mqtt.client import Client, MQTTMessage, MQTTv5
from paho.mqtt.enums import CallbackAPIVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from paho.mqtt.subscribeoptions import SubscribeOptions

from ringwright.live.desk import Desk, reason_of
from ringwright.live.intake import Answer

__all__ = ["Broker", "MqttDoor"]

TOPICS: Final = ("ringwright/breaks/#", "ringwright/running/#")
_DROPPED: Final = "$SYS/broker/publish/messages/dropped"
_FOR_EVER: Final = 0xFFFFFFFF  # seconds; the broker keeps the session while we are away


@dataclass(frozen=True, slots=True)
class Broker:
    """Where the broker is, who we are there, and the file with its certificate's authority ("" without TLS)."""

    host: str
    port: int = 1883
    client_id: str = "ringwright"
    user: str = ""
    password: str = ""
    authority: str = ""


class MqttDoor:
    """A client of a broker; ``say`` hears in a sentence what a person should know."""

    def __init__(self, broker: Broker, desk: Desk, say: Callable[[str], None]) -> None:
        self._desk = desk
        self._say = say
        self._dropped: int | None = None
        self._failed = threading.Event()
        client = Client(CallbackAPIVersion.VERSION2, broker.client_id, protocol=MQTTv5, manual_ack=True)
        if broker.user:
            client.username_pw_set(broker.user, broker.password)
        if broker.authority:
            client.tls_set(broker.authority)
        client.on_connect = self._connected
        client.on_subscribe = self._subscribed
        client.on_message = self._heard
        self._client = client
        lasting = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]
        lasting.SessionExpiryInterval = _FOR_EVER
        client.connect(broker.host, broker.port, clean_start=False, properties=lasting)
        client.loop_start()

    @property
    def failed(self) -> bool:
        """Tell whether a message could not be committed; a new door must be opened to have it sent again."""
        return self._failed.is_set()

    def close(self) -> None:
        """Leave the broker; it keeps what comes until we are back."""
        self._client.disconnect()
        self._client.loop_stop()

    def _connected(self, client: Client, _data: Any, _flags: Any, reason: Any, _properties: Any) -> None:  # noqa: ANN401
        """Subscribe, at the first connection and at every later one."""
        if reason.is_failure:
            self._say(f"The broker refused us: {str(reason).lower()}. Look at user, password and rights.")
            return
        ours = [(topic, SubscribeOptions(qos=1)) for topic in TOPICS]
        client.subscribe([*ours, (_DROPPED, SubscribeOptions(qos=0))])

    def _subscribed(self, _client: Client, _data: Any, _mid: int, reasons: list[Any], _properties: Any) -> None:  # noqa: ANN401
        """Tell which of our topics the broker will not give us."""
        refused = [topic for topic, reason in zip(TOPICS, reasons, strict=False) if reason.is_failure]
        if refused:
            self._say(f"The broker gives us no right to read {' and '.join(refused)}; look at its topic rights.")

    def _heard(self, client: Client, _data: Any, message: MQTTMessage) -> None:  # noqa: ANN401
        """Bring a message to the desk; acknowledge it when it is committed."""
        if message.topic == _DROPPED:
            self._count_dropped(bytes(message.payload))
            return

        def settle(answer: Future[Answer]) -> None:
            error = answer.exception()
            if error is None:
                client.ack(message.mid, message.qos)
            else:
                # Not acknowledged: the broker sends it again when we connect anew.
                self._failed.set()
                self._say(f"Not committed, and not acknowledged: {reason_of(error)}")

        self._desk.bring("mqtt", bytes(message.payload)).add_done_callback(settle)

    def _count_dropped(self, payload: bytes) -> None:
        """Tell when the broker says that it dropped messages."""
        if not payload.isdigit():
            return
        count = int(payload)
        if self._dropped is not None and count > self._dropped:
            self._say(f"The broker dropped {count - self._dropped} messages; look at its settings and at the gaps.")
        self._dropped = count
