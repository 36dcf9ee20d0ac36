"""What can't be is refused, with the objects concerned, what is wrong and what would be right.

More cases are files, which the command line refuses at their place.
"""

from dataclasses import replace

import pytest

from fallwork.mechanics import Apparatus, ImpossibleApparatus, solve
from mechanics.kit import level_track, rig

TWO_CARTS = ("cart a 1.0", "cart b 1.0", "track track")
ENDS_FIXED = (
    "both ends of the string are fixed, so nothing on it can move; tie at least one end to "
    "something that moves"
)
COMES_BACK = (
    "the string comes back to an object that it has left; give it two ends, and lead it once "
    "round a pulley with inertia"
)
SIDEWAYS = (
    "a string would pull sideways on what only goes up and down; put a fixed pulley between them"
)
UNHELD = "nothing holds it up; let a string hold it from above"
IN_THE_AIR = rig("cart x 1.0", "track track", run="x")

CASES: dict[str, tuple[Apparatus, str]] = {
    "both ends fixed": (
        rig("hanging load 0.1 hangs_from=m", "moving m", "anchor a b", s="a m b", run="load"),
        f"s, a, b: {ENDS_FIXED}",
    ),
    "a loop of one string": (
        rig("cart a 1.0", "fixed p", "track track", s="a p a", run="a"),
        f"s, a: {COMES_BACK}",
    ),
    "a heavy pulley passed twice": (
        rig(
            *("hanging w 0.1", "moving m inertia=1e-4 radius=0.1", "fixed f g", "anchor h"),
            s="w f m g m h",
            run="w",
        ),
        f"s, m: {COMES_BACK}",
    ),
    "a moving pulley pulled sideways": (
        rig("cart a 1.0", "moving m", "track track", "anchor h", s="a m h", run="a"),
        f"s, a, m: {SIDEWAYS}",
    ),
    "a weight hung from a cart without a pulley": (
        rig("cart a 1.0", "hanging w 0.1", "track track", s="a w", run="a"),
        f"s, a, w: {SIDEWAYS}",
    ),
    "a weight that nothing holds": (
        rig("cart a 1.0", "hanging w 0.1", "track track", run="a"),
        f"w: {UNHELD}",
    ),
    "two weights in the wrong order": (
        rig("hanging lower 0.1", "hanging upper 0.1", "fixed p", s="lower upper", t="p upper",
            run="upper"),
        f"lower: {UNHELD}",
    ),
    "a string round a corner without a pulley": (
        rig("cart a 1.0 surface=t1", "cart b 1.0 surface=t2", "track t1", "track t2 slope=-30",
            s="a b", run="a"),
        "s, a, b: a string runs straight between bodies on different surfaces; put a pulley "
        "between them",
    ),
    "a string through a cart": (
        rig(*TWO_CARTS, "cart c 1.0", s="a b c", run="a"),
        "s, b: the string passes something that is no pulley; tie a string of its own on either "
        "side",
    ),
    "a string to something unknown": (
        rig("cart a 1.0", "track track", s="a q", run="a"),
        "s, q: the string leads to something that is not there; name objects, pulleys and anchors"
        " only",
    ),
    "a string with one end": (
        rig("cart a 1.0", "track track", s="a", run="a"),
        "s: the string has one end only; give it two ends",
    ),
    "inertia without a radius": (
        rig("hanging w 0.1", "fixed p inertia=1.0", s="p w", run="w"),
        "p: a pulley with inertia or bearing torque has no radius; give its radius",
    ),
    "a load on a fixed pulley": (
        rig("hanging load 0.1 hangs_from=f", "hanging w 0.1", "fixed f", s="f w", run="w"),
        "load, f: it hangs from no moving pulley; let it hang from a moving pulley",
    ),
    "static friction below kinetic": (
        level_track(0.5, 0.1, distance=1.0, friction=0.3, static_friction=0.2),
        "cart: static friction is less than kinetic friction; give a coefficient of static "
        "friction at least as large",
    ),
    "a run that follows a fixed pulley": (
        rig("hanging w 0.1", "fixed p", s="p w", run="p"),
        "p: the run follows something that can't move; name a cart, a block, what hangs or a "
        "moving pulley",
    ),
    "nothing with mass": (
        rig("hanging w 0.0", "fixed p", s="p w", run="w"),
        "w: nothing has mass, so nothing determines the motion; give it a mass",
    ),
    "a cart in the air": (
        replace(IN_THE_AIR, bodies={"x": replace(IN_THE_AIR.bodies["x"], surface=None)}),
        "x: its kind doesn't agree with where it is; put carts and blocks on a surface, and "
        "nothing that hangs",
    ),
    "a cart on an unknown surface": (
        rig("cart a 1.0 surface=nowhere", run="a"),
        "a, nowhere: it runs on no known surface; name a surface",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_the_impossible_is_refused(case: str) -> None:
    set_up, message = CASES[case]
    with pytest.raises(ImpossibleApparatus) as refused:
        solve(set_up)
    assert str(refused.value) == message
    assert message.startswith(", ".join(refused.value.objects) + ": ")
