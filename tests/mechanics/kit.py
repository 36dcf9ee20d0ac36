"""Short ways to write an apparatus down in a test; everything in SI units."""

import math
from collections.abc import Mapping, Sequence

from fallwork.lesson.run import end_in_words, notes_of
from fallwork.mechanics import Apparatus, Phase, Solution
from fallwork.mechanics.apparatus import Body, Pulley, Run, String, Surface

STANDARD_GRAVITY = 9.80665  # m/s², 3rd CGPM (1901)


def cart(name: str, mass: float, surface: str = "track", **more: object) -> Body:
    return Body(name=name, kind="cart", mass=mass, surface=surface, **more)


def hanging(name: str, mass: float, **more: object) -> Body:
    return Body(name=name, kind="hanging", mass=mass, **more)


def fixed(name: str, **more: object) -> Pulley:
    return Pulley(name=name, **more)


def moving(name: str, **more: object) -> Pulley:
    return Pulley(name=name, moving=True, **more)


def track(name: str = "track", slope: float = 0.0, length: float | None = None) -> Surface:
    return Surface(name=name, slope=math.radians(slope), length=length)


def rig(
    *things: str, run: str = "", gravity: float = STANDARD_GRAVITY, **strings: str
) -> Apparatus:
    """An apparatus in words: ``rig("cart a 0.5 friction=0.1", "fixed p", s="a p w", run="w")``.

    A thing is its kind with a name and a mass, or with several names; numbers in SI units, slopes
    in degrees; a string is its path; the run names its object and what is given of it.
    """
    found: list[Body | Pulley | Surface] = []
    anchors: list[str] = []
    for thing in things:
        kind, *words = thing.split()
        names = [word for word in words if "=" not in word]
        more = {key: _read(text) for key, _, text in (w.partition("=") for w in words if "=" in w)}
        if kind in ("cart", "hanging"):
            found.append(
                {"cart": cart, "hanging": hanging}[kind](names[0], float(names[1]), **more)
            )
        elif kind == "anchor":
            anchors += names
        else:
            found += [
                {"fixed": fixed, "moving": moving, "track": track}[kind](n, **more) for n in names
            ]
    target, *given = run.split()
    asked = {key: float(number) for key, number in (each.split("=") for each in given)}
    return apparatus(
        *found,
        strings={name: path.split() for name, path in strings.items()},
        run=Run(object=target, **asked),
        gravity=gravity,
        anchors=anchors,
    )


def _read(text: str) -> float | str:
    return text if text[0].isalpha() else float(text)


def apparatus(
    *things: Body | Pulley | Surface,
    strings: Mapping[str, Sequence[str]],
    run: Run,
    gravity: float = STANDARD_GRAVITY,
    anchors: Sequence[str] = (),
) -> Apparatus:
    return Apparatus(
        bodies={thing.name: thing for thing in things if isinstance(thing, Body)},
        pulleys={thing.name: thing for thing in things if isinstance(thing, Pulley)},
        surfaces={thing.name: thing for thing in things if isinstance(thing, Surface)},
        anchors=tuple(anchors),
        strings={name: String(name=name, path=tuple(path)) for name, path in strings.items()},
        run=run,
        gravity=gravity,
    )


def level_track(
    cart_mass: float,
    weight_mass: float,
    *,
    distance: float,
    friction: float = 0.0,
    static_friction: float | None = None,
    slope_deg: float = 0.0,
    speed: float = 0.0,
    gravity: float = STANDARD_GRAVITY,
    length: float | None = None,
    starts_at: float | None = None,
    wheel_mass: float = 0.0,
    pulley: Pulley | None = None,
) -> Apparatus:
    """A cart on a (tilted) track, pulled by a hanging weight over a fixed pulley."""
    return apparatus(
        cart(
            "cart",
            cart_mass,
            friction=friction,
            static_friction=static_friction,
            starts_at=starts_at,
            wheel_mass=wheel_mass,
        ),
        hanging("weight", weight_mass),
        pulley or fixed("pulley"),
        track(slope=slope_deg, length=length),
        strings={"string": ["cart", "pulley", "weight"]},
        run=Run(object="weight", distance=distance, speed=speed),
        gravity=gravity,
    )


def two_weights(
    left: float,
    right: float,
    *,
    distance: float = 1.0,
    gravity: float = STANDARD_GRAVITY,
    pulley: Pulley | None = None,
    speed: float = 0.0,
) -> Apparatus:
    """Two weights over one fixed pulley."""
    return apparatus(
        hanging("left", left),
        hanging("right", right),
        pulley or fixed("pulley"),
        strings={"string": ["left", "pulley", "right"]},
        run=Run(object="right", distance=distance, speed=speed),
        gravity=gravity,
    )


def slope(
    mass: float,
    slope_deg: float,
    *,
    friction: float = 0.0,
    static_friction: float | None = None,
    speed: float = 0.0,
    distance: float | None = None,
    until: float | None = None,
    gravity: float = STANDARD_GRAVITY,
) -> Apparatus:
    """A block by itself on a slope; forward is up where the slope is positive."""
    return apparatus(
        Body(
            name="block",
            kind="block",
            mass=mass,
            surface="plane",
            friction=friction,
            static_friction=static_friction,
        ),
        track("plane", slope_deg),
        strings={},
        run=Run(object="block", distance=distance, speed=speed, until=until),
        gravity=gravity,
    )


def at_rest_beside_a_sliding_block() -> Apparatus:
    return rig(
        *("cart block 0.5", "hanging left 0.2", "hanging right 0.2", "track track"),
        "fixed pulley radius=0.03 inertia=1e-5",
        string="left pulley right",
        run="block speed=0.4",
    )


def double_machine() -> Apparatus:
    """A pulley on a string: 0.1 kg and 0.2 kg over it, 0.3 kg against it."""
    return rig(
        *("hanging big 0.3", "fixed top", "moving hung", "hanging one 0.1", "hanging two 0.2"),
        upper="big top hung",
        lower="one hung two",
        run="big distance=0.1",
    )


def tackle(weight: float) -> Apparatus:
    """One string four times between two fixed pulleys and a moving one; the weight's mass in kg."""
    return rig(
        *("hanging load 0.5 hangs_from=lower", f"hanging weight {weight}"),
        *("moving lower", "fixed f g", "anchor hook"),
        string="weight f lower g lower hook",
        run="weight distance=0.3",
    )


def ending(phase: Phase) -> str | None:
    """What ends a phase, in words."""
    return end_in_words(phase.ends, str) or None


def notes(solution: Solution) -> tuple[str, ...]:
    """What the key says of a run, with the names as the set-up has them."""
    return notes_of(solution, str)


def bounds(phase: Phase) -> dict[str, tuple[float | None, float | None]]:
    """What is undetermined -> its least and its greatest value."""
    found = {}
    for each in phase.undetermined:
        name = f"{each.interaction.value} of {each.partner}"
        name += f" on {each.on}" if each.on else ""
        name += " from {} to {}".format(*each.between) if each.between else ""
        found[name] = (each.low, each.high)
    return found
