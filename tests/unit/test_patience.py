"""A connection that is slow to ask, and one too many of an address, are closed by the server itself."""

from __future__ import annotations

import socket
import threading
import time

import pytest
import uvicorn

from ringwright.web import guard, patience
from ringwright.web.patience import Patient
from ringwright.web.server import make_app

MOST = 4


@pytest.fixture(scope="module")
def port():
    app = make_app("demo")
    app.router.lifespan_context = lambda _: _Still()  # no workers: nothing is worked out here
    with pytest.MonkeyPatch.context() as patch, socket.socket() as listening:
        patch.setattr(patience, "HEAD_WAIT_S", 0.6)
        patch.setattr(patience, "PEER_MOST", MOST)
        patch.setattr(guard, "BODY_WAIT_S", 0.6)
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        server = uvicorn.Server(uvicorn.Config(app, http=Patient, log_level="critical"))
        running = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        running.start()
        yield listening.getsockname()[1]
        server.should_exit = True
        running.join(10)


class _Still:
    async def __aenter__(self):
        return None

    async def __aexit__(self, *_):
        return None


def way_to(port):
    return socket.create_connection(("127.0.0.1", port), timeout=10)


def heard(way):
    """What comes until the server closes."""
    found = b""
    while more := way.recv(65536):
        found += more
    return found


HEAD = "{} HTTP/1.1\r\nHost: localhost:{}\r\nOrigin: http://localhost:{}\r\n"


@pytest.mark.parametrize("said", [b"", b"GET /ali", b"GET /alive HTTP/1.1\r\nHost: loc"])
def test_a_question_that_does_not_come_to_its_end_is_closed(port, said):
    with way_to(port) as way:
        way.sendall(said)
        began = time.monotonic()
        assert heard(way) == b""
        assert time.monotonic() - began < 5.0


def test_a_second_question_on_the_same_connection_must_come_to_its_end_too(port):
    with way_to(port) as way:
        way.sendall(HEAD.format("GET /alive", port, port).encode() + b"\r\n")
        assert way.recv(65536).startswith(b"HTTP/1.1 200")
        time.sleep(0.05)
        way.sendall(b"GET /ali")
        heard(way)


def test_a_body_that_does_not_come_to_its_end_is_told(port):
    with way_to(port) as way:
        way.sendall(HEAD.format("POST /mill/yarn/AV30K", port, port).encode() + b"Content-Length: 100\r\n\r\nab")
        assert heard(way).startswith(b"HTTP/1.1 408")


def test_one_address_may_not_hold_every_connection(port):
    ways = [way_to(port) for _ in range(MOST)]
    try:
        assert not is_answered(port)
    finally:
        for way in ways:
            way.close()
    until = time.monotonic() + 5.0
    while not is_answered(port):
        assert time.monotonic() < until, "the address is shut out although its connections are closed"


def is_answered(port):
    """Whether a further connection is answered, and not closed at once."""
    with way_to(port) as way:
        try:
            way.sendall(HEAD.format("GET /alive", port, port).encode() + b"\r\n")
            return way.recv(100).startswith(b"HTTP/1.1 200")
        except ConnectionError:
            return False
