"""Short ways to write an apparatus down in a test; everything in SI units."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import partial
from typing import Any, TypeVar

from fallwork.mechanics import Apparatus
from fallwork.mechanics.apparatus import Body, Pulley, Run, String, Surface

G = 9.80665  # m/s², 3rd CGPM (1901)
Thing = Body | Pulley | Surface
Part = TypeVar("Part")
GROUPS = ("bodies", "pulleys", "surfaces", "strings")


def rig(*words: str, run: str, gravity: float = G, **strings: str) -> Apparatus:
    """An apparatus in words: ``rig("cart a 0.5 friction=0.1", "fixed p", s="a p w", run="w")``; a
    thing is its kind, name and mass, in SI units with slopes in degrees; a string is its path.
    """
    target, given = _given(run.split())
    things, anchors = list[Thing](), list[str]()
    for kind, *more in map(str.split, words):
        names, values = _given(more)
        if kind in ("cart", "block", "hanging"):
            things.append(thing(kind, names[0], float(names[1]), **values))
        elif kind == "anchor":
            anchors += names
        else:
            things += [thing(kind, name, **values) for name in names]
    paths, moved = {name: path.split() for name, path in strings.items()}, target[0]
    of = {"strings": paths, "run": Run(object=moved, **given)}
    return apparatus(*things, gravity=gravity, anchors=anchors, **of)


def rewritten(part: Part, change: Callable[[object], object], keep: Sequence[str] = ()) -> Part:
    """Whatever ``change`` gives for parts of data, unless None; fields named in ``keep`` stay."""
    new: Any = change(part)
    if new is None and isinstance(part, dict):
        pairs = part.items()
        new = {rewritten(n, change, keep): rewritten(each, change, keep) for n, each in pairs}
    elif new is None and isinstance(part, tuple):
        new = tuple(rewritten(each, change, keep) for each in part)
    elif new is None and is_dataclass(part) and not isinstance(part, type):
        parts = {f.name: getattr(part, f.name) for f in fields(part) if f.name not in keep}
        new = replace(part, **{n: rewritten(each, change, keep) for n, each in parts.items()})
    return part if new is None else new


def _given(words: Sequence[str]) -> tuple[list[str], dict[str, Any]]:
    """The plain words, and those with a value."""
    pairs = [word.split("=") for word in words if "=" in word]
    return [word for word in words if "=" not in word], {
        key: value if value[0].isalpha() else float(value) for key, value in pairs
    }


def thing(kind: str, name: str, mass: Any = 0.0, **more: Any) -> Any:
    """One thing of a rig; carts and blocks are on the track unless another surface is named."""
    match kind:
        case "cart" | "block":
            return Body(name=name, kind=kind, mass=mass, **{"surface": "track", **more})
        case "hanging":
            return Body(name=name, kind="hanging", mass=mass, **more)
        case "fixed" | "moving":
            return Pulley(name=name, moving=kind == "moving", **more)
    return Surface(name=name, **{**more, "slope": more.get("slope", 0.0) * (math.pi / 180)})


fixed, hanging = partial(thing, "fixed"), partial(thing, "hanging")
wheel = partial(fixed, "pulley", radius=0.03)


def apparatus(
    *things: Thing,
    strings: Mapping[str, Sequence[str]],
    run: Run,
    gravity: float = G,
    anchors: Sequence[str] = (),
) -> Apparatus:
    return Apparatus(
        bodies={each.name: each for each in things if isinstance(each, Body)},
        pulleys={each.name: each for each in things if isinstance(each, Pulley)},
        surfaces={each.name: each for each in things if isinstance(each, Surface)},
        anchors=tuple(anchors),
        strings={name: String(name=name, path=tuple(path)) for name, path in strings.items()},
        run=run,
        gravity=gravity,
    )


def level_track(
    cart, weight, *, distance=None, speed=0, slope=0.0, length=None, pulley=None, gravity=G, **more
) -> Apparatus:
    """A cart on a track (slope in degrees), pulled by a weight over a fixed pulley; also arrays."""
    return apparatus(
        thing("cart", "cart", cart, **more),
        hanging("weight", weight),
        pulley or fixed("pulley"),
        thing("track", "track", slope=slope, length=length),
        strings={"string": ["cart", "pulley", "weight"]},
        run=Run(object="weight", distance=distance, speed=speed),
        gravity=gravity,
    )


def two_weights(
    left: float, right: float, *, pulley: Thing | None = None, gravity: float = G, **run: float
) -> Apparatus:
    """Two weights over one fixed pulley."""
    things = hanging("left", left), hanging("right", right), pulley or fixed("pulley")
    strings, moved = {"string": ["left", "pulley", "right"]}, {"distance": 1.0, **run}
    return apparatus(*things, strings=strings, run=Run(object="right", **moved), gravity=gravity)


def slope(
    mass: float, degrees: float, *, friction: float = 0.0, gravity: float = G, **run: float
) -> Apparatus:
    """A block by itself on a slope, up where that is positive."""
    track, block = thing("track", "track", slope=degrees), thing("block", "block", mass)
    things = replace(block, friction=friction), track
    return apparatus(*things, strings={}, run=Run(object="block", **run), gravity=gravity)
