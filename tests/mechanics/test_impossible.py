"""What can't be is refused, with the objects concerned, what is wrong and what would be right."""

import pytest

from fallwork.mechanics import Apparatus, ImpossibleApparatus, solve
from fallwork.mechanics.apparatus import Body, Run
from mechanics.kit import apparatus, cart, fixed, hanging, level_track, moving, track

CASES: dict[str, tuple[Apparatus, str]] = {
    "both ends fixed, over a fixed pulley": (
        apparatus(
            hanging("weight", 0.1),
            fixed("p"),
            fixed("q"),
            anchors=["a", "b"],
            strings={"s": ["a", "p", "b"], "t": ["q", "weight"]},
            run=Run(object="weight"),
        ),
        "s, a, b: both ends of the string are fixed, so nothing on it can move; tie at least one "
        "end to something that moves",
    ),
    "both ends fixed, under one moving pulley": (
        apparatus(
            hanging("load", 0.1, hangs_from="m"),
            moving("m"),
            anchors=["a", "b"],
            strings={"s": ["a", "m", "b"]},
            run=Run(object="load"),
        ),
        "s, a, b: both ends of the string are fixed, so nothing on it can move; tie at least one "
        "end to something that moves",
    ),
    "a loop of two strings": (
        apparatus(
            cart("a", 1.0),
            cart("b", 1.0),
            track(),
            strings={"s": ["a", "b"], "t": ["b", "a"]},
            run=Run(object="a"),
        ),
        "s, t: the strings form a loop; let each string go from the object behind to the one in "
        "front of it",
    ),
    "a loop of one string": (
        apparatus(
            cart("a", 1.0),
            fixed("p"),
            track(),
            strings={"s": ["a", "p", "a"]},
            run=Run(object="a"),
        ),
        "s, a: the string comes back to an object that it has left; give it two ends, and lead it"
        " once round a pulley with inertia",
    ),
    "a heavy pulley passed twice": (
        apparatus(
            hanging("weight", 0.1),
            moving("m", inertia=1e-4, radius=0.1),
            fixed("f"),
            fixed("g"),
            anchors=["h"],
            strings={"s": ["weight", "f", "m", "g", "m", "h"]},
            run=Run(object="weight"),
        ),
        "s, m: the string comes back to an object that it has left; give it two ends, and lead it"
        " once round a pulley with inertia",
    ),
    "a moving pulley pulled sideways": (
        apparatus(
            cart("a", 1.0),
            moving("m"),
            track(),
            anchors=["h"],
            strings={"s": ["a", "m", "h"]},
            run=Run(object="a"),
        ),
        "s, a, m: a string would pull sideways on what only goes up and down; put a fixed pulley "
        "between them",
    ),
    "a weight hung from a cart without a pulley": (
        apparatus(
            cart("a", 1.0),
            hanging("weight", 0.1),
            track(),
            strings={"s": ["a", "weight"]},
            run=Run(object="a"),
        ),
        "s, a, weight: a string would pull sideways on what only goes up and down; put a fixed "
        "pulley between them",
    ),
    "a weight that nothing holds": (
        apparatus(cart("a", 1.0), hanging("weight", 0.1), track(), strings={}, run=Run(object="a")),
        "weight: nothing holds it up; let a string hold it from above",
    ),
    "two weights in the wrong order": (
        apparatus(
            hanging("lower", 0.1),
            hanging("upper", 0.1),
            fixed("p"),
            strings={"s": ["lower", "upper"], "t": ["p", "upper"]},
            run=Run(object="upper"),
        ),
        "lower: nothing holds it up; let a string hold it from above",
    ),
    "a moving pulley that nothing holds": (
        apparatus(cart("a", 1.0), moving("m", mass=0.1), track(), strings={}, run=Run(object="a")),
        "m: nothing holds the moving pulley up; let a string run under it, or end on it from above",
    ),
    "a string round a corner without a pulley": (
        apparatus(
            cart("a", 1.0, "t1"),
            cart("b", 1.0, "t2"),
            track("t1"),
            track("t2", slope_deg=-30),
            strings={"s": ["a", "b"]},
            run=Run(object="a"),
        ),
        "s, a, b: a string runs straight between bodies on different surfaces; put a pulley "
        "between them",
    ),
    "a string through a cart": (
        apparatus(
            cart("a", 1.0),
            cart("b", 1.0),
            cart("c", 1.0),
            track(),
            strings={"s": ["a", "b", "c"]},
            run=Run(object="a"),
        ),
        "s, b: the string passes something that is no pulley; tie a string of its own on either "
        "side",
    ),
    "a string to something unknown": (
        apparatus(cart("a", 1.0), track(), strings={"s": ["a", "q"]}, run=Run(object="a")),
        "s, q: the string leads to something that is not there; name objects, pulleys and anchors"
        " only",
    ),
    "a string with one end": (
        apparatus(cart("a", 1.0), track(), strings={"s": ["a"]}, run=Run(object="a")),
        "s: the string has one end only; give it two ends",
    ),
    "over one moving pulley and under the next": (
        apparatus(
            hanging("a", 0.1),
            hanging("b", 0.1),
            moving("m", mass=0.1),
            moving("n", mass=0.1),
            fixed("f"),
            strings={"s": ["a", "m", "n", "b"], "t": ["f", "m"]},
            run=Run(object="a"),
        ),
        "s, n: the string comes to a moving pulley from above and leaves it downward; let both "
        "its neighbours in the path be above it, or both below it",
    ),
    "inertia without a radius": (
        apparatus(
            hanging("weight", 0.1),
            fixed("p", inertia=1.0),
            strings={"s": ["p", "weight"]},
            run=Run(object="weight"),
        ),
        "p: a pulley with inertia or bearing torque has no radius; give its radius",
    ),
    "a heavy moving pulley that nothing turns": (
        apparatus(
            hanging("weight", 0.1),
            fixed("p"),
            moving("m", inertia=1e-3, radius=0.1),
            strings={"s": ["weight", "p", "m"]},
            run=Run(object="weight"),
        ),
        "m: no string turns a moving pulley that has inertia or bearing torque; let a string pass"
        " it, or take inertia and bearing torque out",
    ),
    "a load on a fixed pulley": (
        apparatus(
            hanging("load", 0.1, hangs_from="f"),
            hanging("weight", 0.1),
            fixed("f"),
            strings={"s": ["f", "weight"]},
            run=Run(object="weight"),
        ),
        "load, f: it hangs from no moving pulley; let it hang from a moving pulley",
    ),
    "static friction below kinetic": (
        level_track(0.5, 0.1, distance=1.0, friction=0.3, static_friction=0.2),
        "cart: static friction is less than kinetic friction; give a coefficient of static "
        "friction at least as large",
    ),
    "a run that follows a fixed pulley": (
        apparatus(
            hanging("weight", 0.1),
            fixed("p"),
            strings={"s": ["p", "weight"]},
            run=Run(object="p"),
        ),
        "p: the run follows something that can't move; name a cart, a block, what hangs or a "
        "moving pulley",
    ),
    "nothing with mass": (
        apparatus(
            hanging("weight", 0.0),
            fixed("p"),
            strings={"s": ["p", "weight"]},
            run=Run(object="weight"),
        ),
        "weight: nothing has mass, so nothing determines the motion; give it a mass",
    ),
    "a push against a tied string": (
        apparatus(
            cart("a", 1.0),
            track(),
            anchors=["h"],
            strings={"s": ["h", "a"]},
            run=Run(object="a", speed=1.0),
        ),
        "a: it is given a start speed, but the strings hold it; let it start at rest, or choose a"
        " set-up in which it can move",
    ),
    "a cart in the air": (
        apparatus(Body(name="x", kind="cart", mass=1.0), track(), strings={}, run=Run(object="x")),
        "x: its kind doesn't agree with where it is; put carts and blocks on a surface, and "
        "nothing that hangs",
    ),
    "a cart on an unknown surface": (
        apparatus(cart("a", 1.0, "nowhere"), strings={}, run=Run(object="a")),
        "a, nowhere: it runs on no known surface; name a surface",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_the_impossible_is_refused(case: str) -> None:
    set_up, message = CASES[case]
    with pytest.raises(ImpossibleApparatus) as refused:
        solve(set_up)
    assert str(refused.value) == message
    assert message.startswith(", ".join(refused.value.objects) + ": ")
