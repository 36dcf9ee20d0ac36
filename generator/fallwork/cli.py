"""The commands: what can be typed, and how errors are shown.

Takes the command line; gives text on standard output, messages on standard error and an exit
status: 0, or 2 where something has to be put right first. The work is in ``commands/``, which is
imported only by the command that runs.
"""

import io
import sys
from pathlib import Path

import click

from fallwork.errors import FallworkError


class _Commands(click.Group):
    """Shows the project's own errors as messages, never as a traceback."""

    def invoke(self, ctx: click.Context) -> None:
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):  # one for a file or a terminal in Latin-1
                stream.reconfigure(errors="replace")
        try:
            super().invoke(ctx)
        except FallworkError as error:
            click.echo(error, err=True)
            ctx.exit(2)
        except OSError as error:
            if error.filename is None:
                raise
            click.echo(f"{error.filename}: {error.strerror}", err=True)
            ctx.exit(2)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
def main() -> None:
    """Prelabs, worked examples and answer keys for mechanics labs, from one folder of YAML files.

    The course is read from the folder site-data in the current folder.
    """


@main.command()
@click.argument("paths", nargs=-1, metavar="[PATH]...", type=click.Path(path_type=Path))
def check(paths: tuple[Path, ...]) -> None:
    """Read courses or single scenario files and say everything that is wrong with them.

    PATH is a course folder or a scenario file; without any, the course in the current folder.
    """
    from fallwork.commands.check import check_path
    from fallwork.commands.sources import course_folder

    problems = []
    for path in paths or (course_folder(),):
        try:
            for line in check_path(path):
                click.echo(line)
        except FallworkError as error:
            problems.append(str(error))
    if problems:
        click.echo("\n".join(problems), err=True)
        raise SystemExit(2)


