"""Says what a number may be: right, or what a slip gives, and which step puts it right.

Takes what was typed; gives lines of text.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from fallwork.commands.sources import NotFoundError, course_folder
from fallwork.commands.typed import Amount, UnknownQuantityError, named_by, read_amount, read_moment
from fallwork.lesson.answers import Found, Match, matches, results, slips
from fallwork.lesson.document import Inline, Lesson, StepLink, Strong, Text
from fallwork.lesson.plain import plain
from fallwork.lesson.rounding import rounded, to_figures
from fallwork.pages.context import Context, GivenLab
from fallwork.pages.schedule import SOLUTION
from fallwork.pages.worked import worked
from fallwork.scenario import load_course, with_numbers
from fallwork.scenario.numbers import Override, overrides_from_words, things_of
from fallwork.scenario.report import closest

NEAR = 0.05  # relative: farther off nothing is called near


def traced(
    typed: str,
    *,
    of: str | None,
    lab: str | None,
    term: str | None,
    numbers: Sequence[str] = (),
    moment: str | None = None,
) -> tuple[str, ...]:
    """What the number may be, lab by lab; without a term, in those that aren't earlier ones.

    ``numbers`` such as ``cart.mass=507g`` are a bench's own, in the labs that have such a thing.
    """
    amount = read_amount(typed)
    data = load_course(course_folder())
    now: datetime = read_moment(moment, data.course.zone)
    context = Context(data, now, telling=False)
    lines: list[str] = []
    own = overrides_from_words(numbers)
    for given in _with_things(_wanted(context, lab, term), own):
        words = [f"{given.lab.id} in {given.term.id}", *numbers]
        lines += [
            ", ".join(words),
            *_of_lab(context, given, _lesson(context, given, own), amount, of),
        ]
    return tuple(lines)


def _with_things(labs: Sequence[GivenLab], own: Mapping[str, Override]) -> Sequence[GivenLab]:
    """The labs that have what the numbers belong to; where none has, those that will tell best."""
    names = list(dict.fromkeys(path.partition(".")[0] for path in own))
    known = list(dict.fromkeys(name for given in labs for name in things_of(given.lab.variant)))
    near = [closest(name, known) for name in names]
    for wanted in (names, near):
        found = [given for given in labs if things_of(given.lab.variant).keys() >= set(wanted)]
        if found:
            return found
    return labs


def _lesson(context: Context, given: GivenLab, own: Mapping[str, Override]) -> Lesson:
    """The lab's worked solution; with a bench's own numbers, without what the trials say."""
    if not own:
        return context.worked(given, SOLUTION).lesson
    scenario = with_numbers(given.lab.variant, own)
    return worked(
        scenario, gravity=context.gravity, digits=context.digits, numbers=True, telling=False
    ).lesson


def _wanted(context: Context, lab: str | None, term: str | None) -> tuple[GivenLab, ...]:
    terms = {each.id: each for each in context.terms}
    if term is not None and term not in terms:
        raise NotFoundError("term", term, terms)
    labs = [
        given
        for given in context.labs()
        if (given.term.id == term if term else not context.is_earlier(given.term))
    ]
    found = tuple(given for given in labs if lab in (None, given.lab.id))
    if not found:
        raise NotFoundError("lab", lab or "", dict.fromkeys(given.lab.id for given in labs))
    return found


def _of_lab(
    context: Context, given: GivenLab, lesson: Lesson, amount: Amount, of: str | None
) -> Iterator[str]:
    ids = _quantities(lesson, of)
    found = [
        match
        for match in matches(lesson, amount.number, context.digits)
        if (ids is None or match.found.of.id in ids) and amount.unit in ("", _unit(match.found))
    ]
    for match in found:
        yield from _told(context, given, match)
    if not found:
        yield "  nothing that is known gives this number" + _nearest(
            lesson, amount, ids, context.digits
        )


def _nearest(lesson: Lesson, amount: Amount, ids: set[str] | None, figures: int) -> str:
    """How far it is from the nearest result that can be meant, where that is told."""
    off = {
        abs(one.value - amount.value) / abs(one.value): one
        for one in results(lesson)
        if one.value and (one.of.id in ids if ids else amount.unit == _unit(one))
    }
    if not off or min(off) > NEAR:
        return ""
    one = off[min(off)]
    share = rounded(100 * min(off), 2).text
    right = _right(one, figures)
    return f"; nearest is the {one.of.meaning}, {plain(one.of)} = {right}, {share} % off"


def _right(found: Found, figures: int) -> str:
    return f"{to_figures(found.of.value or 0.0, figures)} {found.of.unit}".strip()


def _unit(found: Found) -> str:
    return found.unit.replace("·", " ")


def _quantities(lesson: Lesson, of: str | None) -> set[str] | None:
    """The ids of the quantities that are meant; None for all."""
    if of is None:
        return None
    known = {one.of.id: one.of for one in (*results(lesson), *slips(lesson))}
    meant = named_by(of, known.values())
    if not meant:
        raise UnknownQuantityError(of, tuple(known.values()), several=False)
    return {symbol.id for symbol in meant}


def _told(context: Context, given: GivenLab, match: Match) -> Iterator[str]:
    found = match.found
    right = _right(found, context.digits)
    doubt = "".join(
        words
        for words, true in (
            (", with the other sign", match.other_sign),
            (f", {10.0**match.power:g} times: a unit taken for another?", match.power != 0),
            (", nearly", not match.exact and found.slip is not None),
            (", but for rounding on the way", not match.close and found.slip is None),
        )
        if true
    )
    if found.slip is None:
        yield f"  {found.of.meaning}, {plain(found.of)} = {right}: right{doubt}"
    else:
        yield f"  {found.of.meaning}, {plain(found.of)}, which is {right}{doubt}:"
        yield f"    {words_of(found.slip.done)} ({plain(found.slip.formula)})"
    yield f"    {_address(context, given, found)}"


def _address(context: Context, given: GivenLab, found: Found) -> str:
    """The step as students find it now: in the solution if it is open, else where it is."""
    there = [each for each in given.pages if each.holds(found.step.id)]
    if not there:
        return f"step {found.step.id}, not open to students yet"
    return context.absolute(f"{there[-1].address}#{found.step.id}")


def words_of(sentence: Text) -> str:
    """A sentence as plain text."""
    return "".join(_words(part) for part in sentence)


def _words(part: Inline) -> str:
    match part:
        case str():
            return part
        case Strong(words=words) | StepLink(words=words):
            return words
        case _:
            return plain(part)
