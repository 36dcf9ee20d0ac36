"""Colours, links and what pages say about themselves; a course in letters of its own."""

import json
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from urllib.parse import unquote, urljoin, urlsplit

import lxml.html
import pytest
import yaml
from lxml import etree

from cases import cases
from democourse import NOW, copy_of_the_course, exchange, own_course
from equations import checker, test_checker
from equations.page import formula_spans
from equations.reading import names_in
from fallwork import errors, figures
from fallwork.commands.check import checked
from fallwork.commands.key import answer_key
from fallwork.commands.trials import analysed_trials
from fallwork.lesson.lab.symbols import fixed_marks
from fallwork.lesson.notation import check_notation
from fallwork.lesson.words import texts
from fallwork.pages.build import GENERAL
from fallwork.scenario import load_course
from fallwork.scenario.notation import Notation
from fallwork.site import look, plugin, publication
from lesson.kit import DEMO, lesson_of, scenario_of
from lesson.measured import kit
from pages.history import OVER

ROOT = "http://site.invalid/"
WILD = '<img src=x onerror=alert(1)> & "q" {{ c }} </script>'
FRONT = f"title: '{WILD}'\ndescription: '{WILD}'\npage: prelab\nnav: true\n"
LAB = f"---\n{FRONT}---\n\n# Lab\n\n## Now {{#now}}\n\nText.\n"
HOST = "https://example.org/mechanics/"
CASES = cases(__file__, "notation")
OTHER = CASES["other"]
# What stands for a quantity in the usual notation and for nothing in the other one. The number of
# trials gives its letter to the normal force and takes N.
USUAL = re.compile("Δ?[TK](_.*)?|N_.*|(ΔU|f)(_(?!g|s|k|max).*)?|[ukL]_[NKU].*|W_N.*|n_[^bg].*")
SLANTED = re.compile("[𝑇𝐾𝑁]|𝑓$|𝑈$")  # in figures, where subscripts stand by themselves
LEVEL = "2027-spring/level"


