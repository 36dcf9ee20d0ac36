"""The pages of a lab with their drawings and data files, and what other pages tell of them.

Takes a lab in one build; gives its files. They are made of the lab and its site, of which no other
lab is part, and of nothing else: so they are the same as long as these are, and may be kept.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache, partial
from itertools import groupby
from typing import Any

from markupsafe import Markup

from fallwork.figures import Figure
from fallwork.lesson import reviewing
from fallwork.lesson.document import FigureSlot
from fallwork.once import digest, keep, kept
from fallwork.pages import asked, scriptdata, variants
from fallwork.pages.asked import printed, symbols_on
from fallwork.pages.context import GivenLab, LabPage
from fallwork.pages.datafiles import tables_of
from fallwork.pages.finding import is_searched, search_of
from fallwork.pages.markdown import PageFile, block, plain
from fallwork.pages.schedule import BENCH, DATA, OVERVIEW, STAFF_PAGES
from fallwork.scenario import FormerStep

SKETCH = FigureSlot(kind="sketch")
DATA_OF_SCRIPTS = "fw_data"  # in the front matter
_ASKED_OF_LABS: dict[str, Any] = {
    "asked": asked,
    "own": scriptdata,
    "reviewing": reviewing,
    "varied": variants,
}


@dataclass(frozen=True, kw_only=True)
class Told:
    """What other pages tell of the steps on a page."""

    steps: Mapping[str, str]  # id -> title
    former: tuple[FormerStep, ...]

    @property
    def anchors(self) -> Iterable[str]:
        """Every address of a step on the page."""
        return dict.fromkeys((*self.steps, *(each.id for each in self.former)))


@dataclass(frozen=True)
class Listed:
    """A file of the site's source folder that is made when it is asked for."""

    path: str
    front: Mapping[str, Any]  # of a page, without what its scripts work from
    key: str  # of all that it is made of
    load: Callable[[], PageFile] = field(compare=False)

    @classmethod
    def of(cls, file: PageFile) -> "Listed":
        """One that is made already."""
        return cls(file.path, file.front, digest(file.path, file.front, file.body), lambda: file)


class Made:
    """The files of a lab's pages, worked out from the lab and its site, of which no other lab is
    part; so they are the same as long as these are. What is told of them is at hand, their texts
    are fetched from where they are kept.
    """

    def __init__(self, given: GivenLab) -> None:
        self.given, site = given, given.site
        said = (given.title, given.earlier, given.newest, given.revealed)
        self._key = digest(said, site.data, site.now, site.edition, site.telling, site.handouts)
        self._told = self._kept("told")
        self._texts: Any = None  # where nothing can be kept

    def _kept(self, part: str) -> Any:
        there = kept(f"{self._key}-{part}")
        return None if there is None else json.loads(there)

    @property
    def is_kept(self) -> bool:
        """Whether it has been worked out before."""
        return self._told is not None

    def work_out(self) -> dict[str, Any]:
        """All of it, as JSON has it."""
        given = self.given
        files = [file for page in given.all_pages for file in _files(page)]
        files += [search_of(given)] if is_searched(given) else []
        steps = {
            page.sub.name: [
                {step.id: step.title for step in page.steps},
                [[each.id, each.now, each.because] for each in page.former],
            ]
            for page in given.pages
        }
        fronts = {
            file.path: {k: v for k, v in file.front.items() if k != DATA_OF_SCRIPTS}
            for file in files
        }
        texts = {file.path: [file.body, file.front] for file in files}
        return {"told": {"steps": steps, "files": fronts}, "texts": texts}

    def hand_in(self, made: dict[str, Any]) -> None:
        """What was worked out, maybe in another process."""
        for part, content in made.items():
            keep(f"{self._key}-{part}", json.dumps(content, ensure_ascii=False).encode())
        self._told = made["told"]
        self._texts = None if self._kept("told") else made["texts"]

    @property
    def listed(self) -> Iterator[Listed]:
        """Pages, drawings, data and what can be searched."""
        for path, front in self._told["files"].items():
            yield Listed(path, front, f"{self._key} {path}", partial(self._load, path))

    def _load(self, path: str) -> PageFile:
        texts = self._texts or _last_texts(self)
        body, front = texts[path]
        return PageFile(path=path, body=body, front=front)

    def fetch(self) -> Any:
        """Body and front matter of each file, by its path."""
        texts = self._kept("texts")
        return self.work_out()["texts"] if texts is None else texts

    @cached_property
    def pages(self) -> Sequence[tuple[LabPage, Told]]:
        """The pages that have steps."""
        found = []
        for page in self.given.pages:
            steps, gone = self._told["steps"][page.sub.name]
            former = tuple(FormerStep(id=id_, now=now, because=why) for id_, now, why in gone)
            found.append((page, Told(steps=steps, former=former)))
        return found


