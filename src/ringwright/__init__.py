"""Ringwright: a workbench for the person who sets and keeps ring frames."""

__version__ = "0.1.0"
