"""Says what a number may be: right, or what a slip or two give, and which step puts it right.

Takes what was typed; gives lines of text.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from fallwork.commands.call import Amount, called, course_folder, named_by, read_amount, read_moment
from fallwork.lesson.answers import Found, Match, matches, numbers_of
from fallwork.lesson.document import Marked
from fallwork.lesson.expression import Symbol
from fallwork.lesson.latex import plain
from fallwork.lesson.rounding import rounded, to_figures
from fallwork.pages.context import Context, GivenLab
from fallwork.pages.schedule import EXAMPLE, SOLUTION
from fallwork.pages.worked import with_data, worked
from fallwork.scenario import load_course, with_numbers
from fallwork.scenario.numbers import Override, overrides_from_words, things_of
from fallwork.scenario.report import closest, listed

NEAR = 0.05  # relative: farther off nothing is called near
_NOTHING = "  nothing that is known gives this number"


def traced(
    value: Sequence[str],
    *,
    of: str | None,
    lab: str | None,
    term: str | None,
    variant: str | None,
    numbers: Sequence[str],
) -> Iterator[str]:
    """What the number may be, lab by lab, in one line where several tell nothing of it; without a
    term, in labs that aren't earlier ones.

    ``numbers`` such as ``cart.mass=507g`` are a bench's own, in the labs that have such a thing;
    those of a ``variant`` are, in the labs that have it.
    """
    amount = read_amount(" ".join(value))
    data = load_course(course_folder())
    context = Context(data, read_moment(None, data.course.zone), telling=False)
    own = overrides_from_words(numbers)
    told: dict[str, list[str]] = {}  # all before the first: what is wrong stands alone
    for given in _wanted(context, lab, term, own, variant):
        named = [f"variant {variant}"] if variant else []
        head = ", ".join([f"{given.lab.id} in {given.term.id}", *named, *numbers])
        told[head] = list(_of_lab(context, given, numbers_known(context, given, own), amount, of))
    silent = [head for head, lines in told.items() if lines == [_NOTHING]]
    if len(told) > 1 and silent:
        told = {head: lines for head, lines in told.items() if head not in silent}
        told |= {f"Nothing that is known gives this number: {listed(silent)}": []}
    for head, lines in told.items():
        yield from (head, *lines)


def numbers_known(
    context: Context, given: GivenLab, own: Mapping[str, Override] | None = None
) -> tuple[Found, ...]:
    """Every number that comes up in a lab and its trials; with ``own`` numbers in the lab alone."""
    if own:
        other, course = with_numbers(given.lab.variant, own), context.data.course
        return numbers_of(worked(given.lab, EXAMPLE, other, course, telling=False).lesson)
    return numbers_of(with_data(context.worked(given, SOLUTION)))


def _wanted(
    context: Context,
    lab: str | None,
    term: str | None,
    own: Mapping[str, Override],
    variant: str | None = None,
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
    if variant is not None:
        called("variant", variant, {name: each for each in found for name in each.lab.variants})
        sets = ((each, each.lab.by_variant.get(variant)) for each in found)
        found = [replace(each, lab=lab) for each, lab in sets if lab]
    names = {path.partition(".")[0] for path in own}
    known = list(dict.fromkeys(name for given in found for name in things_of(given.lab.variant)))
    for wanted in (names, {closest(name, known) for name in names}):
        having = [given for given in found if things_of(given.lab.variant).keys() >= wanted]
        if having:
            return having
    return found


def _of_lab(
    context: Context, given: GivenLab, known: Sequence[Found], amount: Amount, of: str | None
) -> Iterator[str]:
    figures = context.data.course.significant_figures
    symbols = {each.of.id: each.of for each in known}
    ids = {each.id for each in named_by(of, symbols.values())} if of else {*symbols}
    meant = [each for each in known if each.of.id in ids and amount.unit in ("", _unit(each))]
    found = matches(meant, amount.number, figures, amount.zeros)
    for match in found:
        yield from _told(context, given, match)
    if not found:  # how far it is from the nearest result that can be meant, where that is told
        off = {
            abs(one.value - amount.value) / abs(one.value): one
            for one in meant
            if one.depth == 0 and one.value and (of or amount.unit == _unit(one))
        }
        near = ""
        if off and min(off) <= NEAR:
            one, share = off[min(off)], rounded(100 * min(off), 2).text
            right = f"{plain(one.of)} = {_amount(one.of, figures)}"
            near = f"; nearest is the {one.of.meaning}, {right}, {share} % off"
        yield f"{_NOTHING}{near}"


def _amount(of: Symbol, figures: int, value: float | None = None) -> str:
    """The value of a quantity, the right one unless another is given."""
    return f"{to_figures(of.value or 0.0 if value is None else value, figures)} {of.unit}".strip()


def _unit(found: Found) -> str:
    return found.of.unit.replace("·", " ")


def _told(context: Context, given: GivenLab, match: Match) -> Iterator[str]:
    found, earlier = match.found, match.found.earlier
    figures = context.data.course.significant_figures
    doubts = {
        ", with the other sign": match.other_sign,
        f", {10.0**match.power:g} times: a unit taken for another?": match.power != 0,
        ", nearly": not match.exact and found.depth > 0,
        ", but for rounding on the way": not match.close and found.depth == 0,
    }
    doubt = "".join(words for words, true in doubts.items() if true)
    what, right = f"  {found.of.meaning}, {plain(found.of)}", _amount(found.of, figures)
    if earlier is not None:
        wrong = f"{plain(earlier.of)} = {_amount(earlier.of, figures, earlier.value)}"
        second = " and a second mistake" if found.slip else ""
        what += f", which is {right}, worked out with {wrong}"
        yield f"{what} instead of {_amount(earlier.of, figures)}{second}{doubt}:"
    else:
        yield (
            f"{what}, which is {right}{doubt}:" if found.slip else f"{what} = {right}: right{doubt}"
        )
    for each in filter(None, (earlier, found)):
        if each.slip is not None:
            words = (part.words if isinstance(part, Marked) else part for part in each.slip.done)
            done = "".join(part if isinstance(part, str) else plain(part) for part in words)
            yield f"    {done} ({plain(each.slip.formula)})"
        if each.slip is not None or earlier is None:
            yield _place(context, given, each.step.id)


def _place(context: Context, given: GivenLab, step: str) -> str:
    """Where students find a step now: in the solution if it is open, else where it is."""
    there = [each for each in given.pages if each.holds(step)]
    if there:
        return f"    {context.absolute(f'{there[-1].address}#{step}')}"
    return f"    step {step}, not open to students yet"
