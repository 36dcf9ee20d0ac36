"""The commands: what can be typed, and how errors are shown.

Takes the command line; gives text on standard output, messages on standard error and an exit
status: 0, or 2 where something has to be put right first. What can be typed is a table,
``cli.yaml``. The work is in ``commands/``, which is imported only by the command that runs.
"""

import gc
import io
import os
import re
import sys
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any

import click
import yaml

from fallwork.errors import VALUES, FallworkError

_TYPES: "Mapping[str, click.ParamType[Any]]" = {  # older versions take no type
    "path": click.Path(path_type=Path),
    "edition": click.Choice(["student", "staff"]),
    "day": click.DateTime(["%Y-%m-%d"]),
    "port": click.IntRange(1, 65535),
    "count": click.IntRange(1, 1000),
    "seed": click.IntRange(0),
    "rate": click.FloatRange(5, 2000),
    "start": click.Choice(["level-track", "two-weights", "both"]),
}
# Of the many objects of a build most live on: at Python's own pace a twelfth of the time goes into
# looking which of them nobody holds any more.
_SELDOM = (10_000, 50, 100)
_PLACED = re.compile(r"(?m)^\S+\.(?:yaml|csv|md|yml)(?::\d+:\d+)?:( note:)?")
_HELP = {"help_option_names": ["-h", "--help"]}


class _Commands(click.Group):
    """Shows the project's own errors as messages, never as a traceback."""

    def invoke(self, ctx: click.Context) -> None:
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):  # one for a file or a terminal in Latin-1
                stream.reconfigure(errors="replace")
        try:
            super().invoke(ctx)
        except FallworkError as error:
            click.echo(_marked(str(error)), err=True)
            ctx.exit(2)
        except OSError as error:
            if error.filename is None:
                raise
            click.echo(f"{error.filename}: {error.strerror}", err=True)
            ctx.exit(2)


class _Command(click.Command):
    """Takes the unit after ``--set cart.mass=507 g``, a word of its own, as part of the number."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        joined: list[str] = []
        for at, word in enumerate(args):
            number = args[at - 1] if at > 1 and args[at - 2] == "--set" else ""
            if number[-1:].isdigit() and _is_unit(word):
                joined[-1] = f"{number} {word}"
            else:
                joined.append(word)
        return super().parse_args(ctx, joined)

    def invoke(self, ctx: click.Context) -> None:
        for word in ctx.params.get("value", ()):
            if word.startswith("--"):
                raise click.NoSuchOption(word, ctx=ctx)
        for line in super().invoke(ctx):
            click.echo(_marked(line))


def _marked(text: str) -> str:
    """With places and notes in colour, which is taken off where there is no terminal."""

    def coloured(found: re.Match[str]) -> str:
        return click.style(found[0], "yellow" if found[1] else "red", bold=True)

    return text if os.environ.get("NO_COLOR") else _PLACED.sub(coloured, text)


def _is_unit(word: str) -> bool:
    from fallwork.scenario.quantity import kinds_of_unit

    return bool(kinds_of_unit(word))


def _made(name: str, entry: Mapping[str, Any]) -> click.Command:
    """The command of an entry of the table."""
    arguments, options = entry.get("arguments", {}), entry.get("options", {})
    module, _, function = entry["work"].partition(".")

    def work(**typed: Any) -> Any:
        gc.set_threshold(*_SELDOM)
        import_module("fallwork.once").keep_answers()
        return getattr(import_module(f"fallwork.commands.{module}"), function)(**typed)

    def typed(given: Mapping[str, Any]) -> dict[str, Any]:
        asks = sys.stdin is not None and sys.stdin.isatty()
        given = {key: each for key, each in given.items() if asks or key != "prompt"}
        return {**given, "type": _TYPES[given["type"]]} if "type" in given else given

    return _Command(
        name,
        help=entry["help"],
        callback=work,
        params=[
            *(click.Argument([each], **typed(more)) for each, more in arguments.items()),
            *(click.Option(each.split(), **typed(more)) for each, more in options.items()),
        ],
        context_settings={"ignore_unknown_options": "values" in entry},
    )


_TABLE = yaml.load(Path(__file__).with_name("cli.yaml").read_text("utf-8"), Loader=VALUES)
main = _Commands(
    "main",
    help=_TABLE["help"],
    context_settings=_HELP,
    commands=[_made(name, entry) for name, entry in _TABLE["commands"].items()],
)
main = click.version_option(package_name="fallwork", message="%(version)s")(main)
