"""Sets of numbers that can be built, by two of their answers; those that are good, earlier labs and
what is proposed stand out.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from fallwork.figures.charts import panels
from fallwork.figures.placing import Spot
from fallwork.figures.scene import say

HEIGHT, MOST = 190.0, 800  # pt, of the panel; dots of a kind
ROOM = 0.06  # of a range, on each side
LOOKS = {  # role and radius of the dots, pt
    "built": ("rule", 0.5),
    "good": ("accent-1", 0.8),
    "earlier": ("accent-4", 2.4),
    "proposed": ("accent-5", 3.0),
}
Dots = Sequence[tuple[float, float]]


def candidates(title: str, axes: tuple[str, str], dots: Mapping[str, Dots]) -> str:
    """A whole SVG file. ``axes``: title of the level and of the upright one, with their units;
    ``dots`` by a key of ``LOOKS``, as far as there are any.
    """
    ends = np.concatenate([np.reshape(each, (-1, 2)) for each in dots.values()])
    low, high = ends.min(axis=0), ends.max(axis=0)
    room = ROOM * np.where(high > low, high - low, 1.0)
    (x0, y0), (x1, y1) = low - room, high + room
    (panel,) = panels((float(x0), float(x1)), (float(y0), float(y1)), height=HEIGHT)
    drawing = panel.drawing
    panel.axes(axes[1], axes[0])
    y = drawing.extent()[0] - 12.0
    for key, (role, radius) in LOOKS.items():
        if not (given := dots.get(key, ())):
            continue
        some = given[:: -(-len(given) // MOST)]
        for each in some:
            drawing.disc(panel.at(*each), radius, fill=role, role=None)
        words = say(f"candidates-{key}", count=f"{len(given):,}")
        box = drawing.label(words, at=[Spot(complex(18.0, y), 0.0, 1.0)], role="ink", align=0.0)
        middle = complex(8.0, (box.bottom + box.top) / 2)
        drawing.disc(middle, max(radius, 1.5), fill=role, role=None)
        y = box.bottom - 6.0
    told = "; ".join(say(f"candidates-{key}", count=f"{len(each):,}") for key, each in dots.items())
    description = say("candidates-description", level=axes[0], upright=axes[1], told=told)
    return (
        f'<?xml version="1.0" encoding="utf-8"?>\n{drawing.svg("candidates", title, description)}\n'
    )
