"""How a scenario file is laid out: the one source of its reader and of its JSON Schema.

Takes nothing; gives the records of every kind of object and of the whole file.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from fallwork.scenario.model import (
    Anchor,
    FormerStep,
    Hanging,
    Object,
    Pulley,
    Quantity,
    Run,
    Slider,
    String,
    Surface,
    SystemChoice,
    Wheels,
)
from fallwork.scenario.names import lab_id, noun
from fallwork.scenario.records import Field, Items, Named, Record, Variants
from fallwork.scenario.report import meant
from fallwork.scenario.shapes import Count, Measure, Reading, Shape, Text, found_in
from fallwork.scenario.tree import Keys, Node, Scalar
from fallwork.scenario.tree import Mapping as MappingNode


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A scenario file as far as it could be read: None stands for what could not."""

    title: str
    objects: Mapping[str, Object | None]
    surfaces: Mapping[str, Surface | None] = field(default_factory=dict)
    strings: Mapping[str, String | None] = field(default_factory=dict)
    run: Run | None = None
    systems: Mapping[str, SystemChoice | None] = field(default_factory=dict)
    former_steps: Mapping[str, FormerStep | None] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Start(Shape):
    """``rest`` or a signed speed."""

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> Quantity | None:
        """None for rest."""
        text = node.text.strip() if isinstance(node, Scalar) else ""
        if text == "rest":
            return None
        if re.search("[0-9]", text):
            return SPEED.read_sound(node, path, reading)
        reading.report.malformed(
            node.place,
            f"{found_in(node)} where rest or a speed should stand",
            meant(text, ["rest"], "write rest, or a signed speed, e.g. 0.30 m/s"),
        )
        return None

    def json_schema(self) -> dict[str, Any]:
        """The word or a speed."""
        return {"anyOf": [{"const": "rest"}, SPEED.json_schema()]}


SPEED = Measure(kind="speed")
MASS = Measure(kind="mass", above=0, bound="a mass must be more than zero")
LENGTH = Measure(kind="length", above=0, bound="it must be more than zero")
COEFFICIENT = Measure(
    kind="coefficient", at_least=0, bound="a coefficient of friction must not be negative"
)
TITLE = Text(what="a title", example="Cart pulled along a level track")
A_NAME = Text(what="a name", example="track")

MOST_OBJECTS = 20  # of objects, of surfaces and of strings: every choice of them is a system

NOUN = Field(
    shape=Text(what="a noun", example="red cart", check=noun),
    says="What every text calls it, without article; left out, the name and kind give it",
)

FRICTION = "Coefficient of kinetic friction; for a cart an effective one"
STATIC_FRICTION = "Coefficient of static friction, where it differs from the kinetic one"


def _kind(word: str) -> Field:
    return Field(
        shape=Text(what="a kind", example=word, pattern=f"^{word}$"),
        says="What sort of object it is",
        required=True,
    )


def _slider(*, kind: str, **values: Any) -> Slider:
    return Slider(kind="cart" if kind == "cart" else "block", **values)


def _without_kind(make: Callable[..., Any], **fixed: Any) -> Callable[..., Any]:
    def made(*, kind: str, **values: Any) -> Any:
        return make(**fixed, **values)

    return made


WHEELS = Record(
    what="a set of wheels",
    make=Wheels,
    fields={
        "count": Field(
            shape=Count(what="the number of wheels", at_least=1, at_most=100),
            says="How many wheels roll",
            required=True,
        ),
        "mass": Field(shape=MASS, says="Mass of one wheel, e.g. 6 g", required=True),
    },
)

_SLIDES: Mapping[str, Field] = {
    "mass": Field(
        shape=MASS,
        says="Mass with everything that rides on it, e.g. 420.0 g ± 0.1 g",
        required=True,
    ),
    "noun": NOUN,
    "runs_on": Field(shape=A_NAME, says="The surface it moves along", required=True),
    "starts_at": Field(
        shape=Measure(kind="length", at_least=0, bound="it must not be negative"),
        says="Where its front end starts, from the back of the surface",
    ),
    "friction": Field(shape=COEFFICIENT, says=f"{FRICTION}; overrides the surface's"),
    "static_friction": Field(shape=COEFFICIENT, says=f"{STATIC_FRICTION}; overrides the surface's"),
}

_TURNS: Mapping[str, Field] = {
    "noun": NOUN,
    "mass": Field(
        shape=MASS, says="Its mass; with a radius and no inertia, that of a uniform disc"
    ),
    "inertia": Field(
        shape=Measure(kind="inertia", at_least=0, bound="a moment of inertia must not be negative"),
        says="Moment of inertia about its axle, e.g. 1.8e-5 kg m²",
    ),
    "radius": Field(shape=LENGTH, says="Radius at which the string runs, e.g. 2.5 cm"),
    "bearing_torque": Field(
        shape=Measure(
            kind="torque", at_least=0, bound="it must not be negative: it opposes the turning"
        ),
        says="Torque by which its bearing opposes the turning, e.g. 0.20 mN m",
    ),
}

