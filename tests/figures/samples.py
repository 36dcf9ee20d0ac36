"""A cart on a level track pulled by a falling weight, solved by its closed formulas.

The solver has no part in this: figures are checked against numbers that stand here.
Numbers: cart 0.420 kg, weight 0.080 kg, friction 0.008, drop 0.600 m, g = 9.80665 m/s².
"""

from dataclasses import replace
from math import sqrt

from fallwork.figures.model import Figure
from fallwork.lesson.document import FigureSlot, Lesson
from fallwork.lesson.expression import Symbol, as_expression
from fallwork.mechanics.apparatus import Apparatus, Body, Pulley, Run, String, Surface
from fallwork.mechanics.solution import Force, Interaction, Phase, Solution, ZeroWork
from fallwork.mechanics.statement import Statement
from fallwork.scenario import model

GRAVITY = 9.80665


def level_track(
    cart: float = 0.420, weight: float = 0.080, friction: float = 0.008, distance: float = 0.600
) -> Apparatus:
    """The apparatus of the sample."""
    return Apparatus(
        bodies={
            "cart": Body(
                name="cart",
                kind="cart",
                mass=cart,
                surface="track",
                starts_at=0.25,
                friction=friction,
            ),
            "weight": Body(name="weight", kind="hanging", mass=weight),
        },
        pulleys={"pulley": Pulley(name="pulley")},
        surfaces={"track": Surface(name="track", length=1.20)},
        strings={"string": String(name="string", path=("cart", "pulley", "weight"))},
        run=Run(object="weight", distance=distance),
        gravity=GRAVITY,
    )


def solution_of(apparatus: Apparatus) -> Solution:
    """The run by the closed formulas: driven, then coasting until the track ends."""
    cart, weight = (float(body.mass) for body in apparatus.bodies.values())
    friction = float(apparatus.bodies["cart"].friction)
    distance = float(apparatus.run.distance or 0.0)
    g = float(apparatus.gravity)
    acceleration = (weight - friction * cart) * g / (cart + weight)
    tension = weight * (g - acceleration)
    speed = sqrt(2 * acceleration * distance)
    driven = Phase(
        name="driven",
        ends=Statement("{} lands", "weight"),
        duration=speed / acceleration,
        accelerations={"cart": acceleration, "weight": acceleration},
        displacements={"cart": distance, "weight": distance},
        start_velocities={"cart": 0.0, "weight": 0.0},
        end_velocities={"cart": speed, "weight": speed},
        tensions={"string": {"cart": tension, "weight": tension}},
        segment_tensions={"string": (tension, tension)},
        angular_accelerations={},
        forces=_forces(cart, weight, friction, g, tension, distance),
        sliding={"cart": 1},
        slack=frozenset(),
    )
    return Solution(
        gravity=g, moves=True, phases=(driven, _coasting(driven, friction, g, cart, weight))
    )


def _forces(
    cart: float, weight: float, friction: float, g: float, tension: float, distance: float
) -> tuple[Force, ...]:
    ahead, down = (distance, 0.0), (0.0, -distance)
    drag = -friction * cart * g
    return (
        _force("gravity", "Earth", "cart", (0.0, -cart * g), ahead),
        _force("normal", "track", "cart", (0.0, cart * g), ahead),
        _force("friction", "track", "cart", (drag, 0.0), ahead),
        _force("tension", "string", "cart", (tension, 0.0), ahead),
        _force("tension", "string", "weight", (0.0, tension), down),
        _force("gravity", "Earth", "weight", (0.0, -weight * g), down),
        _force("contact", "string", "pulley", (-tension, -tension), (0.0, 0.0)),
        _force("axle", "bench", "pulley", (tension, tension), (0.0, 0.0)),
        _force("contact", "pulley", "string", (tension, tension), (0.0, 0.0)),
        _force("tension", "cart", "string", (-tension, 0.0), ahead),
        _force("tension", "weight", "string", (0.0, -tension), down),
    )


def _force(
    kind: str,
    partner: str,
    on: str,
    vector: tuple[float, float],
    displacement: tuple[float, float],
) -> Force:
    work = vector[0] * displacement[0] + vector[1] * displacement[1]
    reason = ZeroWork.NO_FORCE if vector == (0.0, 0.0) else ZeroWork.PERPENDICULAR
    return Force(
        interaction=Interaction(kind),
        partner=partner,
        on=on,
        vector=vector,
        displacement=displacement,
        work=work,
        reason=None if work else reason,
    )