def test_colours_are_variables_of_the_page_and_files_lie_where_they_belong():
    css = look.colours()
    for role in figures.palette().values():
        assert f"--fw-{role.name}: {role.light};" in css
        assert f"--fw-{role.name}: {role.dark};" in css
    files = sorted([*look.ASSETS.glob("*.css"), *look.ASSETS.glob("*.js")])
    assert len(files) == 14
    scripts = [look.own_file(file) for file in files if file.suffix == ".js"]
    assert sum(map(len, scripts)) < 60_000
    assert max(each.count(b"\n") for each in scripts) < 300
    styles = "".join(file.read_text("utf-8") for file in files)
    assert set(re.findall(r"var\(--fw-([a-z0-9-]+)", styles)) <= set(figures.palette())
    assert re.findall(r"https?:|//[a-z]", styles) == []  # no other host
    licence = (look.ASSETS / "fonts/OFL.txt").read_text("utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence


@pytest.mark.parametrize("edition", ["student", "staff"])
def test_every_link_leads_somewhere_in_the_site_and_no_id_is_used_twice(edition, tmp_path):
    """The tests' own course with everything open."""
    site = publication.publish(own_course(tmp_path), edition=edition, now=OVER).site
    pages = {
        path.relative_to(site).as_posix(): etree.parse(path, etree.HTMLParser())
        for path in sorted(site.rglob("*.html"))
    }
    ids = {name: page.xpath("//@id") for name, page in pages.items()}
    assert [name for name, found in ids.items() if len(set(found)) < len(found)] == []
    links = [
        (name, str(link))
        for name, page in pages.items()
        for link in page.xpath("//@href | //@src | //@poster | //@action")
    ]
    assert len(links) > 500
    for name, link in links:
        address = urlsplit(urljoin(f"{ROOT}{name}", link))
        target = unquote(address.path).lstrip("/")
        assert address.netloc == "site.invalid", f"{name}: {link}"
        assert (site / target).is_file(), f"{name}: {link}"
        anchor = unquote(address.fragment)
        assert not anchor or anchor in ids[target], f"{name}: {link}"
    found = set[str]()
    for path in sorted(site.glob("search/**/*.js")):
        found |= set(re.findall(r'"([^"]+\.html)"', path.read_text("utf-8")))
    assert f"{LEVEL}/prelab.html" in found
    assert found <= pages.keys()
    told = json.loads((site / f"search/{LEVEL}.js").read_text("utf-8").split("]=", 1)[1])
    names = [address for address, *_ in told["pages"]]
    there = [each[2] for each in told["entries"] if len(each[2]) == 2]  # others are no pages
    parts = [(part.rpartition("#")[2], at) for at, part in there]
    wrong = [row for part in ("working", "measured") for row in told.get(part, {}).get("wrong", [])]
    parts += [(f"{told['steps'][each[2]]}-{each[3]}", each[5]) for each in wrong]
    assert len(parts) > 80
    missing = [f"{names[at]}#{id_}" for id_, there in parts for at in there]
    missing = [each for each in missing if each.split("#")[1] not in ids[each.split("#")[0]]]
    assert missing == []
    assert all(there for _, there in parts)


# ---- what pages say about themselves
@pytest.fixture
def wild(config_file, pages, monkeypatch) -> Path:
    """A site at a known address, with a wild title and a page of an earlier term."""
    pages["term/lab.md"] = LAB
    pages["dates.md"] = "---\ntitle: Dates\nrobots: noindex\n---\n\n# Dates\n"
    pages["term/old.md"] = "---\ntitle: Old\nrobots: noindex\n---\n\n# Old\n"
    data = plugin.load_course(config_file.parent / "site-data")
    course = replace(data.course, url=HOST, title=f"Course {WILD}")
    monkeypatch.setattr(plugin, "load_course", lambda root: replace(data, course=course))
    return publication.publish(config_file, now=NOW).site


def test_a_page_that_teaches_says_so_and_its_title_is_never_markup(wild):
    text = (wild / "term/lab.html").read_text("utf-8")
    scripts = re.findall(r'<script type="application/ld\+json">(.*?)</script>', text, re.DOTALL)
    assert [json.loads(script) for script in scripts] == [CASES["resource"]]
    assert "application/ld+json" not in (wild / "index.html").read_text("utf-8")
    robots = '<meta name="robots" content="noindex">'
    assert robots in (wild / "term/old.html").read_text("utf-8")
    assert robots not in text
    tree = etree.parse(wild / "sitemap.xml")
    listed = sorted(["index.html", "room.html", "term/lab.html", *(f"{g}.html" for g in GENERAL)])
    assert [each.text for each in tree.iter("{*}loc")] == [f"{HOST}{page}" for page in listed]
    assert list(tree.iter("{*}lastmod")) == []
    assert not (wild / "sitemap.xml.gz").exists()
    for page in ("index.html", "term/lab.html", "room.html", "404.html"):
        tree = etree.parse(wild / page, etree.HTMLParser())
        assert tree.xpath("//*[@onerror] | //img[@src='x']") == []
    tree = etree.parse(wild / "term/lab.html", etree.HTMLParser())
    assert tree.findtext(".//title") == f"{WILD} - Course {WILD}"
    assert tree.xpath("//meta[@name='description']/@content") == [WILD]
    assert WILD in "".join(tree.xpath("//nav//text()"))


@pytest.mark.parametrize(("page", "what"), [("index", "page"), ("prelab", "true")])
def test_menu_and_foot_mark_the_page_or_the_lab_that_it_belongs_to(page, what, config_file, pages):
    front = "---\ntitle: Lab\nterm: term\nlab: level\nnav: {}\n---\n\n# Lab\n"
    pages["term/level/index.md"] = front.format("true")
    pages["term/level/prelab.md"] = front.format("false")
    site = publication.publish(config_file, now=NOW).site
    tree = etree.parse(site / f"term/level/{page}.html", etree.HTMLParser())
    for menu in ("contains(@class, 'md-nav--primary')", "@aria-label = 'Site'"):
        marked = tree.xpath(f"//nav[{menu}]//*[@aria-current]")
        assert [(a.get("href"), a.get("aria-current")) for a in marked] == [("index.html", what)]


# ---- a course in letters and words of its own
def course_in(folder: Path, notation: Mapping[str, str], labs: tuple[str, ...] = ()) -> Path:
    """A copy of the demo course whose author says hanger in titles too."""
    root = copy_of_the_course(folder, labs=labs or ("level-track",))
    for path in (*root.rglob("*.yaml"), *root.rglob("*.md")):
        path.write_text(path.read_text("utf-8").replace("hanging mass", "hanger"), "utf-8")
    said = yaml.safe_dump({"notation": dict(notation)}, sort_keys=False)
    exchange(root / "site-data/course.yaml", "\nrubric:", f"\n{said}rubric:")
    return root


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Path:
    """Labs of three kinds, everything open."""
    folder = tmp_path_factory.mktemp("notation") / "course"
    root = course_in(folder, OTHER, ("level-track", "heavy-pulley", "incline-held"))
    publication.publish(root / "mkdocs.yml", now=NOW)
    return root / "site"


def test_nothing_of_the_usual_notation_is_left_and_equations_hold(site):
    found = set[str]()
    for page in sorted(site.glob("*/*/*.html")):
        html = page.read_text("utf-8")
        names = {name for span in formula_spans(html) for name in names_in(html[slice(*span)])}
        found |= names
        assert [name for name in names if USUAL.fullmatch(name)] == [], page
        tree = lxml.html.fromstring(html)
        drawn = ["".join(text.itertext()) for text in tree.xpath("//*[name()='text']")]
        assert [words for words in drawn if SLANTED.search(words)] == [], page
    assert {"F_T", "F_T,c", "n", "N", "f_k", "f_s", "KE_c", "ΔU_g,h", "W_T,c"} <= found
    for page in site.rglob("*.html"):
        words = lxml.html.fromstring(page.read_text("utf-8")).text_content()
        assert not re.search(r"hanging\s+mass|percent\s+error", words, re.IGNORECASE), page
        assert "{{" not in words
    checks = [checker.Check(*page) for page in test_checker.lesson_pages(site)]
    assert [found for check in checks for found in check.findings] == []
    assert sum(check.compared for check in checks) > 1000


def test_usual_letters_are_those_of_the_table():
    """And all letters of any page stand in the table against which others are checked."""
    table = texts("symbols")
    rows = (*table["given"].values(), *table["quantities"].values())
    known = {row["letter"].split()[-1] for row in rows} | {*table["others"]}
    assert {"T", "N", "f", "K", "U"} <= known
    for name in ("level-track", "heavy-pulley", "incline-held", "push-away"):
        scenario = scenario_of(DEMO / f"{name}.yaml")
        lessons = [lesson_of(DEMO / f"{name}.yaml", numbers=True)]
        if name == "level-track":
            evidence = kit.judged(scenario, kit.trials_of(scenario, count=5))
            lessons += [kit.solution(scenario, evidence), kit.data(scenario, evidence)]
        symbols = {symbol.letter.split()[-1] for lesson in lessons for symbol in lesson.symbols}
        assert symbols <= known


@pytest.mark.parametrize(("key", "letter", "found"), CASES["refused"])
def test_a_letter_with_two_meanings_is_refused_at_its_place(key, letter, found, tmp_path):
    root = course_in(tmp_path / "course", {key: letter}) / "site-data"
    with pytest.raises(errors.BadInput) as caught:
        check_notation(load_course(root).course)
    (problem,) = caught.value.problems
    text = (root / "course.yaml").read_text("utf-8").splitlines()
    assert problem.found == found
    assert text[problem.place.line - 1][problem.place.column - 1 :] == letter


@pytest.mark.parametrize("notation", [OTHER, *CASES["sound"]])
def test_what_departments_are_used_to_is_taken(notation, tmp_path):
    check_notation(load_course(course_in(tmp_path / "course", notation) / "site-data").course)


def test_commands_use_its_words(tmp_path, monkeypatch):
    root = course_in(tmp_path / "course", OTHER)
    monkeypatch.chdir(root)
    asked = {"scenario": "level-track", "term": "2026-autumn", "numbers": (), "json": False}
    (table,) = analysed_trials([], **asked)
    assert "percent difference" in table
    assert not re.search("hanging mass|percent error", table)
    exchange(root / "site-data/scenarios/level-track.yaml", "mass: 80.0 g", "mass: 8.0 kg")
    said = "\n".join(checked([root]))
    assert "hangers in a lab have between 0.5 g and 5 kg" in said
    assert "hanging mass" not in said
    assert (", F_T = " in said, ", T = " in said) == (True, False)
    # With a title of the author's own in which the usual word stands.
    exchange(root / "site-data/scenarios/level-track.yaml", "hanger", "hanging mass")
    own = {"variant": "", "every": False, "numbers": (), "json": False}
    key = answer_key("level-track", term=None, given=("F_T=0.5 N",), **own)
    assert "hanging mass" not in "\n".join(key)
    assert "What follows from F_T = 0.5 N" in key
    assert {"T", "n", "k", "g"} <= Notation(**OTHER).marks
    assert "h" not in fixed_marks()
