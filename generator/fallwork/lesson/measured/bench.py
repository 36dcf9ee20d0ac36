"""At the bench: masses, track, distance, force sensor, signs, trials.

Takes the set-up; gives steps in symbols. They tell what to do and work nothing out.
"""

from collections.abc import Iterator

from fallwork.lesson.document import Block, Given, Step, Text
from fallwork.lesson.expression import as_expression
from fallwork.lesson.givens import givens_of
from fallwork.lesson.lab import Lab
from fallwork.lesson.measured.context import Measuring, table, working
from fallwork.lesson.measured.words import head, sentence
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import times_word
from fallwork.scenario.model import Pulley


def bench_steps(measuring: Measuring) -> Iterator[Step]:
    """What to do before and during the trials."""
    facts = measuring.facts
    yield _masses(measuring)
    if facts.slides:
        idea = "idea-slope" if facts.sloping else "idea"
        yield measuring.step("track-and-string", _track(measuring), idea=idea)
    if facts.moves and measuring.context.setting.scenario.run.distance is not None:
        yield measuring.step("distance", _distance(measuring))
    if facts.has_force:
        yield measuring.step("force-zero", _force(measuring))
    if facts.moves:
        key = "turn-back" if facts.returns else "turn"
        yield measuring.step("signs", [measuring.paragraph(f"signs.{key}")])
        make = ["make" if facts.from_rest else "make-push"]
        if facts.from_rest and not measuring.context.setting.tied:
            make.append("hold-all")
        paragraphs = [measuring.paragraph(f"trials.{key}") for key in (*make, "keep", "lost")]
        yield measuring.step("trials", paragraphs)
    elif facts.grips:
        yield measuring.step("holding", _holding(measuring))


def _masses(measuring: Measuring) -> Step:
    gravity = measuring.context.names.gravity
    rows = [_row(given) for given in givens_of(measuring.context) if given.symbol != gravity]
    moves = measuring.facts.moves
    return measuring.step(
        "your-masses",
        [
            measuring.paragraph("your-masses.weigh" if moves else "your-masses.weigh-rest"),
            measuring.paragraph("your-masses.fill"),
            table(
                sentence("your-masses.caption"),
                head("your-masses.head", "quantity", "given", "own", "u"),
                rows,
            ),
        ],
        heading="title" if moves else "title-rest",
    )


def _row(given: Given) -> tuple[Text, ...]:
    name: Text = (given.meaning,)
    if given.symbol is not None:
        name = (f"{given.meaning}, ", as_expression(given.symbol))
    return name, (given.as_written.replace(" ", "\u00a0"),), ("",), ("",)


def _track(measuring: Measuring) -> Iterator[Block]:
    setting = measuring.context.setting
    key = "level" if measuring.facts.rubs else "level-free"
    yield measuring.paragraph(f"track-and-string.{'slope' if measuring.facts.sloping else key}")
    string = measuring.facts.view.string
    path = () if string is None else setting.scenario.strings[string].path
    if any(isinstance(setting.scenario.objects[name], Pulley) for name in path):
        key = "string" if measuring.facts.moves else "string-rest"
        yield measuring.paragraph(f"track-and-string.{key}")


def _distance(measuring: Measuring) -> Iterator[Block]:
    facts = measuring.facts
    itself = facts.moving == measuring.context.setting.scenario.run.object
    lands = "distance.lands-itself" if itself else "distance.lands"
    yield measuring.paragraph(lands if facts.lands else "distance.ends")
    yield measuring.paragraph("distance.mark")
    if facts.goes_as_far:
        return
    if facts.ratio is None:
        yield measuring.paragraph("distance.ratio")
    else:
        yield measuring.paragraph("distance.ratio-known", times=times_word(facts.ratio))


def _holding(measuring: Measuring) -> Iterator[Block]:
    """How the range of weights is found that static friction holds, and what it tells."""
    context = measuring.context
    limits = Lab(context).limiting_masses
    yield measuring.paragraph("holding.up")
    most = as_expression(limits["most"].symbol)
    sine, cosine = (tree(context.slider) for tree in (context.motion.sine, context.motion.cosine))
    mass = product(context.names.mass(context.slider), *([] if cosine is None else [cosine]))
    grip = as_expression(context.names.static_coefficient(context.slider))
    if "least" not in limits:
        found = most / mass if sine is None else total([most / mass, -(sine / (cosine or 1))])
        yield measuring.paragraph("holding.coefficient-one")
        yield working(measuring.result(grip, found))
        return
    yield measuring.paragraph("holding.down")
    difference = total([most, -as_expression(limits["least"].symbol)])
    yield measuring.paragraph("holding.coefficient")
    yield working(measuring.result(grip, difference / product(2, mass)))
    yield measuring.paragraph("holding.middle")


def _force(measuring: Measuring) -> Iterator[Block]:
    pull = measuring.facts.held_pull
    yield measuring.paragraph("force-zero.zero", F0=measuring.names.zero)
    if not measuring.facts.moves:
        yield measuring.paragraph("force-zero.known")
    elif pull is None:
        yield measuring.paragraph("force-zero.held-any")
    else:
        yield measuring.paragraph("force-zero.held", held=pull)
    yield measuring.paragraph("force-zero.sign")
