"""Run ``python -m ringwright``."""

from ringwright.cli.main import main

main()
