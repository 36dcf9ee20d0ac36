"""How long a course takes to build, and how that grows with the number of its labs.

Run with ``python benchmarks/courses.py [--labs 1,10,100,1000]``. Of so many labs it makes a course
out of the demo's: every kind of set-up with other numbers, in up to twenty terms of which all but
one are over, a third with simulated trials. It is published in its usual place three times, on
record: cold, with nothing changed, and with a number of one lab corrected. Each is a process of its
own. Pages are compared by their kinds: small ones of steps are as many with a hundred labs as with
a thousand.

The floor beside it is the docs builder alone: the same Markdown, with formulas still in LaTeX and
drawings as files beside it, the same Markdown extensions, theme and template, the same navigation
and checking of links; without our plugin. It is what any program would need that leaves formulas to
a script in the browser and drawings to ``<img>``, and works nothing out. So it is low: whatever the
pages hold more than the builder makes of their text counts as ours.

Of times on a machine that does other things too, only the ratios within one run mean something.
"""

import argparse
import re
import shutil
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from functools import partial
from itertools import count
from math import ceil
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

import yaml
from measured import Used, used
from mkdocs.utils.meta import get_data

import fallwork
from fallwork.measurement.simulate import csv_of, simulate
from fallwork.mechanics import apparatus_of, solve
from fallwork.once import NAMED_BY
from fallwork.pages.build import build_pages
from fallwork.pages.markdown import PageFile
from fallwork.pages.schedule import OVERVIEW, SUB_PAGES
from fallwork.pages.worked import gravity_estimate
from fallwork.scenario import load_course
from fallwork.site.files import navigation
from fallwork.site.look import ASSETS

PROJECT = Path(__file__).parents[1]
TERM = "2026-autumn"
BACK = timedelta(weeks=104)  # from the demo's dates: what is published must not be to come
DAY = date(2026, 11, 20) - BACK  # the one that the site shows, in the middle of a term
BETWEEN = timedelta(weeks=26)
MOST_TERMS, IN_A_TERM, WITH_TRIALS, TRIALS = 20, 8, 3, 5
OF_LABS = tuple(f"{sub.name}.html" for sub in (OVERVIEW, *SUB_PAGES))
SPREAD = 0.05  # of numbers around the demo's, relative
Entry = dict[str, Any]


# ---- a course of so many labs


def course_of(labs: int, root: Path) -> None:
    """Write a course with its settings and hand-written pages."""
    shutil.copy(PROJECT / "mkdocs.yml", root)
    shutil.copytree(PROJECT / "content", root / "content")
    data = root / "site-data"
    shutil.copytree(
        PROJECT / "site-data", data, ignore=shutil.ignore_patterns("published", "trials")
    )
    demo = yaml.safe_load((data / f"terms/{TERM}.yaml").read_text("utf-8"))["labs"]
    kinds = sorted(demo.items(), key=lambda item: item[0] != "level-track")
    shutil.rmtree(data / "terms")
    (data / "terms").mkdir()
    each = ceil(labs / min(MOST_TERMS, ceil(labs / IN_A_TERM)))
    terms: dict[str, dict[str, Entry]] = {}
    for at in range(labs):
        number, (kind, entry) = at // each, kinds[at % len(kinds)]
        term = terms.setdefault(f"term-{number:02d}", {})
        ids = (f"{kind}-{n}" if n else kind for n in count())
        bare = {key: value for key, value in entry.items() if key != "measured"}
        made = _varied(bare, Random(at), BACK + number * BETWEEN)
        term[next(id_ for id_ in ids if id_ not in term)] = {"scenario": kind} | made
    write_terms(data, terms)
    _add_trials(data, terms)


def write_terms(data: Path, terms: dict[str, dict[str, Entry]]) -> None:
    """The files of the terms."""
    for id_, entries in terms.items():
        text = yaml.safe_dump({"term": id_.capitalize(), "labs": entries}, sort_keys=False)
        (data / f"terms/{id_}.yaml").write_text(text, "utf-8")


