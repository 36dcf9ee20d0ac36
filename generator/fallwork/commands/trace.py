"""Says what a number may be: right, or what a slip gives, and which step puts it right.

Takes what was typed; gives lines of text.
"""

from collections.abc import Iterator, Mapping, Sequence

from fallwork.commands.call import Amount, called, course_folder, named_by, read_amount, read_moment
from fallwork.lesson.answers import Found, Match, matches, results, slips
from fallwork.lesson.document import Lesson, Marked
from fallwork.lesson.latex import plain
from fallwork.lesson.rounding import rounded, to_figures
from fallwork.lesson.words import listing
from fallwork.pages.context import Context, GivenLab
from fallwork.pages.schedule import EXAMPLE, SOLUTION
from fallwork.pages.worked import worked
from fallwork.scenario import load_course, with_numbers
from fallwork.scenario.numbers import Override, overrides_from_words, things_of
from fallwork.scenario.report import closest

NEAR = 0.05  # relative: farther off nothing is called near
_NOTHING = "  nothing that is known gives this number"


def traced(
    value: Sequence[str],
    *,
    of: str | None,
    lab: str | None,
    term: str | None,
    numbers: Sequence[str],
) -> Iterator[str]:
    """What the number may be, lab by lab, in one line where several tell nothing of it; without a
    term, in labs that aren't earlier ones.

    ``numbers`` such as ``cart.mass=507g`` are a bench's own, in the labs that have such a thing.
    """
    amount = read_amount(" ".join(value))
    data = load_course(course_folder())
    context = Context(data, read_moment(None, data.course.zone), telling=False)
    own = overrides_from_words(numbers)
    told: dict[str, list[str]] = {}  # all before the first: what is wrong stands alone
    for given in _wanted(context, lab, term, own):
        if own:  # without what the trials say
            other = with_numbers(given.lab.variant, own)
            found = worked(given.lab, EXAMPLE, other, data.course, telling=False)
        else:
            found = context.worked(given, SOLUTION)
        head = ", ".join([f"{given.lab.id} in {given.term.id}", *numbers])
        told[head] = list(_of_lab(context, given, found.lesson, amount, of))
    silent = [head for head, lines in told.items() if lines == [_NOTHING]]
    if len(told) > 1 and silent:
        told = {head: lines for head, lines in told.items() if head not in silent}
        told |= {f"Nothing that is known gives this number: {listing(silent)}": []}
    for head, lines in told.items():
        yield from (head, *lines)


def _wanted(
    context: Context, lab: str | None, term: str | None, own: Mapping[str, Override]
) -> Sequence[GivenLab]:
    """The labs that are meant, of these those that have what the ``own`` numbers belong to; where
    none has, those that will tell best.
    """
    if term is not None:
        called("term", term, {each.id: each for each in context.terms})
    labs = [
        given
        for given in context.labs()
        if (given.term.id == term if term else not context.is_earlier(given.term))
    ]
    found = [given for given in labs if lab in (None, given.lab.id)]
    if not found:
        called("lab", lab or "", {given.lab.id: given for given in labs})
    names = {path.partition(".")[0] for path in own}
    known = list(dict.fromkeys(name for given in found for name in things_of(given.lab.variant)))
    for wanted in (names, {closest(name, known) for name in names}):
        having = [given for given in found if things_of(given.lab.variant).keys() >= wanted]
        if having:
            return having
    return found


def _of_lab(
    context: Context, given: GivenLab, lesson: Lesson, amount: Amount, of: str | None
) -> Iterator[str]:
    figures = context.data.course.significant_figures
    symbols = {each.of.id: each.of for each in (*results(lesson), *slips(lesson))}
    ids = {each.id for each in named_by(of, symbols.values())} if of else {*symbols}
    found = [
        match
        for match in matches(lesson, amount.number, figures)
        if match.found.of.id in ids and amount.unit in ("", _unit(match.found))
    ]
    for match in found:
        yield from _told(context, given, match)
    if not found:  # how far it is from the nearest result that can be meant, where that is told
        off = {
            abs(one.value - amount.value) / abs(one.value): one
            for one in results(lesson)
            if one.value and (one.of.id in ids if of else amount.unit == _unit(one))
        }
        near = ""
        if off and min(off) <= NEAR:
            one, share = off[min(off)], rounded(100 * min(off), 2).text
            right = f"{plain(one.of)} = {_right(one, figures)}"
            near = f"; nearest is the {one.of.meaning}, {right}, {share} % off"
        yield f"{_NOTHING}{near}"


def _right(found: Found, figures: int) -> str:
    return f"{to_figures(found.of.value or 0.0, figures)} {found.of.unit}".strip()


def _unit(found: Found) -> str:
    return found.of.unit.replace("·", " ")


def _told(context: Context, given: GivenLab, match: Match) -> Iterator[str]:
    found, slip = match.found, match.found.slip
    doubts = {
        ", with the other sign": match.other_sign,
        f", {10.0**match.power:g} times: a unit taken for another?": match.power != 0,
        ", nearly": not match.exact and slip is not None,
        ", but for rounding on the way": not match.close and slip is None,
    }
    doubt = "".join(words for words, true in doubts.items() if true)
    right = _right(found, context.data.course.significant_figures)
    what = f"  {found.of.meaning}, {plain(found.of)}"
    if slip is None:
        yield f"{what} = {right}: right{doubt}"
    else:
        yield f"{what}, which is {right}{doubt}:"
        words = (each.words if isinstance(each, Marked) else each for each in slip.done)
        done = "".join(each if isinstance(each, str) else plain(each) for each in words)
        yield f"    {done} ({plain(slip.formula)})"
    # The step as students find it now: in the solution if it is open, else where it is.
    there = [each for each in given.pages if each.holds(found.step.id)]
    if there:
        yield f"    {context.absolute(f'{there[-1].address}#{found.step.id}')}"
    else:
        yield f"    step {found.step.id}, not open to students yet"