OBJECT_KINDS: Mapping[str, Record] = {
    "cart": Record(
        what="a cart",
        named="name",
        make=_slider,
        fields={
            "kind": _kind("cart"),
            **_SLIDES,
            "wheels": Field(shape=WHEELS, says="Uniform discs that roll, contained in its mass"),
        },
    ),
    "block": Record(
        what="a block", named="name", make=_slider, fields={"kind": _kind("block"), **_SLIDES}
    ),
    "hanging": Record(
        what="a hanging mass",
        named="name",
        make=_without_kind(Hanging),
        fields={
            "kind": _kind("hanging"),
            "mass": Field(shape=MASS, says="Its mass with the hanger, e.g. 80.0 g", required=True),
            "noun": NOUN,
            "hangs_from": Field(
                shape=Text(what="a name", example="moving"),
                says="The moving pulley that carries it rigidly",
            ),
        },
    ),
    "pulley": Record(
        what="a pulley",
        named="name",
        make=_without_kind(Pulley),
        fields={"kind": _kind("pulley"), **_TURNS},
    ),
    "moving pulley": Record(
        what="a moving pulley",
        named="name",
        make=_without_kind(Pulley, moving=True),
        fields={"kind": _kind("moving pulley"), **_TURNS},
    ),
    "anchor": Record(
        what="an anchor",
        named="name",
        make=_without_kind(Anchor),
        fields={"kind": _kind("anchor"), "noun": NOUN},
    ),
}


SURFACE = Record(
    what="a surface",
    make=Surface,
    named="name",
    fields={
        "noun": NOUN,
        "slope": Field(
            shape=Measure(
                kind="angle",
                at_least=-math.pi / 2,
                at_most=math.pi / 2,
                bound="a slope is at least −90 deg and at most 90 deg",
            ),
            says="Positive where its front is higher, e.g. 0 deg ± 0.05 deg",
            required=True,
        ),
        "friction": Field(shape=COEFFICIENT, says=FRICTION, required=True),
        "static_friction": Field(shape=COEFFICIENT, says=STATIC_FRICTION),
        "length": Field(shape=LENGTH, says="From its back to its front, e.g. 1.20 m"),
    },
)

RUN = Record(
    what="a run",
    make=Run,
    fields={
        "start": Field(
            shape=Start(),
            says="rest, or the signed speed of `object` at the start",
            required=True,
            attribute="speed",
        ),
        "object": Field(
            shape=A_NAME, says="The object that `start` and `distance` speak of", required=True
        ),
        "distance": Field(
            shape=LENGTH, says="How far `object` has moved when the driven part ends"
        ),
        "until": Field(
            shape=Measure(kind="time", above=0, bound="it must be more than zero"),
            says="The time after release at which the run ends at the latest",
        ),
    },
)

RESERVED = {
    "bench": "what is fixed in the room",
    "earth": "Earth (written with a capital)",
    "run": "the run",
    "systems": "the choices of system",
}


def _string(path: Keys, passes: tuple[str, ...]) -> String:
    return String(name=path[-1], path=passes)


STRING = Items(
    what="the list of a string",
    example="[cart, pulley, weight]",
    at_least=2,
    item=Text(what="a name", example="cart"),
    make=_string,
    stand_in=None,
)

SYSTEM = Record(
    what="a choice of system",
    make=SystemChoice,
    named="id",
    fields={
        "title": Field(shape=TITLE, says="What the pages call it", required=True),
        "members": Field(
            shape=Items(
                what="the members",
                example="[cart, weight, string, Earth]",
                item=Text(what="a name", example="cart"),
            ),
            says="Objects, surfaces, strings and Earth",
            required=True,
        ),
    },
)


@dataclass(frozen=True, kw_only=True)
class Former(Shape):
    """The id of the step that is in its place now, or ``{because: …}`` where there is none."""

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> FormerStep | None:
        """The former step; None where it can't be read."""
        if isinstance(node, MappingNode):
            gone: FormerStep | None = _GONE.read_sound(node, path, reading)
            return gone
        now = _STEP.read_sound(node, path, reading)
        return FormerStep(id=path[-1], now=now) if now else None

    def json_schema(self) -> dict[str, Any]:
        """Either of the two."""
        return {"anyOf": [_STEP.json_schema(), _GONE.json_schema()]}


_STEP = Text(
    what="the id of a step",
    example="diagram-cart, or {because: the prelab treats it with the tension}",
    check=partial(lab_id, what="the step's id"),
)
_GONE = Record(
    what="a step that was taken out",
    make=FormerStep,
    named="id",
    fields={
        "because": Field(
            shape=Text(what="a reason", example="the prelab treats it with the tension"),
            says="What its address says now",
            required=True,
        )
    },
)

SCENARIO = Record(
    what="a scenario",
    make=Draft,
    fields={
        "title": Field(shape=TITLE, says="What the pages call the set-up", required=True),
        "objects": Field(
            shape=Named(
                what="the name",
                of="an object",
                value=Variants(what="an object", records=OBJECT_KINDS),
                at_least=1,
                at_most=MOST_OBJECTS,
                shared=True,
                reserved=RESERVED,
            ),
            says="Carts, blocks, hanging masses, pulleys and anchors by name",
            required=True,
        ),
        "surfaces": Field(
            shape=Named(
                what="the name",
                of="a surface",
                value=SURFACE,
                at_most=MOST_OBJECTS,
                shared=True,
                reserved=RESERVED,
            ),
            says="Tracks and table tops by name",
        ),
        "strings": Field(
            shape=Named(
                what="the name",
                of="a string",
                value=STRING,
                at_most=MOST_OBJECTS,
                shared=True,
                reserved=RESERVED,
            ),
            says="For each string what it passes, from back to front",
        ),
        "run": Field(shape=RUN, says="One release: how it starts and what ends it", required=True),
        "systems": Field(
            shape=Named(what="the id", of="a choice of system", value=SYSTEM),
            says="The choices of system on which the pages dwell",
        ),
        "former_steps": Field(
            shape=Named(what="the step's id", of="a former step", value=Former(), check=lab_id),
            says="Steps that have been published under another id, or were taken out",
        ),
    },
)
