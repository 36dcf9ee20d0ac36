"""A page of somebody's own that would fetch something from another host isn't published."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from democourse import exchange
from fallwork.site.elsewhere import in_markup, require_file_fetches_nothing
from fallwork.site.errors import PublicationError
from fallwork.site.publication import publish

NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
A = "https://pictures.example.org/a"
FETCHED = [
    *(f"<img src='{A}'>", "<img src=//pictures.example.org/a>", f'<img srcset="b.png, {A} 2x">'),
    *(f"<iframe src={A}></iframe>", f"<iframe srcdoc='<img src={A}>'></iframe>"),
    *(f"<script src={A}></script>", f"<script>fetch('{A}')</script>", f"<object data={A}>"),
    *(f"<script>import x from '{A}'</script>", f"<script>p.src = '{A}'</script>"),
    *(f"<link rel=stylesheet href={A}>", f"<link rel='shortcut icon' href={A}>"),
    *(f"<style>p {{background: url({A})}}</style>", f"<style>@import '{A}';</style>"),
    *(
        f"<p style='background: \\75rl({A})'>",
        f"<style>p{{background:image-set('{A}' 1x)}}</style>",
    ),
    *(f"<style>@font-face {{src: url('{A}')}}</style>", f"<rect fill='url({A})'/>"),
    *(f"<meta http-equiv=refresh content='0; url={A}'>", f"<base href={A}>", f"<embed src={A}>"),
    *(f"<video poster={A}></video>", f"<source src={A}>", f"<track src={A}>", f"<audio src={A}>"),
    *(
        f"<svg><image href={A} /></svg>",
        f"<svg><use xlink:href={A} /></svg>",
        f"<body background={A}>",
    ),
    *(
        f"<input type=image src={A}>",
        f"<a href=b.html ping={A}>",
        "<img src='ht\ntps:\\\\b.org/c'>",
    ),
    *(f"<p onclick=\"fetch('{A}')\">", "<pre class='a mermaid'>", f"<td background={A}>"),
]
FOLLOWED = [
    *(
        f"<a href={A}>",
        f"<link rel=canonical href={A}>",
        f"<blockquote cite={A}>",
        "<img src=a.png>",
    ),
    *('<svg xmlns="http://www.w3.org/2000/svg"/>', f"<form action={A}>", f"<p>{A}</p>"),
    *("<style>p {background: url(a.png)}</style>", "<rect fill='url(#a)'/>", f"<img alt='{A}'>"),
    *("<img src='data:image/svg+xml,<svg/>'>", f"<script>const about = '{A}'</script>"),
    *("<pre><code class=language-mermaid>", f"<meta content={A} property=og:image>"),
]


@pytest.mark.parametrize("text", FETCHED)
def test_what_is_fetched_is_found(text: str) -> None:
    assert list(in_markup(text))


@pytest.mark.parametrize("text", FOLLOWED)
def test_what_is_only_followed_or_said_is_let_through(text: str) -> None:
    assert list(in_markup(text)) == []


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.css", f"@import url({A});"),
        ("a.svg", f"<svg><image href='{A}'/></svg>"),
        ("a.html", f"<img src={A}>"),
        ("a.js", f"importScripts('{A}')"),
    ],
)
def test_files_beside_the_pages_are_looked_at(tmp_path: Path, name: str, text: str) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(PublicationError, match="would be fetched from elsewhere"):
        require_file_fetches_nothing(tmp_path / name, ())
    require_file_fetches_nothing(tmp_path / name, [A])


def test_a_page_that_fetches_is_refused_with_its_line_and_a_remedy(
    config_file: Path, pages: dict[str, str], files_of: Callable[[Path], dict[str, bytes]]
) -> None:
    site = publish(config_file, now=NOW).site
    before = files_of(site)
    page = config_file.parent / "content/reading.md"
    text = page.read_text("utf-8")
    page.write_text(f"{text}\n![A cart][cart]\n\n[cart]: {A}\n\n[link]({A}b)\n", "utf-8")
    with pytest.raises(PublicationError) as caught:
        publish(config_file, now=NOW)
    assert str(caught.value) == (
        f"{page}:{len(text.splitlines()) + 4}:9: {A} would be fetched from elsewhere by whoever "
        "reads the page; put a copy into the course's own folder and name that, or allow it in "
        f"mkdocs.yml, below fallwork: elsewhere: [{A}]"
    )
    assert files_of(site) == before
    exchange(config_file, "harmless:", f"elsewhere: [{A}]\n      harmless:")
    publish(config_file, now=NOW)


def test_what_the_authors_own_theme_fetches_is_refused(
    config_file: Path, pages: dict[str, str]
) -> None:
    exchange(config_file, "theme:", "theme:\n  custom_dir: theme")
    style = config_file.parent / "theme/assets/own.css"
    style.parent.mkdir(parents=True)
    style.write_text(f"@import url({A});\n", "utf-8")
    with pytest.raises(PublicationError) as caught:
        publish(config_file, now=NOW)
    assert str(caught.value).startswith(f"{style}:1:13: {A} would be fetched")


def test_what_the_settings_fetch_is_refused_too(config_file: Path, pages: dict[str, str]) -> None:
    text = config_file.read_text("utf-8").replace("plugins:", f"extra_css: [{A}]\nplugins:")
    config_file.write_text(text, "utf-8")
    with pytest.raises(PublicationError) as caught:
        publish(config_file, now=NOW)
    line = next(n for n, each in enumerate(text.splitlines(), 1) if A in each)
    assert str(caught.value).startswith(f"{config_file}:{line}:13: {A} would be fetched")


def test_an_address_of_the_site_that_would_leave_its_place_is_refused(
    config_file: Path, pages: dict[str, str]
) -> None:
    text = f"site_url: 'http://x/\"><script>1</script>'\n{config_file.read_text('utf-8')}"
    config_file.write_text(text, "utf-8")
    with pytest.raises(PublicationError) as caught:
        publish(config_file, now=NOW)
    assert str(caught.value).startswith(f"{config_file}:1:1: ")
    assert "is not the address of a site" in str(caught.value)
