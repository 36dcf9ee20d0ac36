"""How the objects of an apparatus hang together: coordinates, string segments and spans.

Takes an apparatus; gives its ``Rigging``, which depends on names, paths and on which pulleys
take part in turning, but on no number. Refuses what can't be (``ImpossibleApparatus``).
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum, auto
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise, product
from weakref import WeakKeyDictionary

import numpy as np

from fallwork.mechanics.apparatus import Apparatus, ImpossibleApparatus
from fallwork.mechanics.solution import Vector


class Element(Enum):
    """What an element of a string's path is to the string."""

    SLIDER = auto()  # an end, on a surface
    HANGER = auto()  # an end that moves up and down: a hanging body or a moving pulley's hook
    ANCHOR = auto()  # an end tied to the bench
    DRUM = auto()  # an end wound on a fixed pulley
    FIXED = auto()  # a fixed pulley that the string passes
    MOVING = auto()  # a moving pulley that the string passes


ON_BENCH = frozenset({Element.ANCHOR, Element.DRUM, Element.FIXED})


@dataclass(frozen=True, kw_only=True)
class Coordinate:
    """One way in which something can move: along a surface, down, or turning. A turning pulley's
    coordinate is the travel of its rim, r × angle, in metres.
    """

    name: str  # of the object after which it is called
    members: tuple[str, ...]  # bodies and moving pulleys that move together; none if it turns
    surface: str | None = None
    turns: bool = False


@dataclass(frozen=True, kw_only=True)
class Segment:
    """A straight piece of string between neighbours of the path, in the direction of the path."""

    along: str | None = None  # a surface: it runs forward along it
    upright: int = 0  # +1 up, −1 down, 0 level (between points of the bench) or ``along``

    @property
    def forward(self) -> int:
        """+1 where what is at its end moves along it by a positive step, −1 against it."""
        return 1 if self.along is not None else -self.upright


def direction_of(apparatus: Apparatus, segment: Segment) -> Vector:
    """The unit vector of a straight piece of string, in the direction of its path."""
    if segment.along is not None:
        cosine, sine = apparatus.surfaces[segment.along].tangent
        return float(cosine), float(sine)
    return (0.0, float(segment.upright)) if segment.upright else (1.0, 0.0)


@dataclass(frozen=True, kw_only=True)
class Span:
    """Neighbouring segments with one tension: from an end or turning pulley to the next.
    ``stretch`` gives the rate at which the span would get longer, as factors of the speeds of
    coordinates.
    """

    string: str
    first: int  # its first and last segment
    last: int
    stretch: Mapping[int, int]


@dataclass(frozen=True, kw_only=True)
class StringRigging:
    """One string as it runs."""

    name: str
    path: tuple[str, ...]
    elements: tuple[Element, ...]
    segments: tuple[Segment, ...]
    spans: tuple[int, ...] = ()  # indices into the rigging's spans, in order of the path

    def span_of_segments(self, spans: Sequence[Span]) -> list[int]:
        """The span to which each segment belongs, of ``spans`` of the whole rigging."""
        return [at for at in self.spans for _ in range(spans[at].first, spans[at].last + 1)]

    def bight(self, position: int) -> int:
        """+1 where the string runs down to a moving pulley and up again, −1 where over it."""
        return -self.segments[position - 1].upright


@dataclass(frozen=True, kw_only=True)
class Rigging:
    """The apparatus without its numbers."""

    coordinates: tuple[Coordinate, ...]
    spans: tuple[Span, ...]
    strings: Mapping[str, StringRigging]
    of_object: Mapping[str, int]  # body or moving pulley -> its coordinate
    of_rim: Mapping[str, int]  # turning pulley -> its coordinate

    def stretch_matrix(self) -> np.ndarray:
        """(spans, coordinates): factors of the coordinates' speeds in the stretching rates."""
        matrix = np.zeros((len(self.spans), len(self.coordinates)))
        for row, span in enumerate(self.spans):
            matrix[row, [*span.stretch]] = [*span.stretch.values()]
        return matrix


