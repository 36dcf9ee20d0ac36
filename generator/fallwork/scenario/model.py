"""What a course's files say, validated and in SI units: the vocabulary of every later stage.

All classes are frozen; mappings keep the order of the file.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import ClassVar, Literal

from fallwork.errors import Place
from fallwork.scenario.nouns import Nouns


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
    noun: str = ""  # the author's; "": what the name gives, see ``nouns``


@dataclass(frozen=True, kw_only=True)
class Hanging:
    """What hangs: from a string, or rigidly from a moving pulley. Positive sense: downward."""

    kind: ClassVar = "hanging"
    name: str
    mass: Quantity
    hangs_from: str | None = None  # a moving pulley
    noun: str = ""


@dataclass(frozen=True, kw_only=True)
class Pulley:
    """Fixed to the bench, or moving up and down in a string or at the end of one."""

    name: str
    moving: bool = False
    mass: Quantity | None = None
    inertia: Quantity | None = None
    radius: Quantity | None = None
    bearing_torque: Quantity | None = None
    noun: str = ""

    @property
    def kind(self) -> str:
        """As in files."""
        return "moving pulley" if self.moving else "pulley"


@dataclass(frozen=True, kw_only=True)
class Anchor:
    """A point of the bench to which a string is tied."""

    kind: ClassVar = "anchor"
    name: str
    noun: str = ""


Object = Slider | Hanging | Pulley | Anchor


@dataclass(frozen=True, kw_only=True)
class Surface:
    """A track or table top, at rest. Its front is where ``slope`` counts as up."""

    kind: ClassVar = "surface"
    name: str
    slope: Quantity
    friction: Quantity  # kinetic coefficient; for a cart an effective one
    static_friction: Quantity | None = None
    length: Quantity | None = None
    noun: str = ""


@dataclass(frozen=True, kw_only=True)
class String:
    """A massless inextensible string and what it passes, from back to front."""

    name: str
    path: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Run:
    """One release. ``speed`` is the signed start speed of ``object``; None is rest."""

    kind: ClassVar = "run"
    object: str
    distance: Quantity | None = None  # from its start, either way, to the end of the driven part
    speed: Quantity | None = None
    until: Quantity | None = None  # a time after release


@dataclass(frozen=True, kw_only=True)
class SystemChoice:
    """A choice of system on which the pages dwell."""

    id: str
    title: str
    members: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class FormerStep:
    """A step's address that was published and is another's now, or nobody's."""

    id: str
    now: str = ""  # the step that has taken its place; "": none
    because: str = ""  # why there is none


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
    former_steps: tuple[FormerStep, ...] = ()  # of any page of this set-up
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)
    # ^ where names stand in the file, and values by their paths: "cart", "run.start"

    @cached_property
    def nouns(self) -> Nouns:
        """What everything in it is called."""
        things = (*self.objects.items(), *self.surfaces.items())
        named = {name: (thing.kind, thing.noun) for name, thing in things}
        return Nouns({**named, **dict.fromkeys(self.strings, ("string", ""))})


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
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)
    # ^ where values stand in the file, by key


@dataclass(frozen=True, kw_only=True)
class Section:
    """A group of a lab with dates of its own; those that the file leaves out are the lab's."""

    id: str
    title: str  # the id if the file gives none
    opens: datetime  # aware, like all moments
    data_opens: datetime | None
    due: datetime


@dataclass(frozen=True, kw_only=True)
class Excluded:
    """A trial that doesn't count, or one that counts although it doesn't fit its lab."""

    trial: str  # its number or name, as written; of those that count also ALL
    because: str


@dataclass(frozen=True, kw_only=True)
class Window:
    """Where the run of a trial lies, set by hand."""

    trial: str  # its number or name, as written
    start: Quantity  # release, on the record's own clock
    end: Quantity  # end of the driven part


@dataclass(frozen=True, kw_only=True)
class GivenMean:
    """A mean over trials that aren't to hand, with what is known of its uncertainty.

    Without ± and without a standard deviation nothing is: its ``u`` of 0 means that none was given.
    """

    value: Quantity  # a ± is the standard uncertainty of the mean
    n: int | None = None  # of trials; None: not said
    deviation: Quantity | None = None  # standard deviation of the single trials


@dataclass(frozen=True, kw_only=True)
class SensorsGiven:
    """What all trials share and no record tells; as standard uncertainties and steps of display."""

    position_scale: Quantity | None = None  # relative, of positions and velocities alike
    force_scale: Quantity | None = None  # relative
    force_zero: Quantity | None = None
    position_step: Quantity | None = None
    force_step: Quantity | None = None


