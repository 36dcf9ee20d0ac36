"""What a scenario file says, validated and in SI units: the set-up of one lab.

All classes are frozen; mappings keep the order of the file. What a class says of its keys is
all that is said of them (see ``records``).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import Annotated, Any, ClassVar, Literal, get_args

from fallwork.errors import Place
from fallwork.scenario.notation import USUAL, Notation
from fallwork.scenario.nouns import Nouns, lab_id, noun
from fallwork.scenario.quantity import Given, Quantity
from fallwork.scenario.records import Key, Record, in_order, items, named, variants
from fallwork.scenario.shapes import Shape, by_form, measure, or_word, text, whole
from fallwork.scenario.tree import Mapping as Braces
from fallwork.scenario.tree import Scalar

TITLE = text("a title", "Cart pulled along a level track")
A_NAME = text("a name", "track")
SliderKind = Literal["cart", "glider", "block"]
SLIDERS: tuple[str, ...] = get_args(SliderKind)
MOST_OBJECTS = 20  # of objects, of surfaces and of strings: every choice of them is a system

_HINT = "write rest, or a signed speed, e.g. 0.30 m/s"
_START = or_word("rest", measure("speed"), "a speed", _HINT)
_MEMBERS = items("the members", "[cart, weight, string, Earth]", text("a name", "cart"))
_TAKEN_OUT = text("a reason", "the prelab treats it with the tension")
_SURFACE = Key(A_NAME, kinds=("surface",))
_HELD = "; what a string holds stands in its list"
_CARRIER = Key(text("a name", "moving"), kinds=("moving pulley",), more=_HELD)
Noun = Annotated[str, text("a noun", "red cart", noun)]


@dataclass(frozen=True, kw_only=True)
class Wheels:
    """Uniform discs that roll; their mass is contained in that of the cart."""

    count: Annotated[int, whole("the number of wheels", 1, 100)]
    mass: Annotated[Quantity, measure("mass")]


@dataclass(frozen=True, kw_only=True)
class Slider:
    """What moves along a surface: a cart, a glider or a block. Positive sense: forward."""

    outside: ClassVar = ""
    name: str
    kind: SliderKind
    mass: Annotated[Quantity, measure("mass")]
    noun: Noun = ""
    runs_on: Annotated[str, _SURFACE]
    starts_at: Annotated[Given, measure("place")] = None
    friction: Annotated[Given, measure("coefficient")] = None
    static_friction: Annotated[Given, measure("coefficient")] = None
    wheels: Annotated[Wheels | None, Record("a set of wheels", Wheels)] = None


@dataclass(frozen=True, kw_only=True)
class Hanging:
    """What hangs: from a string, or rigidly from a moving pulley. Positive sense: downward."""

    kind: ClassVar = "hanging"
    outside: ClassVar = ""
    name: str
    mass: Annotated[Quantity, measure("mass")]
    noun: Noun = ""
    hangs_from: Annotated[str | None, _CARRIER] = None


@dataclass(frozen=True, kw_only=True)
class Pulley:
    """Fixed to the bench, or moving up and down in a string or at the end of one."""

    outside: ClassVar = ""
    name: str
    moving: bool = False
    noun: Noun = ""
    mass: Annotated[Given, measure("mass")] = None
    inertia: Annotated[Given, measure("inertia")] = None
    radius: Annotated[Given, measure("length")] = None
    bearing_torque: Annotated[Given, measure("torque")] = None

    @property
    def kind(self) -> str:
        """As in files."""
        return "moving pulley" if self.moving else "pulley"


@dataclass(frozen=True, kw_only=True)
class Anchor:
    """A point of the bench to which a string is tied."""

    kind: ClassVar = "anchor"
    outside: ClassVar = "belongs to what is fixed in the room"  # so no system has it
    name: str
    noun: Noun = ""


Object = Slider | Hanging | Pulley | Anchor


@dataclass(frozen=True, kw_only=True)
class Surface:
    """A track or table top, at rest. Its front is where ``slope`` counts as up."""

    kind: ClassVar = "surface"
    name: str
    noun: Noun = ""
    slope: Annotated[Quantity, measure("slope")]
    friction: Annotated[Quantity, measure("coefficient")]
    static_friction: Annotated[Given, measure("coefficient")] = None
    length: Annotated[Given, measure("length")] = None


@dataclass(frozen=True, kw_only=True)
class String:
    """A massless inextensible string and what it passes, from back to front."""

    name: str
    path: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Run:
    """One release. ``speed`` is the signed start speed of ``object``; None is rest."""

    kind: ClassVar = "run"
    speed: Annotated[Given, Key(_START, key="start", must=True)] = None
    object: Annotated[str, A_NAME]
    distance: Annotated[Given, measure("length")] = None
    until: Annotated[Given, measure("duration")] = None


@dataclass(frozen=True, kw_only=True)
class SystemChoice:
    """A choice of system on which the pages dwell."""

    id: str
    title: Annotated[str, TITLE]
    members: Annotated[tuple[str, ...], _MEMBERS]


@dataclass(frozen=True, kw_only=True)
class FormerStep:
    """A step's address that was published and is another's now, or nobody's."""

    id: str
    now: str = ""  # the step that has taken its place; "": none
    because: Annotated[str, Key(_TAKEN_OUT, must=True)] = ""  # or why


