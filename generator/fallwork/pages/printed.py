"""What a page prints of its steps: nothing that another page of the lab says under the same id.

Takes a page and those of its lab that are read before it; gives each step with what is new there.
So a page with numbers has equations with numbers and results, and leads to the prelab for the rest.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from fallwork.lesson.document import Block, FigureSlot, Step, Text, Working, symbols_of
from fallwork.lesson.expression import Symbol
from fallwork.pages.context import LabPage
from fallwork.pages.markdown import block, text
from fallwork.pages.schedule import EXAMPLE, SUB_PAGES, SubPage


@dataclass(frozen=True, kw_only=True)
class Printed:
    """A step as it stands on a page."""

    number: int  # of its place among the steps of the page
    step: Step  # without what another page says
    argued: SubPage | None = None  # the page that says the rest
    reasoned: bool = False  # whether that page folds away why it is so

    @property
    def is_told(self) -> bool:
        """Whether anything is left to be told here."""
        step = self.step
        told = (step.idea, step.blocks, step.check, step.folds, step.slips, step.questions)
        return any(told)

    @property
    def folds(self) -> int:
        """How much of it is folded away."""
        return len(self.step.folds) + bool(self.step.slips) + bool(self.step.questions)


def printed(page: LabPage) -> Iterator[Printed]:
    """The steps of a page in their order."""
    at = SUB_PAGES.index(page.sub) if page.sub in SUB_PAGES else 0
    earlier = (each for each in page.given.pages if each.sub in SUB_PAGES[:at])
    before = [each for each in earlier if each.sub != EXAMPLE]  # whose numbers are others
    for number, step in enumerate(page.steps, 1):
        there = next((each for each in before if each.holds(step.id)), None)
        if there is None:
            yield Printed(number=number, step=step)
        else:
            (other,) = (each for each in there.steps if each.id == step.id)
            yield Printed(
                number=number,
                step=_rest(page, step, there, other),
                argued=there.sub,
                reasoned=any(fold.mark == "why" for fold in other.folds),
            )


def symbols_on(page: LabPage, told: Iterable[Printed]) -> tuple[Symbol, ...]:
    """Every symbol that stands on the page, in its order."""
    lesson = page.shown.lesson
    listed = lesson.givens if lesson.kind == "numbers" else ()
    steps = tuple(each.step for each in told if each.is_told)
    return symbols_of((lesson.summary, steps, tuple(given.symbol for given in listed)))


def _rest(page: LabPage, step: Step, there: LabPage, other: Step) -> Step:
    """The step without what stands there too, in the other step."""
    looks = there.shown.looks  # several pages ask the one that is read first
    if other.id not in looks:
        looks[other.id] = {_shown(there, each) for each in _singly(other.all_blocks)}
    asked = {each.id for each in other.questions}

    def new(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
        return tuple(each for each in _singly(blocks) if _shown(page, each) not in looks[other.id])

    idea: Text = () if text(step.idea) == text(other.idea) else step.idea
    questions = tuple(each for each in step.questions if each.id not in asked)
    folds = (replace(fold, blocks=new(fold.blocks)) for fold in step.folds)
    return replace(
        step,
        idea=idea,
        blocks=new(step.blocks),
        check=new(step.check),
        folds=tuple(fold for fold in folds if fold.blocks),
        questions=questions,
    )


def _singly(blocks: Iterable[Block]) -> Iterator[Block]:
    """The blocks, each equation one of its own."""
    for each in blocks:
        if isinstance(each, Working):
            yield from (replace(each, equations=(equation,)) for equation in each.equations)
        else:
            yield each


def _shown(page: LabPage, content: Block) -> str:
    """How a block looks, whether its results are in boxes or not."""
    if isinstance(content, FigureSlot):
        return page.shown.draw(content).svg
    if isinstance(content, Working):
        plain = (replace(each, boxed=False) for each in content.equations)
        content = Working(equations=tuple(plain))
    return block(content, page.shown.digits, lambda slot: text(()))
