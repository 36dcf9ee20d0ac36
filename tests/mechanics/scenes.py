"""Random set-ups, each with the place where everything stands at the start, so that a test can
measure the strings as lengths between points, without any rule about signs.
"""

import math
import random
from collections.abc import Callable
from dataclasses import replace
from itertools import chain, pairwise
from typing import Any, NamedTuple

from fallwork.mechanics import Apparatus
from fallwork.mechanics.apparatus import Body, Pulley, Run, Surface
from mechanics.kit import GROUPS, apparatus, rewritten, thing

FAR = 50.0  # m: nothing gets that far in these runs


class Scene(NamedTuple):
    apparatus: Apparatus
    depth: dict[str, float]  # m below the bench, of what strings meet upright
    along: dict[tuple[str, str], float]  # (surface, name) -> m from some point of the surface


class Builder:
    def __init__(self, rng: random.Random, static: bool = False) -> None:
        self.rng, self.static = rng, static
        self.bodies: dict[str, Body] = {}
        self.pulleys: dict[str, Pulley] = {}
        self.surfaces: dict[str, Surface] = {}
        self.paths: dict[str, tuple[str, ...]] = {}
        self.anchors: list[str] = []
        self.depth: dict[str, float] = {}
        self.along: dict[tuple[str, str], float] = {}

    def name(self, stem: str) -> str:
        taken = (self.bodies, self.pulleys, self.paths, self.anchors)
        return f"{stem}{sum(map(len, taken))}"

    def mass(self, low: float = 0.02, high: float = 2.0) -> float:
        return math.exp(self.rng.uniform(math.log(low), math.log(high)))

    def surface(self, degrees: float | None = None) -> str:
        name = f"surface{len(self.surfaces)}"
        steep = self.rng.choice([0.0, self.rng.uniform(-60, 60)]) if degrees is None else degrees
        self.surfaces[name] = Surface(name=name, slope=math.radians(steep))
        return name

    def slider(self, surface: str, place: float, *, wheels: bool = False) -> str:
        name, mass = self.name("cart"), self.mass(0.1, 2.0)
        kinetic = self.rng.choice([0.0, self.rng.uniform(0.0, 0.4)])
        static = kinetic * self.rng.uniform(1.0, 1.6) if self.static else None
        rubs: dict[str, Any] = {"friction": kinetic, "static_friction": static}
        rolling = mass * self.rng.uniform(0.0, 0.3) if wheels else 0.0
        self.bodies[name] = thing("cart", name, mass, surface=surface, wheel_mass=rolling, **rubs)
        self.along[surface, name] = place
        return name

    def train(self, surface: str, count: int, *, wheels: bool = False) -> list[str]:
        """Coupled carts, the rear one first."""
        carts = [self.slider(surface, float(at), wheels=wheels) for at in range(count)]
        for pair in pairwise(carts):
            self.string(*pair)
        return carts

    def weight(self, depth: float, **more: str) -> str:
        name = self.name("weight")
        self.bodies[name] = thing("hanging", name, self.mass(), **more)
        self.depth[name] = depth
        return name

    def pulley(self, *, turning: bool = False, torque: bool = False) -> str:
        return self._pulley("pulley", 0.0, turning, torque=torque)

    def moving(self, depth: float, *, heavy: bool = False, turning: bool = False) -> str:
        return self._pulley("moving", depth, turning, moving=True, mass=heavy and self.mass())

    def _pulley(
        self, stem: str, depth: float, turning: bool, *, torque: bool = False, **more: Any
    ) -> str:
        name, radius = self.name(stem), self.rng.uniform(0.01, 0.1)
        self.pulleys[name] = Pulley(
            name=name,
            radius=radius,
            inertia=self.mass(0.01, 0.5) * radius**2 if turning else 0.0,
            bearing_torque=self.rng.uniform(0.0, 0.3) * radius if torque else 0.0,
            **{key: value or 0.0 for key, value in more.items()},
        )
        self.depth[name] = depth
        return name

    def anchor(self, depth: float = 0.0) -> str:
        name = self.name("hook")
        self.anchors.append(name)
        self.depth[name] = depth
        return name

    def string(self, *path: str) -> str:
        name = self.name("string")
        self.paths[name] = path
        return name

    def scene(self, push: bool | None = None) -> Scene:
        """Run by some object over some distance, at rest or pushed."""
        choices = list(self.bodies) + [n for n, p in self.pulleys.items() if p.moving]
        pushed = self.rng.random() < 0.3 if push is None else push
        moved, distance = self.rng.choice(choices), self.rng.uniform(0.2, 1.0)
        speed = self.rng.uniform(-1.5, 1.5) if pushed else 0.0
        things = chain(*(held.values() for held in (self.bodies, self.pulleys, self.surfaces)))
        run, paths = Run(object=moved, distance=distance, speed=speed), self.paths
        made = apparatus(*things, strings=paths, run=run, anchors=self.anchors)
        return Scene(made, self.depth, self.along)

    # ---- pieces that end a string which comes over a fixed pulley
    def hang_weight(self) -> list[str]:
        return [self.weight(2.0)]

    def hang_bight(self) -> list[str]:
        """A moving pulley in the string, with a load, and a hook on the bench."""
        moving = self.moving(3.0, heavy=self.rng.random() < 0.5)
        self.weight(3.0, hangs_from=moving)
        return [moving, self.anchor()]

    def hang_turning_bight(self) -> list[str]:
        return [self.moving(3.0, heavy=True, turning=True), self.anchor()]

    def hang_compound(self) -> list[str]:
        """A moving pulley at the end of the string, with another string over it."""
        hung = self.moving(2.0, heavy=self.rng.random() < 0.7, turning=self.rng.random() < 0.3)
        self.string(self.weight(5.0), hung, self.weight(6.0))
        return [hung]

    def hang_half_tied(self) -> list[str]:
        """A moving pulley at the end of the string; the string over it is tied to the floor."""
        hung = self.moving(2.0, heavy=self.rng.random() < 0.7)
        self.string(self.weight(5.0), hung, self.anchor(FAR))
        return [hung]

    def hang_chain(self) -> list[str]:
        upper = self.weight(2.0)
        self.string(upper, self.weight(4.0))
        return [upper]

    def hang_slider(self) -> list[str]:
        """A cart on another surface, which the string reaches from behind."""
        surface = self.surface(-abs(self.rng.uniform(5, 80)))
        cart = self.slider(surface, 5.0)
        self.along[surface, "pulley"] = 0.0
        return [cart]

    def hang_drum(self) -> list[str]:
        return [self.pulley(turning=True, torque=self.rng.random() < 0.5)]


