"""Checks the numbers of a set-up against each other.

Takes a draft; gives faults. Bounds of a single number stand in ``layout``.
"""

from collections.abc import Iterator

from fallwork.scenario.faults import Fault
from fallwork.scenario.layout import Draft
from fallwork.scenario.model import Hanging, Pulley, Quantity, Slider, String, Surface
from fallwork.scenario.quantity import as_written
from fallwork.scenario.tree import Keys


def limit_faults(draft: Draft) -> Iterator[Fault]:
    """Every pair of numbers that can't be together."""
    for name, surface in draft.surfaces.items():
        if surface is not None and surface.static_friction is not None:
            yield from _friction(
                surface.friction,
                surface.static_friction,
                ((name, "static_friction"), (name, "friction")),
            )
    for thing in draft.objects.values():
        if isinstance(thing, Slider):
            yield from _slider(thing, draft.surfaces.get(thing.runs_on))
        elif isinstance(thing, Pulley):
            yield from _pulley(thing)
    yield from _order_on_track(draft)
    yield from _room(draft)


def _friction(kinetic: Quantity, static: Quantity, paths: tuple[Keys, ...]) -> Iterator[Fault]:
    if static.value < kinetic.value:
        yield Fault(
            paths=paths,
            found=f"static friction {as_written(static)} below kinetic {as_written(kinetic)}",
            expected="the static coefficient is at least the kinetic one",
        )


def _slider(slider: Slider, surface: Surface | None) -> Iterator[Fault]:
    yield from _wheels(slider)
    if surface is None:
        return
    yield from _own_friction(slider, surface)
    start, length = slider.starts_at, surface.length
    if start is not None and length is not None and start.value > length.value:
        yield Fault(
            paths=((slider.name, "starts_at"), (surface.name, "length")),
            found=f"{slider.name} starts at {as_written(start)}, beyond the end of "
            f"{surface.name} ({as_written(length)})",
            expected="starts_at is the distance of its front end from the back of the surface",
        )


def _wheels(slider: Slider) -> Iterator[Fault]:
    name, wheels = slider.name, slider.wheels
    if wheels is not None and wheels.count * wheels.mass.value >= slider.mass.value:
        yield Fault(
            paths=((name, "wheels", "mass"), (name, "wheels", "count"), (name, "mass")),
            found=f"{wheels.count} wheels of {as_written(wheels.mass)} each in {name} of "
            f"{as_written(slider.mass)}",
            expected=f"the mass of {name} contains that of its wheels: make one of the two fit",
        )


def _own_friction(slider: Slider, surface: Surface) -> Iterator[Fault]:
    """Coefficients of an object against those of its surface, where it overrides one."""
    if slider.friction is None and slider.static_friction is None:
        return
    static = slider.static_friction or surface.static_friction
    if static is None:
        return
    holder = surface.name if slider.friction is None else slider.name
    if slider.static_friction is None:
        paths = ((slider.name, "friction"), (surface.name, "static_friction"))
    else:
        paths = ((slider.name, "static_friction"), (holder, "friction"))
    yield from _friction(slider.friction or surface.friction, static, paths)


def _pulley(pulley: Pulley) -> Iterator[Fault]:
    name = pulley.name
    if not pulley.moving and pulley.inertia is not None and pulley.mass is not None:
        yield Fault(
            paths=((name, "inertia"), (name, "mass")),
            found=f"{name} has both inertia and mass",
            expected="give its inertia, or the mass and radius of a uniform disc",
        )
    if pulley.radius is not None:
        return
    needs = {
        "inertia": pulley.inertia,
        "bearing_torque": pulley.bearing_torque,
        "mass": None if pulley.moving else pulley.mass,
    }
    for key, quantity in needs.items():
        if quantity is not None:
            yield Fault(
                paths=((name, key),),
                found=f"{name} has {key} but no radius",
                expected="add radius, e.g. radius: 2.5 cm",
            )
            return