_known: WeakKeyDictionary[Apparatus, Rigging] = WeakKeyDictionary()


def rigging_of(apparatus: Apparatus) -> Rigging:
    """The rigging; raises ImpossibleApparatus with the objects concerned."""
    if apparatus not in _known:
        _known[apparatus] = _laid_out(apparatus)
    return _known[apparatus]


def _laid_out(apparatus: Apparatus) -> Rigging:
    """Bodies in their order, then moving pulleys with what they carry, then turning pulleys."""
    bodies, pulleys, strings = apparatus.bodies.values(), apparatus.pulleys, apparatus.strings
    _check_strings(apparatus)
    alone = (body for body in bodies if body.hangs_from is None)
    coordinates = [Coordinate(name=b.name, members=(b.name,), surface=b.surface) for b in alone]
    for name in (name for name, pulley in pulleys.items() if pulley.moving):
        carried = (body.name for body in bodies if body.hangs_from == name)
        coordinates.append(Coordinate(name=name, members=(name, *carried)))
    of_object = {member: at for at, c in enumerate(coordinates) for member in c.members}
    ends = {string.path[end] for string in strings.values() for end in (0, -1)}
    turning = [n for n, p in pulleys.items() if p.takes_torque or (n in ends and not p.moving)]
    of_rim = {name: at for at, name in enumerate(turning, start=len(coordinates))}
    lines: dict[str, StringRigging] = {}
    spans: list[Span] = []
    for name, string in strings.items():
        line, first = _line(apparatus, name, string.path), len(spans)
        spans += _spans(line, of_object, of_rim)
        lines[name] = replace(line, spans=tuple(range(first, len(spans))))
    _check_held(apparatus, coordinates, lines.values())
    _check_order(lines.values())
    coordinates += [Coordinate(name=name, members=(), turns=True) for name in turning]
    places = {"of_object": of_object, "of_rim": of_rim}
    return Rigging(coordinates=tuple(coordinates), spans=tuple(spans), strings=lines, **places)


def _line(apparatus: Apparatus, string: str, path: tuple[str, ...]) -> StringRigging:
    """What each element is to the string, and the direction of every segment."""

    def element(name: str, is_end: bool) -> Element:
        if name in apparatus.anchors:
            return Element.ANCHOR
        if name in apparatus.bodies:
            on_surface = apparatus.bodies[name].surface is not None
            return Element.SLIDER if on_surface else Element.HANGER
        if apparatus.pulleys[name].moving:
            return Element.HANGER if is_end else Element.MOVING
        return Element.DRUM if is_end else Element.FIXED

    elements = tuple(element(n, at in (0, len(path) - 1)) for at, n in enumerate(path))
    on = [apparatus.bodies[name].surface if name in apparatus.bodies else None for name in path]
    along = [one or other for one, other in pairwise(on)]
    upright = [
        0 if surface is not None else _way(apparatus, string, path, elements, at)
        for at, surface in enumerate(along)
    ]
    ways = zip(along, _settled(string, path, elements, upright), strict=True)
    segments = tuple(Segment(along=surface, upright=way) for surface, way in ways)
    return StringRigging(name=string, path=path, elements=elements, segments=segments)


def _way(
    apparatus: Apparatus, string: str, path: Sequence[str], elements: Sequence[Element], at: int
) -> int | None:
    """+1 up, −1 down, 0 level; None where the rest of the string decides. A string tied below a
    moving pulley that others hold goes down to one that only it can hold.
    """
    for hook, passed, way in ((at, at + 1, -1), (at + 1, at, 1)):
        tied = elements[hook] is Element.HANGER and path[hook] in apparatus.pulleys
        if tied and elements[passed] is Element.MOVING:
            fixed = {name for name, pulley in apparatus.pulleys.items() if not pulley.moving}
            others = [s.path for name, s in apparatus.strings.items() if name != string]
            held = [each for each in others if not {*fixed, *apparatus.anchors}.isdisjoint(each)]
            holds = [any(path[end] in each for each in held) for end in (hook, passed)]
            if holds == [True, False]:
                return way
    left, right = elements[at : at + 2]
    if right is Element.HANGER:  # the first of two hangs above the second
        return -1
    return 1 if left is Element.HANGER else None if Element.MOVING in (left, right) else 0


