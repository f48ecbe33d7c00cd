"""An encrypted way to the pages: with a certificate and its key, told and refused in sentences."""

from __future__ import annotations

import os
import re
import ssl
import subprocess
import sys
import urllib.request

import pytest
from click.testing import CliRunner

from ringwright.cli.main import ringwright


def made(folder, name):
    """Make a certificate for localhost with its key, signed by itself."""
    certificate, key = folder / f"{name}.pem", folder / f"{name}.key"
    words = (
        "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2 -subj /CN=localhost "
        "-addext subjectAltName=DNS:localhost"
    )
    subprocess.run(  # noqa: S603 - its words are ours
        ["openssl", *words.split(), "-out", str(certificate), "-keyout", str(key)],  # noqa: S607
        check=True,
        capture_output=True,
    )
    return certificate, key


def test_pages_come_over_an_encrypted_way_and_not_over_an_open_one(tmp_path):
    certificate, key = made(tmp_path, "one")
    words = [sys.executable, "-m", "ringwright", "serve", "--port", "0", "--certificate", certificate, "--key", key]
    server = subprocess.Popen(  # noqa: S603 - it is our own server
        [str(word) for word in words], stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONUNBUFFERED": "1"}
    )
    try:
        assert server.stdout is not None
        at = re.search(r"https://localhost:\d+/", server.stdout.readline())
        assert at
        trusting = ssl.create_default_context(cafile=str(certificate))
        with urllib.request.urlopen(f"{at[0]}alive", context=trusting, timeout=20) as reply:  # noqa: S310 - our own
            assert b"true" in reply.read()
        with pytest.raises(OSError, match=r"."):
            urllib.request.urlopen(at[0].replace("https", "http") + "alive", timeout=5)  # noqa: S310 - our own
    finally:
        server.terminate()
        server.communicate(timeout=15)


@pytest.mark.parametrize("case", ["no key", "no certificate", "not there", "not a pair", "no certificate in it"])
def test_what_cannot_encrypt_is_refused_with_a_mend(tmp_path, case):
    certificate, key = made(tmp_path, "one")
    _, other = made(tmp_path, "other")
    given = {
        "no key": ["--certificate", certificate],
        "no certificate": ["--key", key],
        "not there": ["--certificate", tmp_path / "none.pem", "--key", key],
        "not a pair": ["--certificate", certificate, "--key", other],
        "no certificate in it": ["--certificate", key, "--key", key],
    }[case]
    done = CliRunner().invoke(ringwright, ["serve", "--port", "0", *map(str, given)])
    assert done.exit_code == 1
    assert "Give both --certificate and --key, as PEM files of one pair" in str(done.exception)