def _order_on_track(draft: Draft) -> Iterator[Fault]:
    """Two objects coupled directly: the first of the path stands behind the last."""
    for string in draft.strings.values():
        if string is None or len(string.path) != 2:
            continue
        rear, front = (draft.objects.get(name) for name in string.path)
        if not (isinstance(rear, Slider) and isinstance(front, Slider)):
            continue
        if rear.starts_at is None or front.starts_at is None:
            continue
        paths = ((rear.name, "starts_at"), (front.name, "starts_at"))
        if rear.starts_at.value == front.starts_at.value:
            yield Fault(
                paths=paths,
                found=f"{rear.name} starts level with {front.name}",
                expected=f"{rear.name} stands behind: give each a place of its own",
            )
        elif rear.starts_at.value > front.starts_at.value:
            yield Fault(
                paths=paths,
                found=f"{rear.name} starts in front of {front.name}",
                expected=f"the rear one stands first: {string.name}: [{front.name}, {rear.name}]",
            )


def _room(draft: Draft) -> Iterator[Fault]:
    """A start from rest goes one way; the object can't go further than its surface reaches."""
    run = draft.run
    if run is None or run.distance is None or run.speed is not None:
        return
    together = _moving_together(draft, run.object)
    for slider in _sliders(draft, together):
        surface = draft.surfaces.get(slider.runs_on)
        if slider.starts_at is None or surface is None or surface.length is None:
            continue
        back = slider.starts_at.value
        room, way = _way(draft, together, surface.length.value - back, back)
        if 0 <= room < run.distance.value - 1e-12:
            yield Fault(
                paths=(("run", "distance"), (slider.name, "starts_at"), (surface.name, "length")),
                found=f"the distance {as_written(run.distance)}, but {surface.name} leaves "
                f"{slider.name} only {room:.4g} m {way}",
                expected="shorten the distance, or start elsewhere",
            )


def _sliders(draft: Draft, names: list[str]) -> list[Slider]:
    things = [draft.objects[name] for name in names]
    return [thing for thing in things if isinstance(thing, Slider)]


def _way(draft: Draft, together: list[str], forward: float, back: float) -> tuple[float, str]:
    """The room that there is, and in which direction."""
    surfaces = [draft.surfaces.get(slider.runs_on) for slider in _sliders(draft, together)]
    level = all(surface is not None and surface.slope.value == 0 for surface in surfaces)
    pulls = [
        isinstance(draft.objects[string.path[0]], Slider)  # a weight at its last end pulls forward
        for string in _plain_strings(draft)
        if any(isinstance(draft.objects[end], Hanging) for end in _ends(string))
        and _ends(string)[0] in together
    ]
    if level and pulls and all(pulls):
        return forward, "forward"
    if level and pulls and not any(pulls):
        return back, "back"
    return max(forward, back), "either way"


def _ends(string: String) -> tuple[str, str]:
    return string.path[0], string.path[-1]


def _plain_strings(draft: Draft) -> list[String]:
    """Strings over nothing but fixed pulleys: both ends move by the same amount."""
    plain = []
    for string in draft.strings.values():
        if string is None or any(draft.objects.get(name) is None for name in string.path):
            continue
        between = [draft.objects[name] for name in string.path[1:-1]]
        ends = [draft.objects[name] for name in _ends(string)]
        if all(isinstance(p, Pulley) and not p.moving for p in between) and all(
            isinstance(end, Slider | Hanging) for end in ends
        ):
            plain.append(string)
    return plain


def _moving_together(draft: Draft, name: str) -> list[str]:
    """The objects that move by the same amount as ``name``, as long as strings are taut."""
    together = [name] if draft.objects.get(name) is not None else []
    strings = _plain_strings(draft)
    for known in together:  # grows while it is walked through
        for string in strings:
            if known in _ends(string):
                together.extend(end for end in _ends(string) if end not in together)
    return together
