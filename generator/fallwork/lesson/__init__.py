"""Takes a scenario with its solution; gives the worked solution as data.

Steps, equations as trees, slips, questions and safety notes. Knows nothing of Markdown, HTML or
where a page stands.
"""

from fallwork.lesson.build import build_lesson
from fallwork.lesson.document import FigureSlot, Lesson, Step
from fallwork.lesson.latex import latex

__all__ = ["FigureSlot", "Lesson", "Step", "build_lesson", "latex"]
