"""The numbers of a set-up against each other.

Takes a scenario as it was read, in which None stands for what could not be; gives faults. Bounds
of a single number stand where its key is declared.
"""

from collections.abc import Iterator

from fallwork.scenario.impossible import Fault, fault
from fallwork.scenario.model import Anchor, Hanging, Pulley, Scenario, Slider, String, Surface
from fallwork.scenario.quantity import Quantity, as_written
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


def _friction(kinetic: Quantity, static: Quantity | None, *paths: Keys) -> Iterator[Fault]:
    if static is not None and static.value < kinetic.value:
        words = {"static": as_written(static), "kinetic": as_written(kinetic)}
        yield fault("static-below-kinetic", *paths, **words)


def _slider(slider: Slider, surface: Surface | None) -> Iterator[Fault]:
    name, wheels, start = slider.name, slider.wheels, slider.starts_at
    if wheels is not None and wheels.count * wheels.mass.value >= slider.mass.value:
        yield fault(
            *("heavy-wheels", (name, "wheels", "mass"), (name, "wheels", "count"), (name, "mass")),
            count=str(wheels.count),
            mass=as_written(wheels.mass),
            name=name,
            whole=as_written(slider.mass),
        )
    if surface is None:
        return
    if slider.friction is not None or slider.static_friction is not None:
        # Where an object overrides one coefficient, against the other of its surface.
        one = (name if slider.static_friction is not None else surface.name, "static_friction")
        other = (name if slider.friction is not None else surface.name, "friction")
        paths = (one, other) if one[0] == name else (other, one)
        static = slider.static_friction or surface.static_friction
        yield from _friction(slider.friction or surface.friction, static, *paths)
    if start is not None and surface.length is not None and start.value > surface.length.value:
        yield fault(
            *("starts-beyond-the-end", (name, "starts_at"), (surface.name, "length")),
            name=name,
            start=as_written(start),
            surface=surface.name,
            length=as_written(surface.length),
        )


def _pulley(pulley: Pulley) -> Iterator[Fault]:
    name = pulley.name
    if not pulley.moving and pulley.inertia is not None and pulley.mass is not None:
        yield fault("inertia-and-mass", (name, "inertia"), (name, "mass"), name=name)
    needs = {
        "inertia": pulley.inertia,
        "bearing_torque": pulley.bearing_torque,
        "mass": None if pulley.moving else pulley.mass,
    }
    for key in [key for key, quantity in needs.items() if quantity is not None][:1]:
        if pulley.radius is None:
            yield fault("no-radius", (name, key), name=name, key=key)


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
            yield fault("starts-level", *paths, **names)
        elif rear.starts_at.value > front.starts_at.value:
            yield fault("starts-in-front", *paths, **names, string=string.name)


def _room(scenario: Scenario) -> Iterator[Fault]:
    """A start from rest goes one way; the object can't go further than its surface reaches."""
    run = scenario.run
    if run is None or run.distance is None or run.speed is not None:
        return
    together = _moving_together(scenario, run.object)
    sliders = [t for name in together if isinstance(t := scenario.objects[name], Slider)]
    goes = _way(scenario, together, sliders)
    for slider in sliders:
        surface, start = scenario.surfaces.get(slider.runs_on), slider.starts_at
        if start is None or surface is None or surface.length is None:
            continue
        rooms = {"back": start.value, "forward": surface.length.value - start.value}
        room = rooms.get(goes, max(rooms.values()))
        if 0 <= room < run.distance.value - 1e-12:
            yield fault(
                *("no-room", ("run", "distance")),
                *((slider.name, "starts_at"), (surface.name, "length")),
                distance=as_written(run.distance),
                surface=surface.name,
                name=slider.name,
                room=f"{room:.4g}",
                way=goes,
            )


def _way(scenario: Scenario, together: list[str], sliders: list[Slider]) -> str:
    """Where the objects that move together can go from rest."""
    surfaces = [scenario.surfaces.get(slider.runs_on) for slider in sliders]
    level = all(surface is not None and surface.slope.value == 0 for surface in surfaces)
    pulls = {
        isinstance(scenario.objects[string.path[0]], Slider)  # a weight at its last end: forward
        for string in _plain_strings(scenario)
        if any(isinstance(scenario.objects[end], Hanging) for end in _ends(string))
        and string.path[0] in together
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
    objects, plain = scenario.objects, []
    for string in filter(None, scenario.strings.values()):
        between = [objects.get(name) for name in string.path[1:-1]]
        ends = [objects.get(name) for name in _ends(string)]
        if all(isinstance(p, Pulley) and not p.moving for p in between) and all(
            isinstance(end, Slider | Hanging) for end in ends
        ):
            plain.append(string)
    return plain


def _moving_together(scenario: Scenario, name: str) -> list[str]:
    """The objects that move by the same amount as ``name``, as long as strings are taut."""
    together = [name] if scenario.objects.get(name) is not None else []
    strings = _plain_strings(scenario)
    for known in together:  # grows while it is walked through
        for string in strings:
            if known in _ends(string):
                together.extend(end for end in _ends(string) if end not in together)
    return together