_NOW = text(
    "the id of a step",
    "diagram-cart, or {because: the prelab treats it with the tension}",
    partial(lab_id, what="the step's id"),
).then(lambda now, path, _: FormerStep(id=path[-1], now=now))
_FORMER = by_form({Scalar: _NOW, Braces: Record("a step that was taken out", FormerStep)})


def _slider(kind: Any) -> Record:
    without = "" if kind == "cart" else "wheels"
    return Record(f"a {kind}", Slider, partial(Slider, kind=kind), kind=kind, without=without)


_LIFT, _lift = "moving pulley", partial(Pulley, moving=True)
OBJECT_KINDS: Mapping[str, Record] = {
    **{kind: _slider(kind) for kind in SLIDERS},
    "hanging": Record("a hanging mass", Hanging, kind="hanging"),
    "pulley": Record("a pulley", Pulley, kind="pulley"),
    _LIFT: Record(f"a {_LIFT}", Pulley, _lift, kind=_LIFT),
    "anchor": Record("an anchor", Anchor, kind="anchor"),
}
RECORDS = {**OBJECT_KINDS, "surface": Record("a surface", Surface), "run": Record("a run", Run)}
_PASSED = items("the list of a string", "[cart, pulley, weight]", text("a name", "cart"), 2)
_STRING = _PASSED.then(lambda passes, path, _: String(name=path[-1], path=passes))
_SYSTEM = Record("a choice of system", SystemChoice)
_RESERVED = {
    "bench": "what is fixed in the room",
    "earth": "Earth (written with a capital)",
    "run": "the run",
    "systems": "the choices of system",
}


def _things(of: str, value: Shape, at_least: int = 0) -> Shape:
    """Names out of the one namespace that objects, surfaces and strings share."""
    return named("the name", of, value, at_least=at_least, at_most=MOST_OBJECTS, reserved=_RESERVED)


_OBJECTS = _things("an object", variants("an object", OBJECT_KINDS), at_least=1)
_SURFACES, _STRINGS = _things("a surface", RECORDS["surface"]), _things("a string", _STRING)
_SYSTEMS = in_order(named("the id", "a choice of system", _SYSTEM))
_STEPS = in_order(named("the step's id", "a former step", _FORMER, lab_id))


@dataclass(frozen=True, kw_only=True)
class Scenario:
    """One lab set-up with its numbers."""

    id: str  # the file's stem
    title: Annotated[str, TITLE]
    objects: Annotated[Mapping[str, Object], _OBJECTS]
    surfaces: Annotated[Mapping[str, Surface], _SURFACES] = field(default_factory=dict)
    strings: Annotated[Mapping[str, String], _STRINGS] = field(default_factory=dict)
    run: Annotated[Run, RECORDS["run"]]
    systems: Annotated[tuple[SystemChoice, ...], _SYSTEMS] = ()
    former_steps: Annotated[tuple[FormerStep, ...], _STEPS] = ()  # of any page of this set-up
    notation: Notation = field(default=USUAL, compare=False, repr=False)  # of its course
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)
    # ^ where names stand in the file, and values by their paths: "cart", "run.start"

    @cached_property
    def nouns(self) -> Nouns:
        """What everything in it is called."""
        things = {**self.objects, **self.surfaces}
        called = {name: (thing.kind, thing.noun) for name, thing in things.items()}
        called |= dict.fromkeys(self.strings, ("string", ""))
        return Nouns(called, self.notation.hanging_mass)

    def worded(self, text: str) -> str:
        """A text about it in the words of its course and of its author."""
        return self.nouns.worded(self.notation.worded(text))


SCENARIO = Record("a scenario", Scenario)
