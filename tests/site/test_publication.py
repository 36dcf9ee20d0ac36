"""A site is published whole or not at all, and never where it doesn't belong."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from democourse import exchange
from fallwork.errors import BadInput, Place, Problem
from fallwork.scenario import CourseData
from fallwork.site import plugin, publication
from fallwork.site.errors import PublicationError
from fallwork.site.publication import publish

NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
Pages = dict[str, str]
FilesOf = Callable[[Path], dict[str, bytes]]


def test_the_pages_of_the_course_and_those_written_by_hand_are_built(
    config_file: Path, pages: Pages
) -> None:
    result = publish(config_file, now=NOW)
    assert result.site == config_file.parent / "site"
    assert result.pages == 4
    for page in ("index.html", "term/lab.html", "reading.html", "safety.html"):
        text = (result.site / page).read_text()
        assert " - Falling weights</title>" in text
        assert "Questions? Ask the office, on &lt;floor 3&gt;." in text
    assert not (result.site / "404.html").exists()  # it would have to know where the site stands
    names = sorted(path.name for path in config_file.parent.iterdir())
    assert names == ["content", "mkdocs.yml", "site", "site-data"]


def test_a_site_that_knows_its_address_has_a_page_for_wrong_ones(
    config_file: Path, pages: Pages, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = plugin.load_course(config_file.parent / "site-data")
    course = replace(data.course, url="https://example.org/mechanics/")
    pages["dates.md"] = "# Links and dates\n"
    monkeypatch.setattr(plugin, "load_course", lambda root: replace(data, course=course))
    site = publish(config_file, now=NOW).site
    assert 'href="/mechanics/assets/fallwork/text.css"' in (site / "404.html").read_text()


def test_the_staff_edition_names_the_address_of_the_students_page(
    config_file: Path, pages: Pages, monkeypatch: pytest.MonkeyPatch
) -> None:
    def noted(site: Path, page: str) -> list[str]:
        return re.findall(r'name="fw-address" content="(.*?)"', (site / page).read_text("utf-8"))

    site = publish(config_file, edition="staff", now=NOW).site
    assert noted(site, "reading.html") == ["reading.html"]
    data = plugin.load_course(config_file.parent / "site-data")
    course = replace(data.course, url="https://example.org/mechanics/")
    pages["dates.md"] = "# Links and dates\n"
    monkeypatch.setattr(plugin, "load_course", lambda root: replace(data, course=course))
    site = publish(config_file, edition="staff", now=NOW).site
    assert noted(site, "reading.html") == ["https://example.org/mechanics/reading.html"]
    assert noted(publish(config_file, now=NOW).site, "reading.html") == []


def test_publishing_again_replaces_the_site(
    config_file: Path, pages: Pages, published: Path
) -> None:
    del pages["term/lab.md"]
    pages["index.md"] = "---\ntitle: Home\nnav: true\n---\n\n# Changed\n"
    publish(config_file, now=NOW)
    assert "Changed" in (published / "index.html").read_text()
    assert not (published / "term").exists()


HOME = "---\ntitle: Home\nnav: true\n---\n\n# Home\n\n{}\n"
NOT_FOUND = "Doc file 'index.md' contains a link '{}', but the target is not found among"
OWN = "{folder}/content/"
REFUSED: list[tuple[str, str, str]] = [  # page, what it says, message; index.md is the course's
    (
        *("index.md", r"A formula $\nosuch$."),
        r"index.md: the formula $\nosuch$ can't be set: "
        r"""unknown command "\nosuch"; write it with other LaTeX commands""",
    ),
    (
        *("index.md", "![](figures/sketch.svg)"),
        "index.md: the image 'figures/sketch.svg' has no text alternative; "
        "say between the square brackets what it shows",
    ),
    (
        *("index.md", "[a](term/nosuch.md)"),
        f"{NOT_FOUND.format('term/nosuch.md')} documentation files.",
    ),
    (
        *("index.md", "[a](term/lab.md#nosuch)"),
        "Doc file 'index.md' contains a link 'term/lab.md#nosuch', but the doc 'term/lab.md' "
        "does not contain an anchor '#nosuch'.",
    ),
    (
        *("index.md", "![A drawing.](figures/nosuch.svg)"),
        f"{NOT_FOUND.format('figures/nosuch.svg')} documentation files.",
    ),
    (
        *("mine.md", "# Mine\n"),
        f"{OWN}mine.md:1:1: a page to which nav in {{folder}}/mkdocs.yml doesn't lead; add "
        "`- mine.md` below nav or, where links are enough, write `not_in_nav: mine.md`",
    ),
    (
        *("index.md ", "# Mine\n"),
        f"{OWN}index.md:1:1: a page of your own where a page of the course belongs; give yours "
        "another name",
    ),
    (
        *("reading.md", "# Reading\n\nSee [here](readign.md).\n"),
        f'{OWN}reading.md:3:12: the link readign.md leads to nothing; did you mean "reading.md"?',
    ),
    (
        *("reading.md", "# Reading\n\nSee [above](#top) or [there](gone.md).\n"),
        f"{OWN}reading.md:3:13: the link #top leads to nothing; correct it, or take it out\n"
        f"{OWN}reading.md:3:30: the link gone.md leads to nothing; correct it, or take it out",
    ),
    (
        *("reading.md", "# Reading\n\nA formula\n$\\nosuch$.\n"),
        f"{OWN}reading.md:4:2: the formula $\\nosuch$ can't be set: "
        'unknown command "\\nosuch"; write it with other LaTeX commands',
    ),
    (
        *("reading.md", "# Reading\n\n![](track.png)\n"),
        f"{OWN}reading.md:3:5: the image 'track.png' has no text alternative; say between the "
        "square brackets what it shows",
    ),
]


@pytest.mark.parametrize(("page", "text", "message"), REFUSED)
def test_what_is_wrong_with_a_page_is_told_and_changes_nothing(
    *,
    config_file: Path,
    pages: Pages,
    published: Path,
    files_of: FilesOf,
    page: str,
    text: str,
    message: str,
) -> None:
    before, folder = files_of(published), config_file.parent
    if page == "index.md":
        pages[page] = HOME.format(text)
    else:
        (folder / "content" / page.strip()).write_text(text, "utf-8")
    with pytest.raises(PublicationError) as caught:
        publish(config_file, now=NOW)
    told = set(str(caught.value).splitlines())
    assert told == set(message.replace("{folder}", str(folder)).splitlines())
    assert files_of(published) == before


SETTINGS = [
    (
        "  - search\n",
        "  - serch\n",
        'serch: plugins: The "serch" plugin is not installed; correct it there',
    ),
    (
        "exclude_docs:",
        "exlude_docs:",
        "exlude_docs: exlude_docs: Unrecognised configuration name: exlude_docs; correct it there",
    ),
    (
        "nav:",
        "nav: [",
        "- reading.md: - where a value should stand; write the value, or put quotes around the "
        "text",
    ),
]


@pytest.mark.parametrize(("old", "new", "message"), SETTINGS)
def test_settings_that_the_docs_builder_refuses_are_told_with_their_place(
    config_file: Path, old: str, new: str, message: str
) -> None:
    exchange(config_file, old, new)
    about, told = message.split(": ", 1)
    lines = config_file.read_text("utf-8").splitlines()
    number = next(at for at, line in enumerate(lines, start=1) if about in line)
    with pytest.raises(PublicationError) as caught:
        publish(config_file, now=NOW)
    column = lines[number - 1].index(about) + 1
    assert str(caught.value) == f"{config_file}:{number}:{column}: {told}"


def test_a_page_that_nav_lists_and_that_is_not_there_is_told(
    config_file: Path, published: Path
) -> None:
    (config_file.parent / "content/reading.md").unlink()
    with pytest.raises(PublicationError) as caught:
        publish(config_file, now=NOW)
    line = config_file.read_text("utf-8").splitlines().index("  - reading.md") + 1
    assert str(caught.value) == (
        f"{config_file}:{line}:5: nav leads to reading.md, and {config_file.parent}/content holds "
        "no such page; correct the name, or take the line out"
    )


def test_bad_input_reaches_the_caller_as_it_is_and_changes_nothing(
    config_file: Path,
    published: Path,
    files_of: FilesOf,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    place = Place(file="site-data/course.yaml", line=3, column=1)
    problem = Problem(place=place, found="no unit", expected="write kg or g")

    def load_course(root: Path) -> CourseData:
        raise BadInput((problem,))

    before = files_of(published.parent)
    monkeypatch.setattr(plugin, "load_course", load_course)
    with pytest.raises(BadInput) as caught:
        publish(config_file, now=NOW)
    assert caught.value.problems == (problem,)
    assert files_of(published.parent) == before


def test_a_build_that_is_interrupted_changes_nothing(
    config_file: Path, published: Path, files_of: FilesOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(config: object) -> None:
        raise KeyboardInterrupt

    before = files_of(published.parent)
    monkeypatch.setattr(publication, "build", interrupted)
    with pytest.raises(KeyboardInterrupt):
        publish(config_file, now=NOW)
    assert files_of(published.parent) == before


@pytest.mark.parametrize("to", [None, "content/../site"])
def test_a_moment_to_come_is_not_shown_to_students(
    config_file: Path, pages: Pages, to: str | None
) -> None:
    place = config_file.parent / to if to else None
    with pytest.raises(PublicationError) as caught:
        publish(config_file, now=NOW, as_of=NOW + timedelta(seconds=1), to=place)
    assert str(caught.value) == (
        f"2027-03-01T12:00:01+00:00 is still to come, and {config_file.parent / 'site'} is what "
        "students see; name another folder"
    )


def test_a_moment_to_come_may_be_built_elsewhere(
    config_file: Path, pages: Pages, tmp_path: Path
) -> None:
    result = publish(config_file, now=NOW, as_of=NOW + timedelta(days=9), to=tmp_path / "look")
    assert result.site == tmp_path / "look"
    assert (tmp_path / "look" / "index.html").is_file()


@pytest.mark.parametrize("to", [None, "site", "content/../site"])
def test_what_students_see_goes_on_record_however_its_folder_is_named(
    config_file: Path, pages: Pages, to: str | None
) -> None:
    publish(config_file, now=NOW, to=config_file.parent / to if to else None)
    assert (config_file.parent / "site-data/published/addresses.yaml").is_file()


def test_a_record_behind_a_link_stays_where_it_is(
    config_file: Path, pages: Pages, tmp_path_factory: pytest.TempPathFactory
) -> None:
    kept = tmp_path_factory.mktemp("kept") / "record"
    record = config_file.parent / "site-data/published"
    record.symlink_to(kept)
    page = config_file.parent / "content/reading.md"
    for heading in ("One", "Two"):
        page.write_text(f"{page.read_text('utf-8')}\n## {heading}\n", "utf-8")
        publish(config_file, now=NOW)
    assert record.is_symlink()
    assert "reading.html#two" in (kept / "addresses.yaml").read_text("utf-8")
    assert [path.name for path in (*kept.parent.iterdir(), *record.parent.iterdir())] == [
        "record",
        "published",
    ]


def test_hidden_files_that_servers_ask_for_go_along(content: Path) -> None:
    asked = (".nojekyll", ".htaccess", ".well-known/security.txt")
    for name in (*asked, ".git/config", ".notes"):
        (content / name).parent.mkdir(exist_ok=True)
        (content / name).write_text("a")
    for _ in range(2):
        site = publish(content.parent / "mkdocs.yml", now=NOW).site
    hidden = {str(path.relative_to(site)) for path in site.rglob("*") if "/." in str(path)}
    assert {name for name in hidden if (site / name).is_file() and name.startswith(".")} == {
        *asked,
        ".fallwork",
    }


@pytest.mark.parametrize(
    ("edition", "to", "holds"),
    [
        ("staff", "site/staff", "what students see"),
        ("student", "site/preview", "what students see"),
        ("staff", "content/staff", "the course's own files"),
        ("student", "content", "the course's own files"),
        ("student", ".", "what students see"),
    ],
)
def test_no_site_is_built_in_or_around_another_or_the_course(
    config_file: Path, published: Path, files_of: FilesOf, edition: str, to: str, holds: str
) -> None:
    before = files_of(config_file.parent)
    with pytest.raises(PublicationError) as caught:
        publish(config_file, edition=edition, now=NOW, to=config_file.parent / to)
    assert holds in str(caught.value)
    assert files_of(config_file.parent) == before


def test_the_staff_edition_stands_beside_it_and_says_so_on_every_page(
    config_file: Path, published: Path, files_of: FilesOf
) -> None:
    before = files_of(published)
    staff = publish(config_file, edition="staff", now=NOW).site
    assert staff == published.with_name("site-staff")
    pages = sorted(staff.rglob("*.html"))
    assert len(pages) == 4
    for page in pages:
        text = page.read_text("utf-8")
        assert "<title>Staff: " in text
        assert '<meta name="robots" content="noindex, nofollow">' in text
        assert "<strong>Staff edition.</strong>" in text
    assert files_of(published) == before


def test_settings_without_the_plugin_are_refused(tmp_path: Path) -> None:
    (tmp_path / "docs").mkdir()
    (tmp_path / "mkdocs.yml").write_text("site_name: Other\n")
    with pytest.raises(PublicationError) as caught:
        publish(tmp_path / "mkdocs.yml", now=NOW)
    assert str(caught.value) == (
        f"{tmp_path / 'mkdocs.yml'} doesn't name the plugin 'fallwork'; add it"
    )
