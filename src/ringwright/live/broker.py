"""What the MQTT broker must be set to, so that it does not drop what it has acknowledged."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from ringwright.refusal import Fault

__all__ = ["PROMISE", "broker_faults", "topic_rights", "tuned_settings"]

PROMISE: Final = (
    "A broker's acknowledgement is no promise: it may lose the last second if it is killed. "
    "Number the events of each gateway and keep them there until a gap can no longer appear."
)

# Key, whether a value will do, what the broker does without it.
_WANTED: Final = {
    "persistence": ("true", "a broker that stops forgets everything that waits"),
    "autosave_interval": ("1", "a broker that is killed loses up to half an hour of messages"),
    "max_queued_messages": ("0", "while Ringwright is away, messages over 1000 are dropped without a word"),
    "max_queued_bytes": ("0", "while Ringwright is away, messages over the limit are dropped without a word"),
    "max_inflight_messages": ("0", "delivery waits for each score of messages to be committed"),
}
_DEFAULTS: Final = {"persistence": "false", "autosave_interval": "1800", "max_queued_messages": "1000",
                    "max_queued_bytes": "0", "max_inflight_messages": "20"}  # fmt: skip


def tuned_settings(*, secured: bool = False) -> str:
    """Give the text of the settings that come with Ringwright; ``secured`` asks for TLS, users and topic rights."""
    name = "mosquitto-secured.conf" if secured else "mosquitto.conf"
    return (Path(__file__).parent / name).read_text(encoding="utf-8")


def topic_rights() -> str:
    """Give the text of the topic rights that go with the secured settings."""
    return (Path(__file__).parent / "mosquitto-rights.acl").read_text(encoding="utf-8")


def broker_faults(text: str, where: str) -> list[Fault]:
    """Hold a mosquitto.conf against what live intake needs; a fault for each setting that would lose messages."""
    held = dict(_DEFAULTS)
    for line in text.splitlines():
        words = line.split("#", 1)[0].split()
        if len(words) >= 2 and words[0] in held:
            held[words[0]] = words[1]
    faults = []
    for key, (wanted, otherwise) in _WANTED.items():
        if held[key] != wanted:
            mend = f"Otherwise {otherwise}."
            faults.append(Fault(where=f"{where}, {key}", got=held[key], wants=wanted, mend=mend))
    return faults
