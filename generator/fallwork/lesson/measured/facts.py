"""What the steps about measuring need to know of the set-up, beside its symbols.

Takes a lesson's context; gives names and yes-or-no facts. Nothing here depends on the size of a
result, only on the set-up and on which way things move.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fallwork.lesson.context import Context
from fallwork.lesson.document import Inline
from fallwork.lesson.expression import Expression
from fallwork.lesson.lab import Lab
from fallwork.lesson.trees import scaled, signed, total
from fallwork.lesson.words import Part, listing
from fallwork.measurement.view import View, view_of
from fallwork.mechanics.solution import Interaction


@dataclass(frozen=True)
class Facts:
    """One set-up as somebody at the bench sees it."""

    context: Context

    @cached_property
    def view(self) -> View:
        """What the sensors look at."""
        return view_of(self.context.setting.scenario)

    @property
    def moving(self) -> str:
        """The object whose motion is measured."""
        return self.view.moving

    @property
    def slides(self) -> bool:
        """Whether that object runs on a surface."""
        return self.moving in self.context.setting.sliders

    @property
    def has_force(self) -> bool:
        """Whether there is a string whose pull can be measured."""
        return self.view.string is not None

    @property
    def moves(self) -> bool:
        """Whether anything moves after the release."""
        return self.context.setting.moves

    @property
    def from_rest(self) -> bool:
        """Whether the run starts from rest."""
        return self.moves and not self.context.names.starts_moving

    @property
    def lands(self) -> bool:
        """Whether the driven part ends when the object of the run comes down on its pad."""
        setting = self.context.setting
        name = setting.scenario.run.object
        falls = name in setting.hanging and setting.senses[name] > 0
        return self.moves and falls and setting.scenario.run.distance is not None

    @property
    def rubs(self) -> bool:
        """Whether the model has friction at the watched object."""
        return self.moving in self.context.motion.frictions

    @property
    def end(self) -> str:
        """The end of the driven part in words."""
        name = self.context.setting.scenario.run.object
        return (
            f"the landing of {self.context.the(name)}" if self.lands else "the end of the distance"
        )

    @property
    def sloping(self) -> bool:
        """Whether the surface on which the watched object runs has a slope."""
        return self.slides and bool(self.context.setting.slope(self.moving))

    @property
    def grips(self) -> bool:
        """Whether static friction holds everything, so that its range can be measured."""
        return Lab(self.context).has_range

    @property
    def turns_back(self) -> bool:
        """Whether the run comes to a turning point and goes on the other way."""
        return len(self.context.setting.driven) > 1

    @property
    def returns(self) -> bool:
        """Whether the motion turns round, with or without a change of the forces."""
        return self.turns_back or self.context.setting.turns_within

    @property
    def goes_as_far(self) -> bool:
        """Whether the watched object moves as far as the object of the run."""
        setting, run = self.context.setting, self.context.setting.scenario.run.object
        if self.moving == run:
            return True
        return setting.tied and abs(setting.ratios[self.moving]) == abs(setting.ratios[run])

    @property
    def pulled_back(self) -> bool:
        """Whether the measured pull points against the way in which the watched object goes in
        the end, so that its work is negative there."""
        setting = self.context.setting
        pulls = [
            setting.along(force)
            for force in setting.forces_on(self.moving)
            if force.interaction is Interaction.TENSION and force.partner == self.view.string
        ]
        way = setting.senses[self.moving]
        return any(along is not None and way * along < 0 for along in pulls)

    @property
    def ratio(self) -> Fraction | None:
        """How far the watched object moves while that of the run moves by one unit."""
        setting, run = self.context.setting, self.context.setting.scenario.run.object
        if not setting.tied:
            return None
        return abs(Fraction(setting.ratios[self.moving]) / Fraction(setting.ratios[run]))

    @cached_property
    def held_pull(self) -> Expression | None:
        """The pull while the watched object is held and everything else hangs from its string.

        None where friction could have a share in it, or the slope of something that isn't held.
        """
        setting, motion = self.context.setting, self.context.motion
        sloping = any(setting.slope(name) for name in setting.sliders if name != self.moving)
        if not setting.tied or setting.rotors or sloping or self.moving not in setting.movers:
            return None
        others = [n for n in setting.movers if n not in (self.moving, *setting.sliders)]
        paths = [setting.apparatus.strings[name].path for name in setting.strings_at(self.moving)]
        leading = [path for path in paths if set(path) - {self.moving, *setting.sliders}]
        if not others or len(leading) != 1:
            return None
        pulls = [
            signed(setting.senses[name], scaled(setting.ratio(name), motion.gravity_on(name)))
            for name in others
            if setting.mass(name)
        ]
        way = -1 if self.pulled_back else 1
        return scaled(Fraction(way) / setting.ratio(self.moving), total(pulls))

    @cached_property
    def words(self) -> dict[str, Part]:
        """Objects with their articles, for the fields of sentences."""
        setting = self.context.setting
        surface = self.context.names.surface(self.moving) if self.slides else ""
        weight = setting.hanging[0] if setting.hanging else self.moving
        return {
            "the_moving": self.context.the(self.moving),
            "the_slider": self.context.the(self.moving),
            "the_objects": listing([self.context.the(name) for name in setting.movers]),
            "the_surface": self.context.the(surface) if surface else "",
            "the_string": self.context.the(self.view.string) if self.view.string else "",
            "the_run_object": self.context.the(setting.scenario.run.object),
            "the_weight": self.context.the(weight),
            "the_end": self.end,
        }

    def part(self, key: str) -> Inline:
        """One of the words."""
        found = self.words[key]
        assert isinstance(found, str)
        return found
