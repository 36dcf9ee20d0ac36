"""A train of as many carts as are wanted, pulled along a level track by a hanging mass."""

from itertools import pairwise


def long_train(carts: int) -> str:
    """The scenario file of a train with this many carts: 2 objects more, and a string a cart."""
    names = [f"cart-{at}" for at in range(1, carts + 1)]
    strings = [f"coupling-{at}" for at in range(1, carts)]
    lines = ["title: A long train", "objects:"]
    for at, name in enumerate(names):
        where = f"starts_at: {0.2 + 0.15 * at:.2f} m"
        lines.append(f"  {name}: {{kind: cart, mass: {300 + 10 * at} g, runs_on: track, {where}}}")
    lines += ["  weight: {kind: hanging, mass: 800 g}", "  pulley: {kind: pulley}"]
    lines += ["surfaces:", "  track: {slope: 0 deg, friction: 0.01, length: 6 m}", "strings:"]
    for string, ends in zip(strings, pairwise(names), strict=True):
        lines.append(f"  {string}: [{', '.join(ends)}]")
    lines += [f"  string: [{names[-1]}, pulley, weight]"]
    lines += ["run: {start: rest, object: weight, distance: 0.6 m}", "systems:"]
    members = ", ".join([*names, *strings, "string", "weight", "Earth"])
    lines.append(f"  moving: {{title: Everything that moves, members: [{members}]}}")
    return "\n".join([*lines, ""])