def _varied(said: Any, draw: Random, back: timedelta) -> Any:
    """Another term's entry: other numbers, earlier dates, no trials."""
    match said:
        case dict():
            return {key: _varied(value, draw, back) for key, value in said.items()}
        case list():
            return [_varied(value, draw, back) for value in said]
        case date():
            return said - back
        case str() if re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d", said):
            return (datetime.fromisoformat(said) - back).isoformat(timespec="minutes")
        case float() | str() if found := re.fullmatch(r"(-?\d+\.(\d+))( .*)?", str(said)):
            value = float(found[1]) * draw.uniform(1 - SPREAD, 1 + SPREAD)
            number = f"{value:.{len(found[2])}f}"
            return f"{number}{found[3]}" if found[3] else float(number)
    return said


def _add_trials(data: Path, terms: dict[str, dict[str, Entry]]) -> None:
    """Simulated records for a third of the labs, as far as something moves there."""
    course = load_course(data)
    gravity = gravity_estimate(course.course)
    labs = [(term.id, lab) for term in course.terms for lab in term.labs]
    for seed, (term, lab) in enumerate(labs):
        if seed % WITH_TRIALS == 0 and solve(apparatus_of(lab.variant, gravity.value)).moves:
            folder = data / "trials" / term / lab.id
            folder.mkdir(parents=True)
            for trial in simulate(lab.variant, gravity, trials=TRIALS, seed=seed):
                text = csv_of([trial], seed=seed)
                (folder / f"{trial.record.name}.csv").write_text(text, "utf-8")
            said = {"files": f"{term}/{lab.id}/*.csv", "whose": "simulation"}
            said |= {"variant": "own"} if "variants" in terms[term][lab.id] else {}
            terms[term][lab.id]["measured"] = said
        else:
            terms[term][lab.id].pop("data_opens", None)
    write_terms(data, terms)


def change_one_lab(data: Path) -> None:
    """Correct a number of a lab that is on."""
    path = data / "terms/term-00.yaml"
    term = yaml.safe_load(path.read_text("utf-8"))
    lab = term["labs"]["level-track"]
    was = lab["numbers"]["weight.mass"]
    lab["numbers"]["weight.mass"] = f"{float(was.split()[0]) + 0.3:.1f} g"
    said = {"at": DAY - timedelta(days=1), "field": "weight.mass", "was": was}
    lab["corrections"] = [{**said, "because": "It was weighed again."}]
    path.write_text(yaml.safe_dump(term, sort_keys=False), "utf-8")


# ---- the floor


def _in_menu(page: PageFile) -> bool:
    return page.path.endswith(".md") and "\nnav: true\n" in page.content.partition("\n---\n")[0]


def write_out(course: Path, floor: Path) -> int:
    """What the docs builder needs to build the same pages alone; gives the number of figures."""
    data = load_course(course / "site-data")
    now = datetime.combine(DAY, time(), data.course.zone)
    made = build_pages(data, now=now, edition="student")
    shutil.copytree(course / "content", floor / "content")
    shutil.copytree(ASSETS, floor / "content/assets/fallwork")
    for page in made:
        path = floor / "content" / page.path
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(page.content, "utf-8")
    settings = yaml.safe_load((course / "mkdocs.yml").read_text("utf-8"))
    theme = Path(fallwork.__file__).parent / "site/theme"
    settings |= {"plugins": [], "theme": {**settings["theme"], "custom_dir": str(theme)}}
    del settings["validation"]["nav"]  # most pages are in no menu
    titles = {page.path: get_data(page.content)[1]["title"] for page in made if _in_menu(page)}
    settings["nav"] = [*navigation([*titles], titles), *settings["nav"]]
    (floor / "mkdocs.yml").write_text(yaml.safe_dump(settings), "utf-8")
    return sum(page.path.endswith(".svg") for page in made)


# ---- what is told


