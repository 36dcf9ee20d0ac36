"""What the steps about time, speed and path ask, and those about limiting cases."""

from fallwork.lesson.lab.base import Base


class Motion(Base):
    """How a part of the run goes."""

    @property
    def ended_by(self) -> str:
        """What ends the part, in a word; "" where nothing does."""
        ending = self.context.setting.ending
        return ending.value if ending else ""
