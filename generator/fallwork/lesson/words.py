"""The lesson's sentences and tables of words, read from the text files beside this stage.

Takes a key and the words that go into the sentence; gives text. Raises ``BadInput`` that names file
and line of what a file of words says wrongly.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from fractions import Fraction
from functools import cache, reduce
from operator import getitem
from pathlib import Path
from traceback import extract_tb
from typing import Any

import jinja2

from fallwork.errors import BadInput, Place, Problem, table
from fallwork.mechanics.solution import End, Solution, ZeroWork
from fallwork.scenario import from_here
from fallwork.scenario.report import refusal, refusals

FOLDER = Path(__file__).parent / "texts"
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
Call = Callable[[str], str]  # the noun of a thing, with or without its article


def upper_first(sentence: str) -> str:
    """The sentence with a capital first letter."""
    return sentence[:1].upper() + sentence[1:]


def lower_first(words: str) -> str:
    """The words with a small first letter, for the middle of a sentence."""
    return words[:1].lower() + words[1:]


def without_echo(meaning: str) -> str:
    """The hanging mass, where it would be the mass of the hanging mass."""
    return re.sub(r"^mass of the ((?:\S+ )*mass(?: \w)?)$", r"\1", meaning)


def times_word(factor: Fraction) -> str:
    """``twice``, ``three times``: how many times as far."""
    return "twice" if factor == 2 else f"{count_word(factor)} times"


def count_word(count: int | Fraction) -> str:
    """A small whole number as a word; any other one in digits."""
    small = count.denominator == 1 and count < len(_COUNTS)
    return _COUNTS[int(count)] if small else str(count)


# ---- tables of words


def texts(file: str) -> Any:
    """One text file of this stage, e.g. ``slips``."""
    return table("lesson", f"texts/{file}")


def say(key: str, file: str = "forces", /, **parts: object) -> str:
    """The sentence at a dotted key of a text file, such as ``"{The_cart} gains {K}."``, with its
    parts put in; a field with a capital takes the part of that name with a capital first letter.
    """
    node = reduce(getitem, key.split("."), texts(file))
    capitals = {upper_first(name): upper_first(str(part)) for name, part in parts.items()}
    return " ".join(str(node).split()).format_map(capitals | parts)


# ---- files that are filled in

LISTS: Mapping[str, Callable[..., Any]] = {  # of objects, by what a function says of each
    "only": lambda names, holds: [name for name in names if holds(name)],
    "without": lambda names, holds: [name for name in names if not holds(name)],
    "each": lambda names, of: [of(name) for name in names],
}


def language(
    folder: Path, kind: type[jinja2.Environment] = jinja2.Environment, **more: Any
) -> jinja2.Environment:
    """That of files of words in a folder: a name that nobody knows is an error."""
    environment = kind(
        loader=jinja2.FileSystemLoader(folder),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        **more,
    )
    environment.filters.update(LISTS, capital=upper_first)
    return environment


@cache
def _saying() -> jinja2.Template:
    return language(FOLDER).from_string("{% import file as says %}{{ says[macro](*of) }}")


def told(file: str, macro: str, *of: object) -> tuple[str, ...]:
    """What a macro of a text file says of something: the sentences that begin with ¶, or one."""
    with placed():
        words = _saying().render(file=f"{file}.txt.j2", macro=macro, of=of)
    parts = re.sub(" (?=[,;.:)])", "", re.sub("[ \n]+", " ", words)).split("¶")
    return tuple(part.strip(" ") for part in parts if part.strip(" "))


@contextmanager
def placed(own: str = "") -> Iterator[None]:
    """Names what a file that is filled in can't say, at its place; of a course's ``own`` file
    whatever goes wrong.
    """
    wrong = Exception if own else jinja2.UndefinedError
    try:
        yield
    except jinja2.TemplateSyntaxError as error:
        file, line, found = error.filename or own, error.lineno, error.message or ""
        expected = "write {{ … }} for what is printed and {% … %} for conditions"
    except wrong as error:
        if isinstance(error, BadInput):
            raise
        lines = [f for f in extract_tb(error.__traceback__) if f.filename.endswith(own or ".j2")]
        file, line = (lines[-1].filename, lines[-1].lineno or 1) if lines else (own, 1)
        found, expected = str(error), "name what is there"
        if found not in refusals() and not isinstance(error, jinja2.UndefinedError):
            found, expected = refusal("words-refused", why=found or type(error).__name__)
    else:
        return
    if found in refusals():  # the sandbox gives the reason
        found, expected = refusal(found)
    place = Place(file=str(from_here(Path(file))), line=line, column=1)
    raise BadInput((Problem(place=place, found=found, expected=expected),)) from None


# ---- what the solver finds of a run


def end_in_words(end: End | None, call: Call) -> str:
    """What ends a phase as a clause, e.g. ``the weight lands``; "" where nothing does."""
    return "".join(told("run", "ends", end, call)) if end else ""


def reason_in_words(reason: ZeroWork | None) -> str:
    """Why a force does no work."""
    return "".join(told("run", "reason", reason)) if reason else ""


def notes_of(solution: Solution, call: Call) -> tuple[str, ...]:
    """What the key says about a run besides its numbers, each note once."""
    return tuple(dict.fromkeys(told("run", "notes", solution, call)))
