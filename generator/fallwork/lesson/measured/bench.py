"""At the bench: masses, track, distance, force sensor, signs, trials.

Takes the set-up; gives steps in symbols. They tell what to do and work nothing out.
"""

from collections.abc import Iterator

from fallwork.lesson.document import Block, Given, Step, Text
from fallwork.lesson.expression import as_expression
from fallwork.lesson.givens import givens_of
from fallwork.lesson.measured.context import Measuring, table
from fallwork.lesson.measured.words import head, sentence
from fallwork.scenario.model import Pulley


def bench_steps(measuring: Measuring) -> Iterator[Step]:
    """What to do before and during the trials."""
    facts = measuring.facts
    yield _masses(measuring)
    if facts.slides:
        yield measuring.step("track-and-string", _track(measuring))
    if facts.moves and measuring.context.setting.scenario.run.distance is not None:
        yield measuring.step("distance", _distance(measuring))
    if facts.has_force:
        yield measuring.step("force-zero", _force(measuring))
    if facts.moves:
        yield measuring.step("signs", [measuring.paragraph("signs.turn")])
        paragraphs = [measuring.paragraph(f"trials.{key}") for key in ("make", "keep", "lost")]
        yield measuring.step("trials", paragraphs)


def _masses(measuring: Measuring) -> Step:
    gravity = measuring.context.names.gravity
    rows = [_row(given) for given in givens_of(measuring.context) if given.symbol != gravity]
    return measuring.step(
        "your-masses",
        [
            measuring.paragraph("your-masses.weigh"),
            measuring.paragraph("your-masses.fill"),
            table(
                sentence("your-masses.caption"),
                head("your-masses.head", "quantity", "given", "own", "u"),
                rows,
            ),
        ],
    )


def _row(given: Given) -> tuple[Text, ...]:
    name: Text = (given.meaning,)
    if given.symbol is not None:
        name = (f"{given.meaning}, ", as_expression(given.symbol))
    return name, (given.as_written.replace(" ", "\u00a0"),), ("",), ("",)


def _track(measuring: Measuring) -> Iterator[Block]:
    setting = measuring.context.setting
    sloped = bool(setting.slope(measuring.facts.moving))
    yield measuring.paragraph("track-and-string.slope" if sloped else "track-and-string.level")
    string = measuring.facts.view.string
    path = () if string is None else setting.scenario.strings[string].path
    if any(isinstance(setting.scenario.objects[name], Pulley) for name in path):
        yield measuring.paragraph("track-and-string.string")


def _distance(measuring: Measuring) -> Iterator[Block]:
    facts = measuring.facts
    yield measuring.paragraph("distance.lands" if facts.lands else "distance.ends")
    yield measuring.paragraph("distance.mark")
    if not facts.goes_as_far:
        yield measuring.paragraph("distance.ratio")


def _force(measuring: Measuring) -> Iterator[Block]:
    pull = measuring.facts.held_pull
    yield measuring.paragraph("force-zero.zero", F0=measuring.names.zero)
    if pull is None:
        yield measuring.paragraph("force-zero.held-any")
    else:
        yield measuring.paragraph("force-zero.held", held=pull)
    yield measuring.paragraph("force-zero.sign")