def _settled(
    string: str, path: Sequence[str], elements: Sequence[Element], upright: list[int | None]
) -> list[int]:
    """With what was open: at a moving pulley both segments are on the same side of it. Where
    nothing else decides, the string runs down to the pulley and up again.
    """
    moving = [at for at, role in enumerate(elements) if role is Element.MOVING]
    while True:
        for at in [*moving, *reversed(moving)]:
            if upright[at - 1] is None and upright[at] is not None:
                upright[at - 1] = -(upright[at] or 0)
            elif upright[at] is None and upright[at - 1] is not None:
                upright[at] = -(upright[at - 1] or 0)
        if None not in upright:
            break
        upright[upright.index(None)] = -1
    for at in moving:
        if upright[at - 1] == upright[at]:
            raise ImpossibleApparatus("over-and-under", string, path[at])
    return [value or 0 for value in upright]


def _spans(
    string: StringRigging, of_object: Mapping[str, int], of_rim: Mapping[str, int]
) -> Iterator[Span]:
    """Cut the string at turning pulleys; what passes another pulley keeps its tension."""
    first, path = 0, string.path
    for last, name in enumerate(path[1:]):
        if name not in of_rim and last + 1 < len(string.segments):
            continue
        stretch: Counter[int] = Counter()
        for at, side in product(range(first, last + 1), (0, 1)):
            end, segment = path[at + side], string.segments[at]
            if end in of_object:
                stretch[of_object[end]] += (2 * side - 1) * segment.forward
            if end in of_rim and string.elements[at + side] is not Element.HANGER:
                stretch[of_rim[end]] += 2 * side - 1  # a hook is no rim
        kept = {coordinate: factor for coordinate, factor in stretch.items() if factor != 0}
        yield Span(string=string.name, first=first, last=last, stretch=kept)
        first = last + 1


def _check_strings(apparatus: Apparatus) -> None:
    """A string between two anchors needs two moving pulleys, or nothing on it can move; a moving
    pulley that takes a torque to turn must be turned by a string.
    """
    passed: set[str] = set()
    for string in apparatus.strings.values():
        first, *between, last = string.path
        passed |= {*between}
        moving = {name for name in between if apparatus.pulleys[name].moving}
        if {first, last} <= {*apparatus.anchors} and len(moving) < 2:
            raise ImpossibleApparatus("both-ends-fixed", string.name, first, last)
    for pulley in apparatus.pulleys.values():
        if pulley.takes_torque and pulley.moving and pulley.name not in passed:
            raise ImpossibleApparatus("nothing-turns", pulley.name)


def _check_held(
    apparatus: Apparatus, coordinates: Iterable[Coordinate], lines: Iterable[StringRigging]
) -> None:
    """Whatever moves up and down must hang from something."""
    pulled_up = {
        end
        for line in lines
        for at, segment in enumerate(line.segments)
        for side, end in enumerate(line.path[at : at + 2])
        if (2 * side - 1) * segment.upright < 0
    }
    for each in coordinates:
        if each.surface is None and pulled_up.isdisjoint(each.members):
            is_body = each.name in apparatus.bodies
            raise ImpossibleApparatus("unheld" if is_body else "unheld-pulley", each.name)


def _check_order(lines: Iterable[StringRigging]) -> None:
    """Strings straight between two bodies must not go round in a circle."""
    short = (line for line in lines if len(line.path) == 2)
    straight = {each.path: each.name for each in short if ON_BENCH.isdisjoint(each.elements)}
    behind: dict[str, list[str]] = {}
    for rear, front in straight:
        behind.setdefault(front, []).append(rear)
    try:
        TopologicalSorter(behind).prepare()
    except CycleError as error:
        loop = (straight[pair] for pair in pairwise(error.args[1]))
        raise ImpossibleApparatus("loop", *sorted(loop)) from None
