"""The command ``ringwright``: one group, one place where refusals become sentences."""

from __future__ import annotations

import sys

import click

from ringwright import __version__
from ringwright.refusal import Refusal

__all__ = ["STOPPED", "main", "ringwright"]


STOPPED = 130
"""Exit status after Ctrl+C, as shells give it (128 and the number of the signal)."""


class _Group(click.Group):
    """A group that tells refusals in plain sentences and loads each command only when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return [*super().list_commands(ctx), *sorted(_COMMANDS)]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in _COMMANDS:
            return super().get_command(ctx, cmd_name)
        from importlib import import_module  # noqa: PLC0415 - the commands are loaded as they are asked for

        return getattr(import_module(f"ringwright.cli.{cmd_name}"), cmd_name)  # type: ignore[no-any-return]

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            click.echo("\nStopped; what was not finished is not kept.", err=True)
            ctx.exit(STOPPED)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and not args[0].startswith("-") and args[0] not in _COMMANDS:
            from ringwright.refusal import nearest  # noqa: PLC0415

            raise click.UsageError(f"{args[0]} is not a command of ringwright. {nearest(args[0], _COMMANDS)}")
        return super().resolve_command(ctx, args)


_COMMANDS = (
    "breaks", "calibrate", "card", "centring", "compare", "cost", "course", "creel", "doff", "drive", "energy",
    "improve", "init", "lesson", "limits", "listen", "plan", "position", "rounds", "separators", "serve", "spindle",
    "spread", "study", "take", "trial", "worklist",
)  # fmt: skip


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="ringwright")
def ringwright() -> None:
    """Set and keep ring frames: positions, doffs, plans and setting cards, computed from a mill on paper."""


def main() -> None:
    """Run the command; a refusal becomes its sentences and exit status 1."""
    try:
        ringwright()
    except Refusal as refusal:
        for fault in refusal.faults:
            click.echo(str(fault), err=True)
        sys.exit(1)
    except BrokenPipeError:  # the reader of our output has gone; nothing is left to say
        sys.stderr.close()
        sys.exit(1)