def _coasting(driven: Phase, friction: float, g: float, cart: float, weight: float) -> Phase:
    speed, room = driven.end_velocities["cart"] or 0.0, 0.35
    acceleration = -friction * g
    end = sqrt(speed**2 + 2 * acceleration * room)
    time = room / ((speed + end) / 2)
    return replace(
        driven,
        name="coasting",
        ends=Statement("{} reaches the end of {}", "cart", "track"),
        duration=time,
        accelerations={"cart": acceleration, "weight": 0.0},
        displacements={"cart": room, "weight": 0.0},
        start_velocities={"cart": speed, "weight": 0.0},
        end_velocities={"cart": end, "weight": 0.0},
        tensions={"string": {"cart": 0.0, "weight": 0.0}},
        segment_tensions={"string": (0.0, 0.0)},
        forces=_forces(cart, weight, friction, g, 0.0, room)[:4],
        slack=frozenset({"string"}),
    )


def scenario() -> model.Scenario:
    """As much of the scenario file as figures look at."""

    def given(kind: str, value: float, number: str, unit: str) -> model.Quantity:
        return model.Quantity(kind=kind, value=value, number=number, unit=unit)

    return model.Scenario(
        id="level-track",
        title="Cart pulled along a level track by a falling weight",
        objects={
            "cart": model.Slider(
                name="cart", kind="cart", mass=given("mass", 0.42, "420.0", "g"), runs_on="track"
            ),
            "weight": model.Hanging(name="weight", mass=given("mass", 0.08, "80.0", "g")),
            "pulley": model.Pulley(name="pulley"),
        },
        surfaces={
            "track": model.Surface(
                name="track",
                slope=given("angle", 0.0, "0", "deg"),
                friction=given("coefficient", 0.008, "0.008", ""),
            )
        },
        strings={"string": model.String(name="string", path=("cart", "pulley", "weight"))},
        run=model.Run(object="weight", distance=given("length", 0.6, "0.600", "m")),
        systems=(
            model.SystemChoice(id="cart-alone", title="The cart alone", members=("cart",)),
            model.SystemChoice(
                id="all-moving",
                title="Cart, hanging mass, string and Earth",
                members=("cart", "weight", "string", "Earth"),
            ),
        ),
    )


def symbol(key: str, letter: str, subscript: str = "", unit: str = "N") -> Symbol:
    return Symbol(id=key, letter=letter, subscript=subscript, meaning=key, unit=unit)


SYMBOLS = (
    symbol("mass.cart", "m", "c", "kg"),
    symbol("mass.weight", "m", "w", "kg"),
    symbol("gravity", "g", "", "m/s²"),
    symbol("distance", "d", "", "m"),
    symbol("acceleration", "a", "", "m/s²"),
    symbol("speed", "v", "", "m/s"),
    symbol("time", "t", "", "s"),
    symbol("tension.string", "T"),
    symbol("normal.cart", "N"),
    symbol("friction.cart", "f"),
    symbol("work.tension of string on cart", "W", "T", "J"),
    symbol("kinetic.cart", "K", "c", "J"),
    symbol("kinetic.weight", "K", "w", "J"),
    symbol("potential.weight", "U", "w", "J"),
)


def lesson() -> Lesson:
    """A lesson with the symbols that figures look up."""
    by_id = {each.id: each for each in SYMBOLS}
    labels = {
        "gravity of Earth on cart": as_expression(by_id["mass.cart"]) * by_id["gravity"],
        "gravity of Earth on weight": as_expression(by_id["mass.weight"]) * by_id["gravity"],
        "normal of track on cart": as_expression(by_id["normal.cart"]),
        "friction of track on cart": as_expression(by_id["friction.cart"]),
        "tension of string on cart": as_expression(by_id["tension.string"]),
        "tension of string on weight": as_expression(by_id["tension.string"]),
        "cart": as_expression(by_id["acceleration"]),
        "weight": as_expression(by_id["acceleration"]),
    }
    return Lesson(
        scenario="level-track",
        title="Level track",
        kind="numbers",
        summary=(),
        find=(),
        givens=(),
        symbols=SYMBOLS,
        steps=(),
        safety=(),
        labels={0: labels},
    )


def drawn(
    kind: str, subject: str = "", *, to_scale: bool = True, apparatus: Apparatus | None = None
) -> Figure:
    """One figure of the sample."""
    from fallwork.figures import draw

    apparatus = apparatus or level_track()
    return draw(
        FigureSlot(kind=kind, subject=subject),
        scenario=scenario(),
        apparatus=apparatus,
        solution=solution_of(apparatus),
        lesson=lesson(),
        to_scale=to_scale,
    )
