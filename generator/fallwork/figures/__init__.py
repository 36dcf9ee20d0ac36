"""Figures: takes a figure slot with its set-up and solution, gives SVG with a text alternative.

``palette`` gives the colours by role, from which the site's style sheet is made.
"""

from fallwork.figures.palette import Role, Use, palette
from fallwork.figures.scene import CannotDrawError, Scene
from fallwork.figures.table import Figure, draw

__all__ = ["CannotDrawError", "Figure", "Role", "Scene", "Use", "draw", "palette"]
