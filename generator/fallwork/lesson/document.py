"""The worked solution as data: steps made of sentences, equations, tables and figures.

Small frozen classes that say what stands where; Markdown is one rendering of them.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from fallwork.lesson.expression import Expression, Symbol, symbols_in


@dataclass(frozen=True, kw_only=True)
class Relation:
    """Two or more trees joined by signs, e.g. T < m g."""

    sides: tuple[Expression, ...]
    signs: tuple[str, ...]  # "=", "<", ">", "≤", "≥", "≈"; one fewer than sides


@dataclass(frozen=True, kw_only=True)
class Marked:
    """Stressed words, or a link to a step of the page or a part of another: "uncertainty#mean"."""

    words: str
    step: str = ""


Inline = str | Expression | Relation | Marked
Text = tuple[Inline, ...]


@dataclass(frozen=True, kw_only=True)
class Equation:
    """left = right, in symbols; with numbers and the result where the lesson has values.

    ``forms`` are further symbolic forms of the right side, in the order of printing: the last
    one is the one into which numbers are put.
    """

    left: Expression
    right: Expression
    forms: tuple[Expression, ...] = ()
    unit: str = ""  # of the result
    numbers: bool = False  # print the numbers and the result too
    boxed: bool = False  # a result of its step, to be seen first

    @property
    def result(self) -> Symbol | None:
        """What it states a value of."""
        return self.left if self.numbers and isinstance(self.left, Symbol) else None

    @property
    def last(self) -> Expression:
        """The form of its right side into which numbers are put."""
        return (self.right, *self.forms)[-1]

    @property
    def in_unit(self) -> str:
        """The unit of its result."""
        return self.unit or (self.left.unit if isinstance(self.left, Symbol) else "")


@dataclass(frozen=True, kw_only=True)
class Paragraph:
    """Sentences; as a caution they stand out."""

    text: Text
    caution: bool = False


@dataclass(frozen=True, kw_only=True)
class Working:
    """Equations below one another."""

    equations: tuple[Equation, ...]


@dataclass(frozen=True, kw_only=True)
class Items:
    """A list."""

    items: tuple[Text, ...]
    ordered: bool = False


@dataclass(frozen=True, kw_only=True)
class Table:
    """First row: column heads; first column: row heads."""

    caption: str
    head: tuple[Text, ...]
    rows: tuple[tuple[Text, ...], ...]


@dataclass(frozen=True, kw_only=True)
class FigureSlot:
    """Where a figure stands; ``figures/`` draws it from the solution."""

    kind: str  # a key of the figure table: "sketch", "diagram", "velocity", ...
    subject: str = ""  # an object or a system, where the kind needs one
    phase: int = 0  # the stretch of the run that it shows, where a kind shows just one


Block = Paragraph | Working | Items | Table | FigureSlot


@dataclass(frozen=True, kw_only=True)
class Fold:
    """What is folded away in a step."""

    mark: str  # behind the step's id in its address; "why" for what argues
    title: str  # "" of what argues
    blocks: tuple[Block, ...]


@dataclass(frozen=True, kw_only=True)
class Question:
    """A question that students put, with the sentence that answers it."""

    id: str
    asked: str
    answer: Text
    slip: str = ""  # the id of the slip that usually stands behind it
    also: str = ""  # other ways in which students put it, with bars between


@dataclass(frozen=True, kw_only=True)
class Slip:
    """A common mistake in working: the wrong formula and, with numbers, what it gives."""

    id: str
    of: Symbol  # the quantity that comes out wrong
    done: Text  # what was done
    formula: Expression
    value: float | None = None  # in the unit of the quantity


@dataclass(frozen=True, kw_only=True)
class Step:
    """One worked step. ``id`` is its lasting address on every page."""

    id: str
    title: str
    idea: Text
    blocks: tuple[Block, ...]
    check: tuple[Block, ...] = ()  # units, a limiting case
    folds: tuple[Fold, ...] = ()
    part: str = ""  # the stretch of the solution it belongs to; a heading above its steps
    topic: str = ""  # what it deals with; questions and slips find their step by it
    also: str = ""  # other words for it, with bars between
    short: str = ""  # its title among the steps of its part, where that is clear from the part
    was: tuple[str, ...] = ()  # ids of steps that it has taken in
    slips: tuple[Slip, ...] = ()
    questions: tuple[Question, ...] = ()

    @property
    def all_blocks(self) -> tuple[Block, ...]:
        """Its blocks, those of its check, and what is folded away."""
        return (*self.blocks, *self.check, *(each for fold in self.folds for each in fold.blocks))

    @property
    def equations(self) -> Iterator[Equation]:
        """Its equations and those of its check."""
        for block in (*self.blocks, *self.check):
            yield from block.equations if isinstance(block, Working) else ()


@dataclass(frozen=True)
class Given:
    """One row of the table of givens."""

    meaning: str  # "mass of the cart"
    symbol: Symbol | None  # None for what no formula uses, such as a slope that should be zero
    as_written: str  # "420.0 g ± 0.1 g"
    in_si: str  # "0.4200 kg"
    each_time: bool = False  # another in each trial, as the speed that a push gives


@dataclass(frozen=True, kw_only=True)
class Lesson:
    """Everything that a page about one set-up says."""

    scenario: str
    title: str
    kind: Literal["symbols", "numbers"]
    steps: tuple[Step, ...]
    symbols: tuple[Symbol, ...] = ()  # in order of first use
    summary: Text = ()
    find: tuple[Text, ...] = ()  # what will be found out
    givens: tuple[Given, ...] = ()
    safety: Step | None = None  # what can fall, and what to do about it
    # What a diagram writes beside its arrows, by phase: name of a force, or of a part of it
    # (``piece``), or of an object for its acceleration.
    labels: Mapping[int, Mapping[str, Expression]] = field(default_factory=dict)
    # What the page works from on which a reader chooses a system; None where it has no such step.
    choosing: Mapping[str, Any] | None = None


def symbols_of(part: object) -> tuple[Symbol, ...]:
    """Every symbol anywhere inside a part of a lesson, in the order of the page."""
    return tuple(dict.fromkeys(symbols_in(part)))


def piece(force: str, segment: int) -> str:
    """The name of one string's pull on a pulley, by the straight piece of string that pulls."""
    return f"{force}, piece {segment}"


def segments_at(path: tuple[str, ...], name: str) -> list[int]:
    """The straight pieces of a string that meet an object on it, counted along its path."""
    at = path.index(name)
    return [segment for segment in (at - 1, at) if 0 <= segment < len(path) - 1]
