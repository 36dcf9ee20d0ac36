"""A run that turns round, seen as a whole: friction counts path, gravity counts displacement."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Paragraph, Relation, Step, Working
from fallwork.lesson.expression import (
    Expression,
    Negative,
    Number,
    Root,
    Symbol,
    as_expression,
)
from fallwork.lesson.steps.works import work_tree
from fallwork.lesson.trees import half_of, product, rebuilt, total
from fallwork.lesson.words import say, title
from fallwork.mechanics.solution import Interaction

_BRAKES = (Interaction.FRICTION, Interaction.BEARING_TORQUE)


def whole_run_step(context: Context) -> Step | None:
    """The energy account over all driven parts; None where there is only one, or no end."""
    setting = context.setting
    parts = [context.at(index) for index in setting.driven]
    followed = all(part.setting.tied and part.setting.phase.ends for part in parts)
    if len(parts) < 2 or not followed or setting.open_forces:
        return None
    brakes = list(_works(parts, braking=True))
    return Step(
        id="whole-run",
        topic="whole-run",
        title=title("whole-run.title"),
        idea=say("whole-run.idea"),
        blocks=tuple(_blocks(context, parts, brakes)),
    )


def _works(parts: list[Context], *, braking: bool) -> Iterator[Expression]:
    """The works of what brakes, or the changes of potential energy, each over all parts."""
    wanted = _BRAKES if braking else (Interaction.GRAVITY,)
    setting = parts[0].setting
    for force in setting.phase.forces:
        if force.interaction in wanted and force.on in (*setting.movers, *setting.rotors):
            tree = _over_all(parts, force.name)
            if tree is not None:
                yield tree if braking else -tree


def _over_all(parts: list[Context], name: str) -> Expression | None:
    """The work of one force over all parts: its size times the distances, with their signs."""
    distances: list[Expression] = []
    size: Expression | None = None
    for part in parts:
        force = next((f for f in part.setting.phase.forces if f.name == name), None)
        tree = work_tree(part, force) if force is not None and force.work else None
        if tree is None:
            continue
        path = part.names.distance
        body = tree.body if isinstance(tree, Negative) else tree
        size = rebuilt(body, {path.id: Number(value=1)})
        distances.append(
            -as_expression(path) if isinstance(tree, Negative) else as_expression(path)
        )
    if size is None:
        return None
    if all(isinstance(distance, Negative) for distance in distances):
        return -product(size, total(-distance for distance in distances))
    return product(size, total(distances))


def run_work(context: Context) -> Symbol:
    """The symbol for the work of everything that brakes over the whole run."""
    parts = [context.at(index) for index in context.setting.driven]
    lost = total(_works(parts, braking=True))
    words = title("whole-run.meaning.work")
    return context.names.of_run("work", "W", words, context.value(lost))


def _blocks(context: Context, parts: list[Context], brakes: list[Expression]) -> Iterator[Block]:
    names = context.names
    changes = list(_works(parts, braking=False))
    left: list[Expression] = []
    if brakes:
        lost = total(brakes)
        work = run_work(context)
        left.append(as_expression(work))
        yield Paragraph(text=say("whole-run.friction"))
        yield Working(equations=(context.result(work, lost, "J"),))
    height = total(changes)
    words = title("whole-run.meaning.potential")
    potential = names.of_run("potential", "Delta U", words, context.value(height))
    left.append(-as_expression(potential))
    yield Paragraph(text=say("whole-run.potential"))
    yield Working(equations=(context.result(potential, height, "J"),))
    yield from _speed(context, parts[-1], total(left))


def _speed(context: Context, last: Context, left: Expression) -> Iterator[Block]:
    """The kinetic energy that is left, and the final speed from it."""
    names, mass = context.names, context.motion.inertia
    words = title("whole-run.meaning.kinetic")
    gain = names.of_run("kinetic", "Delta K", words, context.value(left))
    yield Paragraph(text=say("whole-run.kinetic"))
    yield Working(equations=(context.result(gain, left, "J"),))
    squares = as_expression(last.names.speed) ** 2
    start: Expression | None = None
    if context.setting.starts_moving:
        start = as_expression(names.start_speed) ** 2
        squares = squares - start
    kinetic = Relation(sides=(as_expression(gain), half_of(mass, squares)), signs=("=",))
    yield Paragraph(text=say("whole-run.speed", kinetic=kinetic))
    divisor = mass
    if context.numbers:
        divisor = as_expression(names.moving_mass(context.value(mass)))
    gained = product(2, gain) / divisor
    final = Root(body=gained if start is None else start + gained)
    yield Working(equations=(context.result(last.names.speed, final, "m/s"),))
