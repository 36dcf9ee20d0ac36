"""A million level tracks solved at once, against the closed formula in plain NumPy.

Run it with ``python benchmarks/level_tracks.py [CASES]``. Both sides keep acceleration, tension,
time and final speed of every case; the ratio is that of the best of several rounds in turn.
"""

import sys
import time
from collections.abc import Callable

import numpy as np

from fallwork.mechanics import Apparatus, solve_driven
from fallwork.mechanics.apparatus import Body, Pulley, Run, String, Surface

GRAVITY = 9.80665  # m/s²
ROUNDS = 9


def cases(count: int) -> Apparatus:
    """Level tracks with random masses, friction and drop."""
    draw = np.random.default_rng(seed=1)
    return Apparatus(
        bodies={
            "cart": Body(
                name="cart",
                kind="cart",
                mass=draw.uniform(0.3, 0.7, count),
                surface="track",
                friction=draw.uniform(0.002, 0.01, count),
            ),
            "weight": Body(name="weight", kind="hanging", mass=draw.uniform(0.05, 0.12, count)),
        },
        pulleys={"pulley": Pulley(name="pulley")},
        surfaces={"track": Surface(name="track")},
        strings={"string": String(name="string", path=("cart", "pulley", "weight"))},
        run=Run(object="weight", distance=draw.uniform(0.4, 0.8, count)),
        gravity=GRAVITY,
    )


def closed_formula(apparatus: Apparatus) -> tuple[np.ndarray, ...]:
    """Acceleration, tension, time and final speed, written out by hand."""
    cart, weight = apparatus.bodies["cart"], apparatus.bodies["weight"]
    drop = apparatus.run.distance
    a = (weight.mass - cart.friction * cart.mass) * GRAVITY / (cart.mass + weight.mass)
    tension = weight.mass * (GRAVITY - a)
    return a, tension, np.sqrt(2 * drop / a), np.sqrt(2 * a * drop)


def solved(apparatus: Apparatus) -> tuple[np.ndarray, ...]:
    """The same from the solver."""
    batch = solve_driven(apparatus)
    return (
        batch.accelerations["cart"],
        batch.segment_tensions["string"][0],
        batch.duration,
        batch.end_velocity("cart"),
    )


def seconds(work: Callable[[Apparatus], object], apparatus: Apparatus) -> float:
    """Time of one call."""
    start = time.perf_counter()
    work(apparatus)
    return time.perf_counter() - start


def main(count: int) -> None:
    """Print both times and their ratio."""
    apparatus = cases(count)
    for one, other in zip(closed_formula(apparatus), solved(apparatus), strict=True):
        np.testing.assert_allclose(other, one, rtol=1e-12)
    pairs = [
        (seconds(closed_formula, apparatus), seconds(solved, apparatus)) for _ in range(ROUNDS)
    ]
    formula, solver = (min(times) for times in zip(*pairs, strict=True))
    print(f"{count} level tracks: closed formula {formula * 1e3:.1f} ms, ", end="")
    print(f"solver {solver * 1e3:.1f} ms, ratio {solver / formula:.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