Piece = Callable[[Builder], list[str]]
PIECES: list[Piece] = [piece for name, piece in vars(Builder).items() if name.startswith("hang_")]


def pulled(
    build,
    degrees=0.0,
    count=1,
    piece=Builder.hang_weight,
    *,
    turning=False,
    wheels=False,
    push=None,
) -> Scene:
    """A train pulled over one fixed pulley by what hangs on the other side."""
    surface = build.surface(degrees)
    carts = build.train(surface, count, wheels=wheels)
    pulley = build.pulley(turning=turning, torque=turning and build.rng.random() < 0.5)
    build.along[surface, pulley] = FAR
    build.string(carts[-1], pulley, *piece(build))
    return build.scene(push)


def two_weights(build: Builder) -> Scene:
    left, pulley = build.weight(2.0), build.pulley()
    build.string(left, pulley, build.weight(3.0))
    return build.scene()


def drum(build: Builder) -> Scene:
    build.string(*build.hang_drum(), build.weight(2.0))
    return build.scene()


def between_two_weights(build: Builder) -> Scene:
    surface = build.surface()
    (cart,) = build.train(surface, 1)
    back, front = build.pulley(), build.pulley()
    build.along[surface, back], build.along[surface, front] = -FAR, FAR
    build.string(build.weight(2.0), back, cart)
    build.string(cart, front, build.weight(2.5))
    return build.scene()


def composite(build: Builder) -> Scene:
    """Carts on wheels, slopes, pulleys that turn or move, all in one."""
    rng = build.rng
    surface = build.surface()
    carts = build.train(surface, rng.randint(1, 3), wheels=rng.random() < 0.5)
    ends = [(carts[-1], FAR, rng.choice(PIECES))]
    if rng.random() < 0.4:
        ends.append((carts[0], -FAR, rng.choice(PIECES)))
    for cart, place, piece in ends:
        pulley = build.pulley(turning=rng.random() < 0.4, torque=rng.random() < 0.2)
        build.along[surface, pulley] = place
        path = [cart, pulley, *piece(build)]
        _turn_surface(build, pulley, path[-1], forward=place > 0)
        build.string(*(path if place > 0 else path[::-1]))
    return build.scene()


def _turn_surface(build: Builder, pulley: str, last: str, *, forward: bool) -> None:
    """Seen from a string that pulls backward, a cart at its other end is behind."""
    surface = build.bodies[last].surface if last in build.bodies else None
    if surface is None:
        return
    if not forward:
        build.surfaces[surface] = Surface(name=surface, slope=-build.surfaces[surface].slope)
        build.along[surface, last] *= -1
    build.along[surface, pulley] = build.along.pop((surface, "pulley"))


KINDS: dict[str, Callable[[Builder], Scene]] = {
    "level track": pulled,
    "incline": lambda build: pulled(build, build.rng.uniform(5, 70)),
    "slope that falls towards the pulley": lambda build: pulled(build, build.rng.uniform(-70, -5)),
    "two weights": two_weights,
    "pulley with inertia": lambda b: pulled(b, b.rng.uniform(-20, 40), turning=True),
    "train": lambda build: pulled(build, None, build.rng.randint(2, 3)),
    "moving pulley": lambda build: pulled(build, piece=Builder.hang_bight),
    "push": lambda build: pulled(build, build.rng.choice([0.0, 20.0]), push=True),
    "several freedoms": lambda build: pulled(build, piece=Builder.hang_compound),
    "drum": drum,
    "between two weights": between_two_weights,
    "wheels": lambda build: pulled(build, None, build.rng.randint(1, 2), wheels=True),
    "composite": composite,
}


def random_scene(kind: str, seed: int, *, static: bool = False) -> Scene:
    return KINDS[kind](Builder(random.Random(f"{kind}/{seed}"), static))


def renamed(scene: Scene, seed: int) -> Scene:
    """The scene with the names of its things exchanged, and each kind in the order of the new."""
    names = [*scene.apparatus.anchors, *(n for g in GROUPS for n in getattr(scene.apparatus, g))]
    new = dict(zip(names, random.Random(seed).sample(names, len(names)), strict=True))
    other = Scene(
        *rewritten(tuple(scene), lambda each: new.get(each) if isinstance(each, str) else None)
    )
    groups = {group: dict(sorted(getattr(other.apparatus, group).items())) for group in GROUPS}
    return other._replace(apparatus=replace(other.apparatus, **groups))
