"""The text files of this stage: read fast, and read again with places where something is wrong.

Takes the name of a file; gives its content, every scalar as text. Raises ``BadInput`` that names
file and line.
"""

from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from fallwork.errors import BadInput, Place, Problem
from fallwork.scenario import from_here
from fallwork.scenario.report import Report, meant
from fallwork.scenario.tree import Listing, Mapping, Node, Scalar, read_file

FOLDER = Path(__file__).parent / "texts"
_Loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


class _DoubledError(Exception):
    """A mapping that has a key twice."""


class _Reader(_Loader):  # type: ignore[misc, valid-type]  # one of two, as the machine has it
    def construct_mapping(self, node: yaml.MappingNode, deep: bool = False) -> dict[Any, Any]:
        found: dict[Any, Any] = super().construct_mapping(node, deep)
        if len(found) < len(node.value):
            raise _DoubledError
        return found


@cache
def texts(file: str) -> Any:
    """One text file of this stage, e.g. ``slips``; every scalar is text, so ``on`` stays a word."""
    try:
        return yaml.load(path_of(file).read_text(encoding="utf-8"), Loader=_Reader)
    except (yaml.YAMLError, _DoubledError):
        tree_of(file)
        raise


def known(steps: str, kind: str) -> frozenset[str]:
    """The letters or fields that files of steps may use, as ``vocabulary.yaml`` lists them."""
    return frozenset(texts("vocabulary")[steps][kind].split())


def path_of(file: str) -> Path:
    """Where a text file stands."""
    return from_here(FOLDER / f"{file}.yaml")


def tree_of(file: str) -> Node:
    """A text file with the place of everything in it."""
    report = Report()
    node = read_file(path_of(file), report)
    report.raise_if_any()
    assert node is not None
    return node


def place_in(node: Node, way: Sequence[str | int]) -> Place:
    """Of the value to which keys and positions lead, as far as they do."""
    for step in way:
        below: Node | None = None
        if isinstance(node, Mapping):
            below = next((value for key, value in node.entries if key.text == step), None)
        elif isinstance(node, Listing) and isinstance(step, int):
            below = node.items[step]
        if below is None:
            break
        node = below
    return node.place


def absent(file: str, way: Sequence[str], above: Any) -> BadInput:
    """What there is in place of a sentence that a file should hold."""
    names = list(above) if isinstance(above, dict) else []
    expected = meant(way[-1], names, f"there is {', '.join(names) or 'a sentence'}")
    place = place_in(tree_of(file), way)
    return BadInput(
        (Problem(place=place, found=f"no sentence {'.'.join(way)}", expected=expected),)
    )


def unfit(sentence: str, found: str, expected: str) -> BadInput:
    """What is wrong with a sentence of one of the files, at its place."""
    places = (
        scalar.place
        for path in sorted(FOLDER.glob("*.yaml"))
        for scalar in _scalars(tree_of(path.stem))
        if scalar.text.split() == sentence.split()
    )
    nowhere = Place(file=str(FOLDER), line=1, column=1)
    problem = Problem(place=next(places, nowhere), found=found, expected=expected)
    return BadInput((problem,))


def _scalars(node: Node) -> Iterator[Scalar]:
    if isinstance(node, Scalar):
        yield node
    elif isinstance(node, Listing):
        for item in node.items:
            yield from _scalars(item)
    elif isinstance(node, Mapping):
        for _, value in node.entries:
            yield from _scalars(value)
