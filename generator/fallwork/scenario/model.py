"""What a course's files say, validated and in SI units: the vocabulary of every later stage.

All classes are frozen; mappings keep the order of the file.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Literal


@dataclass(frozen=True, kw_only=True)
class Quantity:
    """A value with its unit and standard uncertainty, and how its author wrote it."""

    kind: str  # a kind of the unit table: mass, length, angle, coefficient, ...
    value: float  # in the SI unit of its kind
    u: float = 0.0  # standard uncertainty, same unit (JCGM 100:2008, 4.3.7 for limits)
    number: str  # the digits as written, e.g. "420.0"
    unit: str  # the unit as written, e.g. "g"; "" for a plain number
    uncertainty: str = ""  # as written after the sign, e.g. "0.1 g" or "1 mm limits"


@dataclass(frozen=True, kw_only=True)
class Wheels:
    """Uniform discs that roll; their mass is contained in that of the cart."""

    count: int
    mass: Quantity  # of one wheel


@dataclass(frozen=True, kw_only=True)
class Slider:
    """What moves along a surface: a cart or a block. Positive sense: forward."""

    name: str
    kind: Literal["cart", "block"]
    mass: Quantity  # with everything that rides on it
    runs_on: str  # a surface
    starts_at: Quantity | None = None  # front end, from the back of the surface
    friction: Quantity | None = None  # overrides the surface's
    static_friction: Quantity | None = None
    wheels: Wheels | None = None


@dataclass(frozen=True, kw_only=True)
class Hanging:
    """What hangs: from a string, or rigidly from a moving pulley. Positive sense: downward."""

    name: str
    mass: Quantity
    hangs_from: str | None = None  # a moving pulley


@dataclass(frozen=True, kw_only=True)
class Pulley:
    """Fixed to the bench, or moving up and down in a string or at the end of one."""

    name: str
    moving: bool = False
    mass: Quantity | None = None
    inertia: Quantity | None = None
    radius: Quantity | None = None
    bearing_torque: Quantity | None = None


@dataclass(frozen=True, kw_only=True)
class Anchor:
    """A point of the bench to which a string is tied."""

    name: str


Object = Slider | Hanging | Pulley | Anchor


@dataclass(frozen=True, kw_only=True)
class Surface:
    """A track or table top, at rest. Its front is where ``slope`` counts as up."""

    name: str
    slope: Quantity
    friction: Quantity  # kinetic coefficient; for a cart an effective one
    static_friction: Quantity | None = None
    length: Quantity | None = None


@dataclass(frozen=True, kw_only=True)
class String:
    """A massless inextensible string and what it passes, from back to front."""

    name: str
    path: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Run:
    """One release. ``speed`` is the signed start speed of ``object``; None is rest."""

    object: str
    distance: Quantity | None = None  # path of ``object`` in the driven part
    speed: Quantity | None = None
    until: Quantity | None = None  # a time after release


@dataclass(frozen=True, kw_only=True)
class SystemChoice:
    """A choice of system on which the pages dwell."""

    id: str
    title: str
    members: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Scenario:
    """One lab set-up with its numbers."""

    id: str  # the file's stem
    title: str
    objects: Mapping[str, Object]
    surfaces: Mapping[str, Surface]
    strings: Mapping[str, String]
    run: Run
    systems: tuple[SystemChoice, ...]


@dataclass(frozen=True, kw_only=True)
class Contact:
    """Whom to call when something goes wrong in the lab."""

    who: str  # a role or office, never a person's private number
    how: str


@dataclass(frozen=True, kw_only=True)
class Course:
    """course.yaml."""

    title: str
    time_zone: str  # an IANA name
    significant_figures: int
    gravity: Quantity | None = None  # given; otherwise from latitude and height
    latitude: Quantity | None = None
    height: Quantity | None = None
    contact: Contact | None = None
    rubric: tuple[str, ...] = ()
    url: str = ""  # where the site will stand, if known


@dataclass(frozen=True, kw_only=True)
class Lab:
    """A scenario as given in one term: ``variant`` and ``example`` are complete scenarios."""

    id: str
    scenario: Scenario  # as the scenario file has it
    variant: Scenario  # with the term's numbers
    example: Scenario  # with the worked example's numbers
    opens: datetime  # aware; prelab, example and report
    due: datetime
    solution_opens: datetime


@dataclass(frozen=True, kw_only=True)
class Term:
    """A file under terms/."""

    id: str  # the file's stem, e.g. "2027-spring"
    title: str
    labs: tuple[Lab, ...]


@dataclass(frozen=True, kw_only=True)
class CourseData:
    """Everything under site-data/, read at once."""

    root: Path
    course: Course
    scenarios: Mapping[str, Scenario]
    terms: tuple[Term, ...] = field(default=())  # in order of their ids
