"""Random set-ups, each with the place where everything stands at the start.

The places (depths below the bench, distances along surfaces) let a test measure the strings as
lengths between points, without any rule about signs.
"""

import itertools
import math
import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from fallwork.mechanics import Apparatus
from fallwork.mechanics.apparatus import Body, Pulley, Run, String, Surface

FAR = 50.0  # m: nothing gets that far in these runs


@dataclass(frozen=True, kw_only=True)
class Scene:
    """An apparatus and where its things stand."""

    apparatus: Apparatus
    depth: dict[str, float]  # m below the bench, of what strings meet upright
    along: dict[tuple[str, str], float]  # (surface, name) -> m from some point of the surface


@dataclass(kw_only=True)
class Builder:
    """Puts a scene together piece by piece."""

    rng: random.Random
    friction: bool = True
    static: bool = False
    bodies: dict[str, Body] = field(default_factory=dict)
    pulleys: dict[str, Pulley] = field(default_factory=dict)
    surfaces: dict[str, Surface] = field(default_factory=dict)
    strings: dict[str, String] = field(default_factory=dict)
    anchors: list[str] = field(default_factory=list)
    depth: dict[str, float] = field(default_factory=dict)
    along: dict[tuple[str, str], float] = field(default_factory=dict)

    def name(self, stem: str) -> str:
        taken = len(self.bodies) + len(self.pulleys) + len(self.strings) + len(self.anchors)
        return f"{stem}{taken}"

    def mass(self, low: float = 0.02, high: float = 2.0) -> float:
        return math.exp(self.rng.uniform(math.log(low), math.log(high)))

    def surface(self, degrees: float | None = None) -> str:
        name = f"surface{len(self.surfaces)}"
        steep = self.rng.choice([0.0, self.rng.uniform(-60, 60)]) if degrees is None else degrees
        self.surfaces[name] = Surface(name=name, slope=math.radians(steep))
        return name

    def slider(self, surface: str, place: float, *, wheels: bool = False) -> str:
        name = self.name("cart")
        mass = self.mass(0.1, 2.0)
        kinetic = self.rng.choice([0.0, self.rng.uniform(0.0, 0.4)]) if self.friction else 0.0
        static = kinetic * self.rng.uniform(1.0, 1.6) if self.static else None
        rolling = mass * self.rng.uniform(0.0, 0.3) if wheels else 0.0
        self.bodies[name] = Body(
            name=name,
            kind="cart",
            mass=mass,
            surface=surface,
            friction=kinetic,
            static_friction=static,
            wheel_mass=rolling,
        )
        self.along[surface, name] = place
        return name

    def train(self, surface: str, count: int, *, wheels: bool = False) -> list[str]:
        """Coupled carts, the rear one first."""
        carts = [self.slider(surface, float(at), wheels=wheels) for at in range(count)]
        for rear, front in itertools.pairwise(carts):
            self.string([rear, front])
        return carts

    def weight(self, depth: float, **more: str) -> str:
        name = self.name("weight")
        self.bodies[name] = Body(name=name, kind="hanging", mass=self.mass(), **more)
        self.depth[name] = depth
        return name

    def pulley(self, *, turning: bool = False, torque: bool = False) -> str:
        name = self.name("pulley")
        self.pulleys[name] = self._pulley(name, moving=False, turning=turning, torque=torque)
        self.depth[name] = 0.0
        return name

    def moving(self, depth: float, *, heavy: bool = False, turning: bool = False) -> str:
        name = self.name("moving")
        self.pulleys[name] = self._pulley(
            name, moving=True, turning=turning, torque=False, mass=self.mass() if heavy else 0.0
        )
        self.depth[name] = depth
        return name

    def _pulley(
        self, name: str, *, moving: bool, turning: bool, torque: bool, mass: float = 0.0
    ) -> Pulley:
        radius = self.rng.uniform(0.01, 0.1)
        return Pulley(
            name=name,
            moving=moving,
            mass=mass,
            radius=radius,
            inertia=self.mass(0.01, 0.5) * radius**2 if turning else 0.0,
            bearing_torque=self.rng.uniform(0.0, 0.3) * radius if torque else 0.0,
        )

    def anchor(self, *, depth: float | None = None) -> str:
        name = self.name("hook")
        self.anchors.append(name)
        if depth is not None:
            self.depth[name] = depth
        return name

    def string(self, path: list[str]) -> str:
        name = self.name("string")
        self.strings[name] = String(name=name, path=tuple(path))
        return name

    def scene(self, run: Run, gravity: float = 9.80665) -> Scene:
        return Scene(
            apparatus=Apparatus(
                bodies=self.bodies,
                pulleys=self.pulleys,
                anchors=tuple(self.anchors),
                surfaces=self.surfaces,
                strings=self.strings,
                run=run,
                gravity=gravity,
            ),
            depth=self.depth,
            along=self.along,
        )

    # ---- pieces that end a string which comes over a fixed pulley

    def hang_weight(self) -> list[str]:
        return [self.weight(2.0)]

    def hang_bight(self) -> list[str]:
        """A moving pulley in the string, with a load, and a hook on the bench."""
        moving = self.moving(3.0, heavy=self.rng.random() < 0.5)
        self.weight(3.0, hangs_from=moving)
        return [moving, self.anchor(depth=0.0)]

    def hang_turning_bight(self) -> list[str]:
        moving = self.moving(3.0, heavy=True, turning=True)
        return [moving, self.anchor(depth=0.0)]

    def hang_compound(self) -> list[str]:
        """A moving pulley at the end of the string, with another string over it."""
        hung = self.moving(2.0, heavy=self.rng.random() < 0.7, turning=self.rng.random() < 0.3)
        self.string([self.weight(5.0), hung, self.weight(6.0)])
        return [hung]

    def hang_half_tied(self) -> list[str]:
        """A moving pulley at the end of the string; the string over it is tied to the floor."""
        hung = self.moving(2.0, heavy=self.rng.random() < 0.7)
        self.string([self.weight(5.0), hung, self.anchor(depth=FAR)])
        return [hung]

    def hang_chain(self) -> list[str]:
        """A weight below a weight."""
        upper = self.weight(2.0)
        self.string([upper, self.weight(4.0)])
        return [upper]

    def hang_slider(self) -> list[str]:
        """A cart on another surface, which the string reaches from behind."""
        surface = self.surface(-abs(self.rng.uniform(5, 80)))
        cart = self.slider(surface, 5.0)
        self.along[surface, "pulley"] = 0.0
        return [cart]

    def hang_drum(self) -> list[str]:
        drum = self.pulley(turning=True, torque=self.rng.random() < 0.5)
        return [drum]

    def hang_tackle(self) -> list[str]:
        """A moving pulley passed twice, with a fixed one between."""
        moving = self.moving(3.0)
        self.weight(3.0, hangs_from=moving)
        return [moving, self.pulley(), moving, self.anchor(depth=0.0)]


