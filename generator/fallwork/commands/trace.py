"""Says what a number may be: right, or what a slip or two give, and which step puts it right.

Takes what was typed; gives lines of text.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache

from fallwork.commands.call import (
    Amount,
    Word,
    Words,
    called,
    course_folder,
    named_by,
    read_amount,
    read_moment,
)
from fallwork.errors import said
from fallwork.lesson.expression import Symbol
from fallwork.lesson.latex import plain, plainly
from fallwork.lesson.matching import Found, Match, matches
from fallwork.lesson.rounding import rounded, to_figures
from fallwork.once import recalled
from fallwork.pages import schedule
from fallwork.pages.context import Context, GivenLab, LabPage
from fallwork.scenario import load_course
from fallwork.scenario.numbers import Override, overrides_from_words, things_of
from fallwork.scenario.report import closest, listed

NEAR = 0.05  # relative; farther off nothing is called near
_NOTHING = "  nothing that is known gives this number"


def traced(
    value: Words, *, of: Word, lab: Word, term: Word, variant: Word, numbers: Words, as_of: Word
) -> Iterator[str]:
    """What the number may be, lab by lab, in one line where several tell nothing of it; without a
    term, in the one that is on.

    ``numbers`` such as ``cart.mass=507g`` are a bench's own, in the labs that have such a thing;
    those of a ``variant`` are, in the labs that have it.
    """
    amount = read_amount(" ".join(value))
    data = load_course(course_folder())
    context = Context(data, read_moment(as_of, data.course.zone), telling=False)
    own = overrides_from_words(numbers)
    wanted, others = _wanted(context, lab, term, own, variant)
    told: dict[str, list[str]] = {}  # all before the first: what is wrong stands alone
    for given in wanted:
        named = [f"variant {variant}"] if variant else []
        head = ", ".join([f"{given.lab.id} in {given.term.id}", *named, *numbers])
        told[head] = list(_of_lab(context, given, _known(context, given, own), amount, of))
    silent = [head for head, lines in told.items() if lines == [_NOTHING]]
    more = others if all(lines[0].startswith(_NOTHING) for lines in told.values()) else ()
    if len(told) > 1 and silent:
        told = {head: lines for head, lines in told.items() if head not in silent}
        told |= {f"Nothing that is known gives this number: {listed(silent)}": []}
    for head, lines in told.items():
        yield from (head, *lines)
    if more:
        yield said("commands", "other-terms", terms=listed(more))


def _known(context: Context, given: GivenLab, own: Mapping[str, Override]) -> tuple[Found, ...]:
    def known() -> tuple[Found, ...]:
        from fallwork.commands.numbers import numbers_known  # slow to import, and rarely needed

        return numbers_known(context, given, own)

    return recalled(known, "numbers", given.site.data, given.lab, own)


def _wanted(
    context: Context, lab: Word, term: Word, own: Mapping[str, Override], variant: Word
) -> tuple[Sequence[GivenLab], Sequence[str]]:
    """The labs that are meant, of these those that have what the ``own`` numbers belong to; where
    none has, those that will tell best. And other terms that have such labs.
    """
    found, others = _in_turn(context, lab, term)
    if variant is not None:
        called("variant", variant, {name: each for each in found for name in each.lab.variants})
        sets = ((each, each.lab.by_variant.get(variant)) for each in found)
        found = [replace(each, lab=lab) for each, lab in sets if lab]
    names = {path.partition(".")[0] for path in own}
    known = list(dict.fromkeys(name for given in found for name in things_of(given.lab.variant)))
    for wanted in (names, {closest(name, known) for name in names}):
        having = [given for given in found if things_of(given.lab.variant).keys() >= wanted]
        if having:
            return having, others
    return found, others


def _in_turn(context: Context, lab: Word, term: Word) -> tuple[list[GivenLab], list[str]]:
    """The labs of a term, else of the one that began last, else of the next, those first that were
    opened last; and the ids of other terms that have such labs.
    """
    if term is not None:
        called("term", term, {each.id: each for each in context.terms})
    every = [given for given in context.labs() if term in (None, given.term.id)]
    found = [given for given in every if lab in (None, given.lab.id)]
    if not found:
        called("lab", lab or "", {given.lab.id: given for given in every})
    begun = [each.id for each in context.terms if schedule.starts(each) <= context.now]
    later = [each.id for each in context.terms[::-1] if each.id not in begun]
    having = {given.term.id for given in found}
    first, *others = (each for each in (*begun[:1], *later, *begun[1:]) if each in having)
    found = [given for given in found if given.term.id == first]
    found.sort(key=lambda given: abs(context.now - given.lab.opens_first))
    return sorted(found, key=lambda given: given.lab.opens_first > context.now), others


def _of_lab(
    context: Context, given: GivenLab, known: Sequence[Found], amount: Amount, of: Word
) -> Iterator[str]:
    figures = context.data.course.significant_figures
    symbols = {each.of.id: each.of for each in known}
    ids = {each.id for each in named_by(of, symbols.values())} if of else {*symbols}
    meant = [each for each in known if each.of.id in ids and amount.unit in ("", _unit(each))]
    found = matches(meant, amount.number, figures, amount.zeros)
    holding = _pages(context, given)
    for match in found:
        yield from _told(context, holding, match)
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


def _told(
    context: Context, holding: Callable[[str], LabPage | None], match: Match
) -> Iterator[str]:
    found, earlier = match.found, match.found.earlier
    figures = context.data.course.significant_figures
    doubts = {
        ", with the other sign": match.other_sign,
        f", {10.0**match.power:g} times: a unit taken for another?": match.power != 0,
        ", nearly": not match.exact and found.depth > 0,
        ", but for rounding on the way": not match.close and found.depth == 0,
    }
    doubt = "".join(words for words, true in doubts.items() if true)
    doubt = (f", {listed(found.numbers)}" if found.numbers else "") + doubt
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
            yield f"    {plainly(each.slip.done)} ({plain(each.slip.formula)})"
        if each.slip is not None or earlier is None:
            page, id_ = holding(each.step.id), each.step.id  # where students find it now
            there = page and context.absolute(f"{page.address}#{id_}")
            yield f"    {there or f'step {id_}, not open to students yet'}"


def _pages(context: Context, given: GivenLab) -> Callable[[str], LabPage | None]:
    """Finds the last of a lab's open pages that holds a step."""
    pages = {page.sub.name: page for page in given.pages[::-1]}

    @cache
    def steps(name: str) -> list[str]:
        def ids() -> list[str]:
            return [step.id for step in pages[name].steps]

        return recalled(ids, "steps", given.lab, name, context.data.course)

    return lambda step: next((page for name, page in pages.items() if step in steps(name)), None)