def built(labs: int) -> tuple[dict[str, Used], dict[str, list[int]], int]:
    """Make a course and build it and its floor: what each took; bytes of its pages by their kinds,
    of labs by name, of steps and others by where they stand; the number of figures.
    """
    with TemporaryDirectory() as aside:
        course, floor = (Path(aside) / name for name in ("course", "floor"))
        for folder in (course, floor):
            folder.mkdir()
        course_of(labs, course)
        figures = write_out(course, floor)
        publish = partial(used, "fallwork", "publish", "--as-of", str(DAY), folder=course)
        publish = partial(publish, **{NAMED_BY: str(Path(aside) / "kept")})
        runs = {"floor": used("mkdocs", "build", "--quiet", folder=floor)}
        runs["cold"] = publish()
        pages: dict[str, list[int]] = {}
        for path in (course / "site").rglob("*.html"):
            folder = path.relative_to(course / "site").parts[0]
            kind = path.name if (path.parent / "prelab.html").is_file() else folder
            pages.setdefault(kind, []).append(path.stat().st_size)
        runs["unchanged"] = publish()
        change_one_lab(course / "site-data")
        runs["one changed"] = publish()
    return runs, pages, figures


def line(name: str, values: Iterable[object]) -> None:
    """Print a row of the table."""
    print(f"  {name:20}{''.join(f'{value:>13}' for value in values)}", flush=True)


def tell(labs: int) -> dict[str, float]:
    """Print the table of a course; gives the bytes of each kind of page, and seconds of a lab's."""
    runs, kinds, figures = built(labs)
    every, floor, cold = list(runs.values()), runs["floor"], runs["cold"]
    pages = [size for sizes in kinds.values() for size in sizes]
    of_labs = sum(len(kinds[kind]) for kind in OF_LABS if kind in kinds)
    print(f"\n{labs} labs: {len(pages)} pages, {of_labs} of them of labs, {figures} figures")
    there = [kind for kind in (*OF_LABS, "step") if kind in kinds]
    found = {kind: sum(kinds[kind]) / len(kinds[kind]) for kind in there}
    print("  bytes each:", ", ".join(f"{kind} {size:.0f}" for kind, size in found.items()))
    line("", runs)
    line("wall, s", (f"{run.wall:.2f}" for run in every))
    line("  floors", (f"{run.wall / floor.wall:.2f}" for run in every))
    line("CPU, s", (f"{run.cpu:.2f}" for run in every))
    line("  floors", (f"{run.cpu / floor.cpu:.2f}" for run in every))
    line("  a page, ms", (f"{1e3 * run.cpu / len(pages):.1f}" for run in every))
    line("memory, MiB", (f"{run.memory:.0f}" for run in every))
    line("s of CPU by stage", (*[""] * len(every), "cold: MiB"))
    for stage in dict.fromkeys(s for run in (cold, floor) for s, _ in run.stages.most_common()):
        grown = f"{cold.grown[stage]:.0f}"
        line(f"  {stage}", (*(f"{run.stages[stage]:.2f}" for run in every), grown))
    line("  other processes", (f"{run.cpu - run.stages.total():.2f}" for run in every))
    line("  figures each, ms", (f"{1e3 * run.stages['figures'] / figures:.1f}" for run in every))
    return found | {"seconds of CPU": cold.cpu / of_labs}


def main() -> None:
    """A table for each number of labs, and how the last compares with that for ten."""
    call = argparse.ArgumentParser()
    call.add_argument("--labs", default="1,10,100,1000")
    found = {int(each): tell(int(each)) for each in call.parse_args().labs.split(",")}
    few, many = (found[each] for each in (10 if 10 in found else min(found), max(found)))
    ratios = ", ".join(f"{kind} {many[kind] / few[kind]:.2f}" for kind in few if kind in many)
    print(f"\nA page of a lab, of {max(found)} labs against few: {ratios}")


if __name__ == "__main__":
    main()