@lru_cache(maxsize=1)  # one lab's files are asked for in a row
def _last_texts(made: Made) -> Any:
    return made.fetch()


# ---- the pages of a lab


def _files(page: LabPage) -> Iterator[PageFile]:
    """A page with its drawings and the files to download."""
    given, shown = page.given, page.shown
    there = not given.withdrawn
    told = tuple(printed(page)) if there else ()
    slots = [SKETCH] if there and page.sub in (OVERVIEW, BENCH) else []
    blocks = (content for each in told for content in each.step.all_blocks)
    slots += [content for content in blocks if isinstance(content, FigureSlot)]
    figures = {slot: shown.draw(slot) for slot in slots}
    paths = {slot: f"figures/{page.sub.name}-{each.id}.svg" for slot, each in figures.items()}
    tables = tables_of(shown.evidence) if page.sub is DATA and there and shown.evidence else ()

    marks = scriptdata.marks_of(page)
    drawn = {slot: _drawn(figure, paths[slot]) for slot, figure in figures.items()}
    draw = drawn.__getitem__
    yield given.site.page(
        page.source,
        page.sub.template if there else "withdrawn",
        _front(page) | scriptdata.data_of(page, (each.step for each in told)),
        of=given,
        over=given.earlier or given.withdrawn,
        page=page,
        lesson=shown.lesson,
        parts=[(part, list(steps)) for part, steps in groupby(told, lambda each: each.step.part)],
        symbols=symbols_on(page, told),
        digits=shown.digits,
        blocks=lambda some: Markup("").join(block(e, shown.digits, draw, marks) for e in some),
        marks=marks,
        drawings=list(drawn.values()),
        files=tables,
        **_ASKED_OF_LABS,
    )
    for slot, figure in figures.items():
        yield PageFile(path=f"{given.folder}/{paths[slot]}", body=figure.svg)
    for each in tables:
        yield from each.files(given.folder)


def _drawn(figure: Figure, path: str) -> Markup:
    """A figure with its text alternative and caption."""
    return Markup(
        f'<figure markdown="1" id="figure-{figure.id}">\n'
        f"![{plain(figure.description)}]({path})\n"
        f'<figcaption markdown="span">{plain(figure.caption)}</figcaption>\n'
        "</figure>"
    )


def _front(page: LabPage) -> dict[str, Any]:
    """What the front matter of a lab's page tells of it."""
    given, site, over = page.given, page.given.site, page.given.withdrawn
    for_staff = site.staff and page.sub in STAFF_PAGES
    about = ": overview" if page.sub is OVERVIEW and not over else ""
    more = ": taken down" if over else ", for staff" if for_staff else ""
    return {
        "title": page.heading,
        "description": f"{page.heading}{about}, {given.term.title}{more}",
        "page": "overview" if page.sub is OVERVIEW else page.sub.name,
        "term": given.term.id,
        "lab": given.lab.id,
        **({"nav": True} if page.sub is OVERVIEW and not given.earlier else {}),
        **({"staff_only": True} if for_staff else {}),
        **({"held_until": page.held_until} if site.staff and page.held_until else {}),
    }