Piece = Callable[[Builder], list[str]]
PIECES: tuple[Piece, ...] = (
    Builder.hang_weight,
    Builder.hang_bight,
    Builder.hang_turning_bight,
    Builder.hang_compound,
    Builder.hang_half_tied,
    Builder.hang_chain,
    Builder.hang_slider,
    Builder.hang_drum,
    Builder.hang_tackle,
)


def _pick_run(build: Builder, *, push: bool | None = None) -> Run:
    """Some object, some distance, at rest or pushed."""
    rng = build.rng
    choices = list(build.bodies) + [n for n, p in build.pulleys.items() if p.moving]
    pushed = rng.random() < 0.3 if push is None else push
    return Run(
        object=rng.choice(choices),
        distance=rng.uniform(0.2, 1.0),
        speed=rng.uniform(-1.5, 1.5) if pushed else 0.0,
    )


def level_track(build: Builder) -> Scene:
    return _pulled(build, 0.0, 1, Builder.hang_weight)


def incline(build: Builder) -> Scene:
    return _pulled(build, build.rng.uniform(5, 70), 1, Builder.hang_weight)


def falling_slope(build: Builder) -> Scene:
    return _pulled(build, build.rng.uniform(-70, -5), 1, Builder.hang_weight)


def two_weights(build: Builder) -> Scene:
    left, pulley = build.weight(2.0), build.pulley()
    build.string([left, pulley, build.weight(3.0)])
    return build.scene(_pick_run(build))


