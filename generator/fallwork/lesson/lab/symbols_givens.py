"""Symbols of what the scenario file gives: masses, coefficients, angles, the run."""

from functools import cached_property

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.symbols_base import SymbolMaker, positive
from fallwork.scenario.model import Pulley, Quantity, Slider


class GivenSymbols(SymbolMaker):
    """The set-up as given."""

    def given_slider(self, name: str) -> Slider:
        """A slider as the scenario has it."""
        thing = self.scenario.objects[name]
        assert isinstance(thing, Slider)
        return thing

    def surface_under(self, name: str) -> str:
        """The surface on which an object runs."""
        return self.given_slider(name).runs_on

    def _pulley(self, name: str) -> Pulley:
        thing = self.scenario.objects[name]
        assert isinstance(thing, Pulley)
        return thing

    def mass(self, name: str) -> Symbol:
        """The mass of a mover."""
        thing = self.scenario.objects[name]
        written = getattr(thing, "mass", None)
        meaning = f"mass of {self.the(name)}"
        if isinstance(thing, Slider):
            meaning += ", with everything that rides on it"
        return self.given(f"mass.{name}", "m", meaning, written, subscript=self.subscript(name))

    def wheel_mass(self, name: str) -> Symbol:
        """The mass of one wheel."""
        wheels = self.given_slider(name).wheels
        return self.given(
            f"wheel-mass.{name}",
            "m",
            f"mass of one wheel of {self.the(name)}",
            wheels.mass if wheels is not None else None,
            subscript=self.where_several(name, self._wheeled, "wheel"),
        )

    @cached_property
    def _wheeled(self) -> tuple[str, ...]:
        return tuple(name for name in self.sliders if self.wheels_kg(name))

    def wheel_count(self, name: str) -> int:
        """How many wheels an object has."""
        wheels = self.given_slider(name).wheels
        return wheels.count if wheels is not None else 0

    @cached_property
    def gravity(self) -> Symbol:
        """The local free-fall acceleration."""
        value = self.apparatus.gravity
        return Symbol(
            id="gravity",
            letter="g",
            meaning="local free-fall acceleration",
            unit="m/s²",
            value=float(value) if self.numbers else None,
            written=f"{value:.6g}" if self.numbers else "",
            given=True,
        )

    def coefficient(self, name: str) -> Symbol:
        """The coefficient of kinetic friction of an object on its surface: one symbol for all that
        have it from the surface.
        """
        body = self.given_slider(name)
        written = body.friction or self.scenario.surfaces[body.runs_on].friction
        kind = "rolling" if body.kind == "cart" else "kinetic"
        alike = self.rub_alike(name)
        firsts = dict.fromkeys(self.rub_alike(other)[0] for other in self.sliders)
        return self.given(
            f"friction.{alike[0]}",
            "mu",
            f"coefficient of {kind} friction of {self.all_of(alike)} on {self.the(body.runs_on)}",
            written,
            subscript=self.where_several(alike[0], tuple(firsts)),
        )

    def rub_alike(self, name: str) -> tuple[str, ...]:
        """The objects of one kind that have their friction from the same surface."""
        body = self.given_slider(name)
        if body.friction is not None:
            return (name,)
        others = (self.given_slider(other) for other in self.sliders)
        return tuple(
            other.name
            for other in others
            if other.friction is None and (other.kind, other.runs_on) == (body.kind, body.runs_on)
        )

    def static_coefficient(self, name: str) -> Symbol:
        """The coefficient of static friction; the kinetic one where no other is given."""
        written, surface = self._static(name), self.the(self.surface_under(name))
        if written is None:
            return self.coefficient(name)
        return self.given(
            f"static-friction.{name}",
            "mu",
            f"coefficient of static friction of {self.the(name)} on {surface}",
            written,
            subscript=self.where_several(name, self.sliders, "s"),
        )

    def _static(self, name: str) -> Quantity | None:
        """The coefficient that counts: the solver takes the kinetic one where that is larger."""
        body = self.given_slider(name)
        surface = self.scenario.surfaces[body.runs_on]
        counts = self.bodies[name].static_friction
        for written in (body.static_friction, surface.static_friction):
            if written is not None and written.value == counts:
                return written
        return None

    def slope(self, surface: str) -> Symbol:
        """The slope of a surface, as a size; which end is higher is said in words."""
        symbol = self.given(
            f"slope.{surface}",
            "theta",
            f"angle between {self.the(surface)} and the level",
            self.scenario.surfaces[surface].slope,
            subscript=self.where_several(surface, self._sloping_surfaces),
        )
        return positive(symbol)

    @cached_property
    def _sloping_surfaces(self) -> tuple[str, ...]:
        surfaces = self.apparatus.surfaces
        return tuple(name for name, surface in surfaces.items() if bool(surface.slope))

    def inertia(self, pulley: str) -> Symbol:
        """The rotational inertia of a pulley: given, or that of a uniform disc."""
        meaning = f"rotational inertia of {self.the(pulley)} about its axle"
        subscript = self.where_several(pulley, self.rotors)
        written = self._pulley(pulley).inertia
        if written is not None:
            return self.given(f"inertia.{pulley}", "I", meaning, written, subscript)
        value = float(self.pulleys[pulley].inertia)
        return self.lasting(f"inertia.{pulley}", "I", meaning, "kg·m²", lambda: value, subscript)

    def pulley_mass(self, pulley: str) -> Symbol:
        """The mass of a pulley that is a uniform disc."""
        if pulley in self.movers:
            return self.mass(pulley)
        return self.given(
            f"mass.{pulley}",
            "m",
            f"mass of {self.the(pulley)}, a uniform disc",
            self._pulley(pulley).mass,
            self.subscript(pulley),
        )

    def radius(self, pulley: str) -> Symbol:
        """The radius at which the string runs on a pulley."""
        return self.given(
            f"radius.{pulley}",
            "r",
            f"radius at which the string runs on {self.the(pulley)}",
            self._pulley(pulley).radius,
            self.where_several(pulley, self.rotors),
        )

    def bearing_torque(self, pulley: str) -> Symbol:
        """The friction torque in a pulley's bearing."""
        return self.given(
            f"bearing-torque.{pulley}",
            "tau",
            f"friction torque in the bearing of {self.the(pulley)}",
            self._pulley(pulley).bearing_torque,
            self.where_several(pulley, self.rotors),
        )

    # The run.

    @property
    def distance_is_given(self) -> bool:
        """Whether the path ``d`` of the phase is the run's distance as given."""
        run = self.scenario.run
        if run.distance is None or not self.ends_by_distance or self.index:
            return False
        return self.ratio(run.object) == 1 if self.tied else True

    @cached_property
    def run_distance(self) -> Symbol:
        """The run's distance: the path of the run's object, or where the last part ends."""
        run = self.scenario.run
        first = self.at(0)
        key, subscript = "distance", ""
        meaning = f"distance that {self.the(run.object)} moves"
        if not self.ends_by_distance:
            key, subscript = "run-distance", "run"
            meaning = f"distance of {self.the(run.object)} from its start at which the run ends"
        elif first.reference != run.object and first.ratio(run.object) != 1:
            key, subscript = f"distance.{run.object}", self.subscript(run.object)
        return self.given(key, "d", meaning, run.distance, subscript)

    @cached_property
    def given_start_speed(self) -> Symbol:
        """The speed that the push gives to the run's object, as a size."""
        run = self.scenario.run
        reference = self.reference in self._with_run_object
        symbol = self.given(
            "start-speed" if reference else f"start-speed.{run.object}",
            "v",
            f"speed of {self.all_of(self._with_run_object)} when the hand lets go",
            run.speed,
            subscript="0" if reference else self._own_start(run.object),
        )
        return positive(symbol)

    @property
    def _with_run_object(self) -> tuple[str, ...]:
        """What moves just as far as the run's object, itself included."""
        chosen = self.apparatus.run.object
        if not self.tied:
            return (chosen,)
        return tuple(n for n in self.movers if self.ratio(n) == self.ratio(chosen))

    def _own_start(self, name: str) -> str:
        return f"0,{self.subscript(name)}"

    @cached_property
    def time_limit(self) -> Symbol:
        """The time after which the run is no longer followed."""
        return self.given(
            "time", "t", "time for which the run is followed", self.scenario.run.until
        )

    def start_place(self, name: str) -> Symbol:
        """Where a slider starts on its surface."""
        return self.given(
            f"start-place.{name}",
            "x",
            f"place of the front end of {self.the(name)} at the start, from the back of "
            f"{self.the(self.surface_under(name))}",
            self.given_slider(name).starts_at,
            self.where_several(name, self.sliders),
        )

    def length(self, surface: str) -> Symbol:
        """The length of a surface."""
        surfaces = self.scenario.surfaces
        return self.given(
            f"length.{surface}",
            "ell",
            f"length of {self.the(surface)}",
            surfaces[surface].length,
            self.where_several(surface, tuple(surfaces)),
        )
