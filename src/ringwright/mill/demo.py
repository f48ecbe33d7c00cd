"""The demonstration mill, Alder Vale Spinning: imaginary, and in the package."""

from __future__ import annotations

from pathlib import Path

__all__ = ["demo_mill_path"]


def demo_mill_path() -> Path:
    """Give the folder of the demonstration mill's TOML files."""
    return Path(__file__).parent / "alder_vale"
