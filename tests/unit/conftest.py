"""What tests of the commands share: the program run as a person runs it."""

from __future__ import annotations

import sys
from collections.abc import Callable

import pytest

from ringwright.cli.main import main


@pytest.fixture
def run(monkeypatch, capsys) -> Callable[..., tuple[int, str, str]]:
    """Run the program with these words; give its exit status, what it prints, and what it says of errors."""

    def ran(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["ringwright", *words])
        status = 0
        try:
            main()
        except SystemExit as done:
            status = int(done.code or 0)
        printed = capsys.readouterr()
        assert "Traceback" not in printed.out + printed.err
        return status, printed.out, printed.err

    return ran