def pulley_with_inertia(build: Builder) -> Scene:
    return _pulled(build, build.rng.uniform(-20, 40), 1, Builder.hang_weight, turning=True)


def train(build: Builder) -> Scene:
    return _pulled(build, None, build.rng.randint(2, 3), Builder.hang_weight)


def moving_pulley(build: Builder) -> Scene:
    return _pulled(build, 0.0, 1, Builder.hang_bight)


def push(build: Builder) -> Scene:
    return _pulled(build, build.rng.choice([0.0, 20.0]), 1, Builder.hang_weight, push=True)


def several_freedoms(build: Builder) -> Scene:
    return _pulled(build, 0.0, 1, Builder.hang_compound)


def drum(build: Builder) -> Scene:
    drum_, weight = build.pulley(turning=True, torque=build.rng.random() < 0.5), build.weight(2.0)
    build.string([drum_, weight])
    return build.scene(_pick_run(build))


def between_two_weights(build: Builder) -> Scene:
    surface = build.surface()
    (cart,) = build.train(surface, 1)
    back, front = build.pulley(), build.pulley()
    build.along[surface, back], build.along[surface, front] = -FAR, FAR
    build.string([build.weight(2.0), back, cart])
    build.string([cart, front, build.weight(2.5)])
    return build.scene(_pick_run(build))


def wheels(build: Builder) -> Scene:
    return _pulled(build, None, build.rng.randint(1, 2), Builder.hang_weight, wheels=True)


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
        _join(build, cart, pulley, piece(build), forward=place > 0)
    return build.scene(_pick_run(build))


def _join(build: Builder, cart: str, pulley: str, rest: list[str], *, forward: bool) -> None:
    last = rest[-1]
    surface = build.bodies[last].surface if last in build.bodies else None
    if surface is not None and not forward:  # seen from a string that pulls backward, it is behind
        slope = build.surfaces[surface].slope
        build.surfaces[surface] = Surface(name=surface, slope=-slope)
        build.along[surface, last] = -build.along[surface, last]
    if surface is not None:
        build.along[surface, pulley] = build.along.pop((surface, "pulley"))
    path = [cart, pulley, *rest]
    build.string(path if forward else path[::-1])


def _pulled(
    build: Builder,
    degrees: float | None,
    count: int,
    piece: Piece,
    *,
    turning: bool = False,
    wheels: bool = False,
    push: bool | None = None,
) -> Scene:
    """A train pulled over one fixed pulley by what hangs on the other side."""
    surface = build.surface(degrees)
    carts = build.train(surface, count, wheels=wheels)
    pulley = build.pulley(turning=turning, torque=turning and build.rng.random() < 0.5)
    build.along[surface, pulley] = FAR
    build.string([carts[-1], pulley, *piece(build)])
    return build.scene(_pick_run(build, push=push))


KINDS: dict[str, Callable[[Builder], Scene]] = {
    "level track": level_track,
    "incline": incline,
    "slope that falls towards the pulley": falling_slope,
    "two weights": two_weights,
    "pulley with inertia": pulley_with_inertia,
    "train": train,
    "moving pulley": moving_pulley,
    "push": push,
    "several freedoms": several_freedoms,
    "drum": drum,
    "between two weights": between_two_weights,
    "wheels": wheels,
    "composite": composite,
}


def random_scene(kind: str, seed: int, *, static: bool = False) -> Scene:
    """The same scene for the same kind and seed."""
    return KINDS[kind](Builder(rng=random.Random(f"{kind}/{seed}"), static=static))


def without_inertia(apparatus: Apparatus, seed: int) -> Apparatus:
    """The apparatus with massless pulleys, most of the fixed ones braked."""
    rng = random.Random(seed)

    def lighter(pulley: Pulley) -> Pulley:
        braked = not pulley.moving and rng.random() < 0.7
        torque = rng.uniform(0.0, 0.3) * float(pulley.radius or 0.0) if braked else 0.0
        return replace(pulley, mass=0.0, inertia=0.0, bearing_torque=torque)

    pulleys = {name: lighter(pulley) for name, pulley in apparatus.pulleys.items()}
    return replace(apparatus, pulleys=pulleys)
