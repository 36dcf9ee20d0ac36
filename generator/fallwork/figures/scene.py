"""What every kind of figure works from, and what it makes.

Takes the slot with the set-up, its solution and its lesson; gives symbols and numbers as the
lesson prints them, so that figures and text say the same. Drawing is left to the kinds.
"""

import cmath
import re
from collections.abc import Iterable
from dataclasses import dataclass

from fallwork.errors import FallworkError, table
from fallwork.figures.drawing import WIDTH, Drawing
from fallwork.figures.geometry import DOWN, Kind, Point, kind_of, scaled
from fallwork.figures.placing import Spot
from fallwork.lesson.document import FigureSlot, Lesson
from fallwork.lesson.expression import Expression
from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.measured import Evidence
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.words import upper_first
from fallwork.mechanics.solution import Force

Said = Iterable[str]  # sentences
OF_TRIALS = ("record", "record-work", "scatter", "scatter-prediction")


class CannotDrawError(FallworkError):
    """A figure was asked for that this set-up doesn't have."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Scene(Setup):
    """Everything that a figure may show, seen in its phase; by default the first one: the driven
    part of a run, or rest. Without ``numbers`` it has to show nothing computed.
    """

    slot: FigureSlot
    lesson: Lesson
    evidence: Evidence | None = None  # the trials, for figures of what was measured

    @property
    def subject(self) -> str:
        """What the figure is about: an object, a system, a trial or a quantity."""
        return self.slot.subject

    @property
    def kind(self) -> Kind:
        """What the subject is, of an apparatus."""
        return kind_of(self.apparatus, self.subject)

    @property
    def surface(self) -> str:
        """Under the subject; "" where there is none."""
        body = self.bodies.get(self.subject)
        return body.surface or "" if body else ""

    @property
    def slope(self) -> float:
        """Of that surface, in rad; 0 for what hangs."""
        return self.slope_rad(self.subject)

    @property
    def tilt(self) -> Point:
        """A unit vector at that slope."""
        return cmath.rect(1.0, self.slope)

    @property
    def ahead(self) -> Point:
        """The subject's positive direction: forward along its surface, down for what hangs."""
        if not self.surface:
            return DOWN
        along, up = self.apparatus.surfaces[self.surface].tangent
        return complex(along, up)

    @property
    def acceleration(self) -> Point | None:
        """The direction of the subject's acceleration; None where there is none."""
        value = self.phase.accelerations.get(self.subject)
        return scaled(self.ahead, 1.0 if value > 0 else -1.0) if value else None

    @property
    def velocity(self) -> Point | None:
        """The direction in which the subject moves, if the run starts with a push; else None."""
        pushed = any(self.solution.phases[0].start_velocities.values())
        moved = self.phase.displacements.get(self.subject) if pushed else None
        return scaled(self.ahead, 1.0 if moved > 0 else -1.0) if moved else None

    @property
    def positive(self) -> Point:
        """The direction that counts as positive for the subject's motion."""
        return scaled(self.ahead, self.senses[self.subject])

    def symbol(self, key: str) -> Expression | None:
        """A symbol of the lesson; None where it has none."""
        return next((s for s in self.lesson.symbols if s.id == key), None)

    def label(self, name: str) -> Expression | None:
        """The lesson's symbol for a force of the phase, or for an object's acceleration."""
        return self.lesson.labels.get(self.index, {}).get(name)

    def noun(self, name: str) -> str:
        """What an object, surface or string is called, without article."""
        return self.scenario.nouns.noun(name)

    def number(self, value: float, unit: str = "") -> str:
        """A result as the text prints it, e.g. ``0.664 N``."""
        return f"{to_figures(value, self.figures)} {unit}".rstrip()


def say(key: str, **parts: str) -> str:
    """A sentence of ``texts.yaml`` with its parts filled in."""
    return str(table("figures", "texts")[key]).format(**parts)


def of_force(force: Force, what: str) -> str:
    """What the table of forces in ``texts.yaml`` says of a kind."""
    return str(table("figures", "texts")["forces"][force.interaction.key][what])


@dataclass(frozen=True, kw_only=True)
class Figure:
    """An SVG drawing with the text that stands for it."""

    id: str  # unique on its page, fit for an address: "diagram-cart"
    title: str
    description: str  # the text alternative: says what the drawing shows
    caption: str  # stands below the drawing
    svg: str  # a complete <svg> element, no XML declaration


def figure(
    scene: Scene, drawing: Drawing, key: str, said: Said, caption: Said = (), **words: str
) -> Figure:
    """A drawing with its title, what is ``said`` of it, and its caption: by default the key's.

    Simulated trials are told to be so, in the drawing too.
    """
    slot, mark = scene.slot, []
    if slot.kind in OF_TRIALS and scene.evidence is not None and scene.evidence.simulated:
        corner = complex(WIDTH - 3.0, drawing.extent()[1] + 6.0)
        drawing.label(say("simulated"), at=[Spot(corner, 1.0, 0.0)])
        mark = [say("simulated-sentence")]
    captions = [*(caption or [say(f"{key}-caption", **words)]), *mark]
    parts = ([say(f"{key}-title", **words)], [*said, *mark], captions)
    title, description, below = (" ".join(map(upper_first, part)) for part in parts)
    phase = f" phase {slot.phase + 1}" if slot.phase else ""
    name = "-".join(re.findall(r"[^\W_]+", f"{slot.kind} {slot.subject}{phase}".lower()))
    svg = drawing.svg(name, title, description)
    return Figure(id=name, title=title, description=description, caption=below, svg=svg)