@dataclass(frozen=True, kw_only=True)
class Measured:
    """The trials of a lab: records in files, or values that were typed in; never both."""

    pattern: str = ""  # of the files, as written
    files: tuple[Path, ...] = ()  # by name; all inside the course's folder trials/
    digests: Mapping[str, str] = field(default_factory=dict)  # file's name -> SHA-256 of its bytes
    values: Mapping[str, GivenMean | tuple[Quantity | None, ...]] = field(default_factory=dict)
    # ^ by "acceleration", "tension", "final_speed"; a tuple has one entry a trial, None: missing
    signs: Mapping[str, int] = field(default_factory=dict)  # "position", "velocity", "force": ±1
    windows: tuple[Window, ...] = ()
    excluded: tuple[Excluded, ...] = ()
    included: tuple[Excluded, ...] = ()  # though they don't fit the lab
    sensors: SensorsGiven = field(default_factory=SensorsGiven)
    whose: Literal["bench", "class", "lent", "simulation", ""] = ""  # "" where it isn't said
    zero: Literal["slack", "held", "none", ""] = ""  # where the force sensor's zero is taken from


@dataclass(frozen=True, kw_only=True)
class Correction:
    """A dated change of something that was open already."""

    at: datetime
    field: str  # e.g. "cart.mass", "example.cart.mass", "results"
    was: str = ""  # what stood there before, as written; "" where it isn't said
    because: str


@dataclass(frozen=True, kw_only=True)
class Withdrawal:
    """From ``at`` on the pages of a lab hold one sentence and nothing else."""

    at: datetime
    because: str


@dataclass(frozen=True, kw_only=True)
class Lab:
    """A scenario as given in one term: ``variant`` and ``example`` are complete scenarios.

    One page serves every section, so it opens for all at once: what students need from the first
    date that any section has, what is held back not before the last.
    """

    id: str
    title: str = ""  # the scenario's if the file gives none
    scenario: Scenario  # as the scenario file has it
    variant: Scenario  # with the term's numbers
    example: Scenario | None  # with the worked example's numbers; None: to be chosen (planning)
    opens: datetime  # prelab, example and report
    data_opens: datetime | None = None  # None: no page for the trials before the solution
    due: datetime
    solution_opens: datetime  # later than every due date
    sections: Mapping[str, Section] = field(default_factory=dict)
    extended_to: datetime | None = None  # the last report with an extension; not for students
    measured: Measured | None = None
    corrections: tuple[Correction, ...] = ()
    withdrawn: Withdrawal | None = None
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)
    # ^ where values stand in the term's file, by their paths below the lab: "opens",
    #   "measured.exclude.0.trial"; "" for the lab itself

    @property
    def opens_first(self) -> datetime:
        """From when on prelab, example and report are open, for everybody."""
        return min([self.opens, *(section.opens for section in self.sections.values())])

    @property
    def data_opens_last(self) -> datetime | None:
        """From when on the trials are open, for everybody."""
        dates = [self.data_opens, *(section.data_opens for section in self.sections.values())]
        return max((at for at in dates if at is not None), default=None)

    @property
    def trials_open(self) -> datetime:
        """From when on the trials may be seen at all: the solution shows them too."""
        return min(self.data_opens_last or self.solution_opens, self.solution_opens)

    @property
    def due_last(self) -> datetime:
        """When the last section's report is due; extensions left out."""
        return max([self.due, *(section.due for section in self.sections.values())])


@dataclass(frozen=True, kw_only=True)
class Term:
    """A file under terms/."""

    id: str  # the file's stem, e.g. "2027-spring"
    title: str
    labs: tuple[Lab, ...]


@dataclass(frozen=True, kw_only=True)
class Frozen:
    """What a lab's pages were made of when they were published last; written by the program."""

    scenario: str  # its id
    variant: Mapping[str, str]  # field, e.g. "cart.mass" -> as written, e.g. "512.0 g ± 0.1 g"
    example: Mapping[str, str]
    results: Mapping[str, str]  # quantity -> number and SI unit, six figures
    example_results: Mapping[str, str]
    measured: Mapping[str, str] = field(default_factory=dict)  # once the trials were open
    corrections: tuple[Correction, ...] = ()  # that it contains already


@dataclass(frozen=True, kw_only=True)
class CourseData:
    """Everything under site-data/, read at once."""

    root: Path
    course: Course
    scenarios: Mapping[str, Scenario]
    terms: tuple[Term, ...] = field(default=())  # in order of their ids
    published: Mapping[tuple[str, str], Frozen] = field(default_factory=dict)
    # ^ what was open already, by term and lab
