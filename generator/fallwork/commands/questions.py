"""A question for each result of a lab, as a package that course systems import (IMS QTI 2.2).

Takes what ``data.py`` tells of a lab; gives an archive, the same bytes for the same data. What a
question says stands in ``questions/``.
"""

import io
import re
import zipfile
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from fallwork.errors import table
from fallwork.lesson.matching import tolerance
from fallwork.lesson.rounding import rounded

_FEWER = (2, 3)  # figures that students give, whatever they were asked for
_OLDEST = (1980, 1, 1, 0, 0, 0)  # the first moment that an archive can name
_SUBSCRIPT = re.compile(r"_(\w+(?:[,+]\w+)*)")
_MOST = 2  # mistakes that are named for a number with fewer figures
_Row = dict[str, Any]
_Range = tuple[float, float]


def packaged(lab: _Row) -> tuple[int, bytes]:
    """How many questions there are, and the archive."""
    templates = Environment(
        loader=FileSystemLoader(Path(__file__).with_name("questions")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    templates.filters |= {"lowered": _lowered, "digits": "{:.8g}".format}
    items = [item for numbers in lab["sets"] for item in _items(lab, numbers)]
    files: dict[str, tuple[str, Any]] = {"imsmanifest.xml": ("imsmanifest.xml.j2", items)}
    files |= {each["file"]: ("item.xml.j2", each) for each in items}
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as package:
        for name, (template, of) in files.items():
            text = templates.get_template(template).render(lab=lab, of=of)
            tidy = re.sub(r"\n\s*(?=\n)", "", text.lstrip())
            package.writestr(zipfile.ZipInfo(name, _OLDEST), tidy, zipfile.ZIP_DEFLATED)
    return len(items), archive.getvalue()


def _lowered(text: str) -> Markup:
    """Plain formulas with their subscripts below the line."""
    return Markup(_SUBSCRIPT.sub(r"<sub>\1</sub>", str(escape(text))))


def _items(lab: _Row, numbers: _Row) -> Iterator[_Row]:
    """A question for each result that can be asked for without the words of the lesson."""
    left_out = table("commands", "data")["left out of questions"]
    for right in numbers["results"]:
        if right["quantity"].partition("@")[0] in left_out["results"]:
            continue
        name = re.sub("[^A-Za-z0-9]+", "-", right["quantity"])
        of_it = (each for each in numbers["mistakes"] if each["quantity"] == right["quantity"])
        others = [e for e in of_it if not (e["accepted"] or e["mistake"] in left_out["mistakes"])]
        yield {
            "id": ".".join(("lab", lab["term"], lab["lab"], numbers["set"], name)),
            "file": f"{numbers['set']}/{name}.xml",
            "numbers": numbers,
            "right": right,
            "hints": [*_hints(right, others, tolerance(lab["figures"]) / 2)],
        }


def _hints(right: _Row, wrongs: Sequence[_Row], near: float) -> Iterator[_Row]:
    """What is said of other numbers, with the ranges in which it is: ``near`` what a mistake gives,
    relatively, and that with fewer figures, as long as these don't stand for too many.
    """
    ends = right["accepted_from"], right["accepted_to"]
    taken = _with_fewer(right["value"], *ends)
    if taken:
        yield {"id": "ROUNDED", "ranges": taken}
    if right["value"] and not any(ends[0] <= -each["value"] <= ends[1] for each in wrongs):
        yield {"id": "SIGN", "ranges": [(-ends[1], -ends[0])]}
    around, fewer = list[_Range](), list[list[_Range]]()
    for value in (each["value"] for each in wrongs):
        low, high = sorted((value * (1 - near), value * (1 + near)))
        around.append((low, high))
        fewer.append([each for each in _with_fewer(value, low, high) if each not in taken])
    several = [each for each, count in Counter(chain(*fewer)).items() if count > _MOST]
    if several:
        yield {"id": "SEVERAL", "ranges": several}
    for wrong, ends, found in zip(wrongs, around, fewer, strict=True):
        more = [each for each in found if each not in several]
        yield {"id": wrong["mistake"], "wrong": wrong, "ranges": [ends, *more]}


def _with_fewer(value: float, low: float, high: float) -> list[_Range]:
    """A value as it reads with fewer figures, where that lies outside; each as a range."""
    found = dict.fromkeys(float(rounded(value, figures).decimal) for figures in _FEWER)
    return [(each, each) for each in found if not low <= each <= high]