class _WithNumbers(click.Command):
    """Takes the unit after ``--set cart.mass=507 g``, a word of its own, as part of the number."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        from fallwork.scenario.units import kinds_of_unit

        joined: list[str] = []
        for at, word in enumerate(args):
            number = args[at - 1] if at > 1 and args[at - 2] == "--set" else ""
            if number[-1:].isdigit() and kinds_of_unit(word):
                joined[-1] = f"{number} {word}"
            else:
                joined.append(word)
        return super().parse_args(ctx, joined)


_term = click.option(
    "--term", metavar="TERM", help="Use the numbers of this term, e.g. 2027-spring."
)
_json = click.option(
    "--json", "as_json", is_flag=True, help="Give everything, unrounded, in SI units."
)
_numbers = click.option(
    "--set",
    "numbers",
    multiple=True,
    metavar="KEY=VALUE",
    help="Use another number, e.g. cart.mass=507.3g; can be repeated.",
)


@main.command(cls=_WithNumbers)
@click.argument("scenario")
@_term
@_numbers
@click.option(
    "--given",
    multiple=True,
    metavar="QUANTITY=VALUE",
    help="A value that a student has found, e.g. 'tension=0.78 N': adds what follows from it.",
)
@_json
def key(
    scenario: str,
    term: str | None,
    numbers: tuple[str, ...],
    given: tuple[str, ...],
    as_json: bool,
) -> None:
    """Print the answer key of SCENARIO: every computed quantity.

    SCENARIO is a scenario file or the id of one; with --term, also the id of a lab. Up to ten
    objects, with strings, surfaces and the Earth, it covers every choice of system; of more, the
    scenario's own choices, each object, each pair that does work, and larger groups.
    """
    from fallwork.commands.key import answer_key

    click.echo(answer_key(scenario, term=term, numbers=numbers, given=given, as_json=as_json))


@main.command(
    cls=_WithNumbers, context_settings={"ignore_unknown_options": True}
)  # a value may begin with a minus
@click.argument("value", nargs=-1, required=True)
@click.option("--of", metavar="QUANTITY", help="What it is meant to be, e.g. tension or T.")
@click.option("--lab", metavar="LAB", help="The id of the lab; without it, every lab that is on.")
@click.option("--term", metavar="TERM", help="The id of the term; without it, what is on now.")
@_numbers
def trace(
    value: tuple[str, ...],
    of: str | None,
    lab: str | None,
    term: str | None,
    numbers: tuple[str, ...],
) -> None:
    """Say whether VALUE is right, or which slip gives it and which step puts it right.

    VALUE is a number, perhaps with its unit: 0.89, or 0.89 N. With --set, for a bench whose masses
    are not those of the lab.
    """
    from fallwork.commands.trace import traced

    for word in value:
        if word.startswith("--"):
            raise click.NoSuchOption(word)
    for line in traced(" ".join(value), of=of, lab=lab, term=term, numbers=numbers):
        click.echo(line)


_edition = click.option(
    "--edition",
    type=click.Choice(["student", "staff"]),
    default="student",
    show_default=True,
    help="Whom the site is for.",
)
_as_of = click.option(
    "--as-of",
    "moment",
    metavar="TIME",
    help="Build as of this time, e.g. 2027-02-15T08:00 in the course's time zone; without it, now.",
)


@main.command()
@_edition
@_as_of
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Where the site will stand; without it, in the site_dir of mkdocs.yml, and the staff "
    "edition in a folder beside it.",
)
def publish(edition: str, moment: str | None, target: Path | None) -> None:
    """Build the site and put it in place, all of it or nothing."""
    from fallwork.commands.publish import publish_site

    for line in publish_site(edition=edition, moment=moment, target=target):
        click.echo(line)


@main.command()
@_edition
@_as_of
@click.option(
    "--port",
    type=click.IntRange(1, 65535),
    default=8000,
    show_default=True,
    metavar="N",
    help="The port of this machine on which it is served.",
)
def preview(edition: str, moment: str | None, port: int) -> None:
    """Serve the site on this machine and rebuild it as files change; Ctrl-C ends it.

    Nothing is published or recorded. What can't be built is told on top of the last page that
    could.
    """
    from fallwork.commands.publish import preview_site

    preview_site(edition=edition, moment=moment, port=port)


@main.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@_as_of
def emit(folder: Path, moment: str | None) -> None:
    """Write the pages as Markdown into DIR, to read or for another builder."""
    from fallwork.commands.emit import emit_pages

    click.echo(emit_pages(folder, moment=moment))


@main.command()
@click.argument("files", nargs=-1, metavar="[FILE...]", type=click.Path(path_type=Path))
@click.option(
    "--scenario",
    metavar="SCENARIO",
    help="What was run: a scenario file or an id; with --term, also the id of a lab.",
)
@click.option(
    "--term",
    metavar="TERM",
    help="With the numbers of this term, e.g. 2027-spring, and what it says of the trials.",
)
@_json
def trials(files: tuple[Path, ...], scenario: str | None, term: str | None, as_json: bool) -> None:
    """Analyse recorded trials: find the run in each CSV FILE, and the means over all.

    With a scenario the table also sets the means against what the model predicts. With a term as
    well, the signs, windows, exclusions and sensors that it states for the lab count, as on the
    lab's pages; without a FILE the lab's own trials are analysed.
    """
    from fallwork.commands.trials import analysed_trials

    click.echo(analysed_trials(files, scenario=scenario, term=term, as_json=as_json))


@main.command(cls=_WithNumbers)
@click.argument("scenario")
@_term
@_numbers
@click.option(
    "--trials", "count", type=click.IntRange(1, 1000), default=10, show_default=True, metavar="N"
)
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, metavar="N")
@click.option(
    "--rate",
    type=click.FloatRange(5, 2000),
    metavar="N",
    help="Readings a second of both sensors; without it, 50 of the motion and 100 of the force.",
)
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path),
    metavar="PATH",
    help="Write a new file (a name in .csv), or a new file for each trial into a folder.",
)
def simulate(
    scenario: str,
    term: str | None,
    numbers: tuple[str, ...],
    count: int,
    seed: int,
    rate: float | None,
    target: Path | None,
) -> None:
    """Simulate trials of SCENARIO with the noise of sensors; the files say that they are simulated.

    SCENARIO is a scenario file or the id of one; with --term, also the id of a lab.
    """
    from fallwork.commands.simulate import simulated_trials

    click.echo(
        simulated_trials(
            scenario,
            term=term,
            numbers=numbers,
            trials=count,
            seed=seed,
            rate=rate,
            target=target,
        )
    )
