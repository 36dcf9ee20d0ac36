"""The numbers of a set-up against each other.

Takes a scenario as it was read, in which None stands for what could not be; gives faults. Bounds
of a single number stand where its key is declared.
"""

from collections.abc import Iterator

from fallwork.scenario.model import Anchor, Hanging, Pulley, Scenario, Slider, String, Surface
from fallwork.scenario.quantity import Given, as_written
from fallwork.scenario.report import Fault
from fallwork.scenario.tree import Keys


def limit_faults(scenario: Scenario) -> Iterator[Fault]:
    """Every pair of numbers that can't be together."""
    for name, surface in scenario.surfaces.items():
        if surface is not None:
            paths = ((name, "static_friction"), (name, "friction"))
            yield from _friction(surface.friction, surface.static_friction, *paths)
    for thing in scenario.objects.values():
        if isinstance(thing, Slider):
            yield from _slider(thing, scenario.surfaces.get(thing.runs_on))
        elif isinstance(thing, Pulley):
            yield from _pulley(thing)
    yield from _order_on_track(scenario)
    yield from _room(scenario)


def _friction(kinetic: Given, static: Given, *paths: Keys) -> Iterator[Fault]:
    if kinetic and static and static.value < kinetic.value:
        words = {"static": as_written(static), "kinetic": as_written(kinetic)}
        yield Fault("static-below-kinetic", *paths, **words)


def _slider(slider: Slider, surface: Surface | None) -> Iterator[Fault]:
    name, wheels, start = slider.name, slider.wheels, slider.starts_at
    if wheels is not None and wheels.count * wheels.mass.value >= slider.mass.value:
        whole, mass = as_written(slider.mass), as_written(wheels.mass)
        names = {"count": str(wheels.count), "mass": mass, "name": name, "whole": whole}
        paths = [(name, "wheels", "mass"), (name, "wheels", "count"), (name, "mass")]
        yield Fault("heavy-wheels", *paths, **names)
    if surface is None:
        return
    if slider.friction or slider.static_friction:
        # Where an object overrides one coefficient, against the other of its surface.
        one = (name if slider.static_friction else surface.name, "static_friction")
        other = (name if slider.friction else surface.name, "friction")
        ends = (one, other) if one[0] == name else (other, one)
        static = slider.static_friction or surface.static_friction
        yield from _friction(slider.friction or surface.friction, static, *ends)
    if start and surface.length and start.value > surface.length.value:
        ends = (name, "starts_at"), (surface.name, "length")
        names = {"start": as_written(start), "length": as_written(surface.length)}
        yield Fault("starts-beyond-the-end", *ends, name=name, surface=surface.name, **names)


def _pulley(pulley: Pulley) -> Iterator[Fault]:
    name, mass = pulley.name, None if pulley.moving else pulley.mass
    if pulley.inertia and mass:
        yield Fault("inertia-and-mass", (name, "inertia"), (name, "mass"), name=name)
    needs = {"inertia": pulley.inertia, "bearing_torque": pulley.bearing_torque, "mass": mass}
    key = next((key for key, quantity in needs.items() if quantity), "")
    if key and not pulley.radius:
        yield Fault("no-radius", (name, key), name=name, key=key)


def _order_on_track(scenario: Scenario) -> Iterator[Fault]:
    """Two objects coupled directly: the first of the path stands behind the last."""
    for string in filter(None, scenario.strings.values()):
        rear, *_, front = (scenario.objects.get(name) for name in string.path)
        if not (isinstance(rear, Slider) and isinstance(front, Slider) and len(string.path) == 2):
            continue
        if rear.starts_at is None or front.starts_at is None:
            continue
        paths = ((rear.name, "starts_at"), (front.name, "starts_at"))
        names = {"rear": rear.name, "front": front.name}
        if rear.starts_at.value == front.starts_at.value:
            yield Fault("starts-level", *paths, **names)
        elif rear.starts_at.value > front.starts_at.value:
            yield Fault("starts-in-front", *paths, **names, string=string.name)


def _room(scenario: Scenario) -> Iterator[Fault]:
    """A start from rest goes one way; the object can't go further than its surface reaches."""
    run = scenario.run
    if run is None or run.distance is None or run.speed is not None:
        return
    strings = _plain_strings(scenario)
    together = [run.object] if scenario.objects.get(run.object) is not None else []
    for known in together:  # grows while it is walked through
        for string in strings:
            if known in _ends(string):
                together.extend(end for end in _ends(string) if end not in together)
    joined = [string for string in strings if string.path[0] in together]
    sliders = [t for name in together if isinstance(t := scenario.objects[name], Slider)]
    way = _way(scenario, joined, sliders)
    for slider in sliders:
        surface, start = scenario.surfaces.get(slider.runs_on), slider.starts_at
        if start is None or surface is None or surface.length is None:
            continue
        rooms = {"back": start.value, "forward": surface.length.value - start.value}
        room = rooms.get(way, max(rooms.values()))
        if 0 <= room < run.distance.value - 1e-12:
            paths = (("run", "distance"), (slider.name, "starts_at"), (surface.name, "length"))
            names = {"distance": as_written(run.distance), "surface": surface.name, "way": way}
            yield Fault("no-room", *paths, name=slider.name, room=f"{room:.4g}", **names)


def _way(scenario: Scenario, strings: list[String], sliders: list[Slider]) -> str:
    """Where the objects that move together by these strings can go from rest."""
    surfaces = [scenario.surfaces.get(slider.runs_on) for slider in sliders]
    level = all(surface is not None and surface.slope.value == 0 for surface in surfaces)
    objects = scenario.objects
    pulls = {
        isinstance(objects[string.path[0]], Slider)  # a weight at its last end: forward
        for string in strings
        if any(isinstance(objects[end], Hanging) for end in _ends(string))
    }
    outside = (t for t in scenario.objects.values() if t is not None and t.outside)
    pushed = any(thing.kind != Anchor.kind for thing in outside)
    if not level or pushed or len(pulls) != 1:
        return "either way"
    return "forward" if pulls == {True} else "back"


def _ends(string: String) -> tuple[str, str]:
    return string.path[0], string.path[-1]


def _plain_strings(scenario: Scenario) -> list[String]:
    """Strings over nothing but fixed pulleys: both ends move by the same amount."""
    plain = []
    for string in filter(None, scenario.strings.values()):
        first, *between, last = (scenario.objects.get(name) for name in string.path)
        over = all(isinstance(pulley, Pulley) and not pulley.moving for pulley in between)
        if over and all(isinstance(end, Slider | Hanging) for end in (first, last)):
            plain.append(string)
    return plain
