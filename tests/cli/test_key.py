"""``fallwork key``, for programs and for people; ``publish`` and ``emit`` put a whole in place."""

import json
import re
import socket
from pathlib import Path
from typing import Any

import pytest
from lxml import html
from markdown_it import MarkdownIt
from mdit_py_plugins.dollarmath import dollarmath_plugin
from mdit_py_plugins.front_matter import front_matter_plugin

from cases import cases
from democourse import Run, bytes_below, exchange, long_train, own_course
from fallwork.site.handouts import NAMED_BY

REPOSITORY = Path(__file__).parents[2]
DATA = Path(__file__).parent / "data"
LEVEL_TRACK = str(REPOSITORY / "site-data/scenarios/level-track.yaml")
TERM = "site-data/terms/2027-spring.yaml"
# The agreed layout with its ten-digit values, for m₁ = 0.420 kg, m₂ = 0.080 kg, μ = 0.008,
# d = 0.600 m, g = 9.80665 m/s²: a = (m₂ − μ m₁) g/(m₁ + m₂), T = m₂ (g − a), t = √(2 d/a), v = a t.
TEXT = (DATA / "key-sample.json").read_text("utf-8")
SAMPLE = json.loads(TEXT, parse_float=lambda text: pytest.approx(float(text), rel=2e-10, abs=1e-15))
G = 9.80665
FRICTION = 0.008 * 0.420 * G  # N, of the tests' own scenario, which has the same numbers
D = 0.600  # m, its distance


def key_json(run: Run, *words: str) -> dict[str, Any]:
    status, output, messages = run("key", *words, "--json")
    assert (status, messages) == (0, "")
    return json.loads(output)


def test_the_sample_is_reproduced(run):
    """The same keys and texts, and numbers to the ten digits of the sample."""
    sample = key_json(run, LEVEL_TRACK)
    (found, *_), (expected, *_) = sample.pop("phases"), SAMPLE.pop("phases")
    assert sample == SAMPLE
    systems = {tuple(each["members"]): each for each in found.pop("systems")}
    for system in expected.pop("systems")[:2]:
        assert systems[tuple(system["members"])] == system
    assert found == expected


def test_a_scenario_is_found_by_its_id_its_file_and_from_within_its_course(
    folder, run, monkeypatch
):
    by_id = run("key", "level", "--json")
    assert not re.search("-0.0[,\n]", by_id[1])  # no zero has a sign
    assert run("key", "site-data/scenarios/level.yaml", "--json") == by_id
    monkeypatch.chdir(folder / "site-data/scenarios")
    assert run("key", "level", "--json") == by_id


# ---- the table for people
def table(run: Run, *words: str) -> list[list[str]]:
    status, output, messages = run("key", *words)
    assert (status, messages) == (0, "")
    return [block.split("\n") for block in output.rstrip("\n").split("\n\n")]


def test_a_teacher_reads_numbers_motion_forces_and_systems(folder, run):
    """What is read first stands in ``data/key-level.txt``."""
    words = ("level", "--set", "cart.mass=420g")
    assert run("key", *words)[1].startswith((DATA / "key-level.txt").read_text("utf-8"))
    _, _, _, _, _, others, *_, notes = table(run, *words)
    assert others[0].startswith("  Other choices of system (+ 6 means")
    # Earth, pulley, string and track hold no energy of their own: 2⁴ − 1 choices of them alone
    assert others[1].startswith("    Earth  + 14  ")
    assert others[1].endswith("  external work 0 J; no change of energy")
    more = [int(number) for line in others[1:] for number in re.findall(r" \+ (\d+) ", line)]
    assert len(others[1:]) + sum(more) == 2**6 - 1 - 2
    assert notes == [
        "Notes",
        "  The run is followed until the cart reaches the pulley; what comes after is not "
        "modelled.",
    ]
    assert "× 10" not in run("key", "level")[1]  # cancelling leaves no tiny numbers


def test_twenty_objects_have_a_key_of_classes_with_their_members(tmp_path, run):
    file = tmp_path / "train.yaml"
    file.write_text(long_train(18), "utf-8")
    output = run("key", str(file), "--json")[1]
    assert len(output) < 1_000_000
    driven = json.loads(output)["phases"][0]["systems"]
    assert len(driven) == len({*(tuple(each["members"]) for each in driven)}) < 250
    (lone,) = [each for each in driven if each["members"] == ["weight"]]
    assert lone["with_or_without"] == ["pulley", "track"]
    (cart,) = [each for each in driven if each["members"] == ["cart-1"]]
    assert "Earth" in cart["with_or_without"]  # it neither rises nor falls
    assert "track" not in cart["with_or_without"]  # it rubs
    works = {"tension of string on weight", "gravity of Earth on weight"}
    assert set(lone["external_works"]) == works
    heading, *told = table(run, str(file))[4]
    assert len("".join(told)) < 100_000
    assert heading.startswith("  Some other choices of system, without what takes up no energy")
    assert "Earth, hanging mass" in " ".join(told)
    assert not [line for line in told if line.count("  external work") != 1]


# ---- what follows from a student's own value, by hand beside each check
@pytest.mark.parametrize(("given", "follows", "stays"), cases(__file__, "follows"))
def test_from_given_values_follows_what_the_equations_give(folder, run, given, follows, stays):
    """Of each quantity the first equation that changes counts."""
    words = [word for each in given.split(";") for word in ("--given", each)]
    rows = reversed(key_json(run, "level", *words)["follows"])
    found = {row["quantity"]: row["value"] for row in rows}
    expected = {name: eval(value) for name, value in follows.items()}
    assert {name: found[name] for name in follows} == pytest.approx(expected)
    assert stays not in found


# ---- publish and emit
RUNNING = ("--as-of", "2026-10-02T10:00")


@pytest.fixture
def site_folder(tmp_path, monkeypatch) -> Path:
    """The course with the settings for the docs builder, a year earlier."""
    folder = own_course(tmp_path, written=False).parent
    monkeypatch.chdir(folder)
    term = folder / "site-data/terms/2027-spring.yaml"
    exchange(term, "2027-02", "2026-10")
    return folder


SPOILT = (  # file below site-data, text, its replacement, how the message begins
    ("course.yaml", "time_zone: Europe/Berlin\n", "", "course.yaml:1:1: "),
    (
        *("terms/2027-spring.yaml", "cart.mass: 512.0 g", "cart.mass: 507.3 g"),
        "terms/2027-spring.yaml:4:26: level: cart.mass was published as 512.0 g ± 0.1 g and would "
        "now be 507.3 g ± 0.1 g; put it back, or add to the corrections in terms/2027-spring.yaml: "
        "{at: 2026-10-02, field: cart.mass, was: 512.0 g ± 0.1 g, because: …}\n",
    ),
)


def test_a_site_is_published_and_kept_when_the_next_one_fails_or_would_change_what_was_published(
    site_folder, run
):
    status, output, messages = run("publish", *RUNNING)
    assert (status, messages) == (0, "")
    pages = sum(name.endswith(".html") for name in bytes_below(site_folder / "site"))
    assert output == (
        f"site: {pages} pages of the student edition, as of Friday 2 October 2026, 10:00\n"
        "Recorded in site-data/published: 2027-spring/level. Keep it with the course.\n"
        "Opens next: the solution of level in 2027-spring, on Thursday 15 October 2026, 00:00\n"
    )
    before = bytes_below(site_folder)
    assert "site/2027-spring/level/prelab.html" in before
    assert "site/2027-spring/level/solution.html" not in before
    for file, old, new, told in SPOILT:
        exchange(site_folder / "site-data" / file, old, new)
        status, output, messages = run("publish", *RUNNING)
        assert (status, output) == (2, "")
        assert messages.startswith(f"site-data/{told}")
        (site_folder / "site-data" / file).write_bytes(before[f"site-data/{file}"])
        assert bytes_below(site_folder) == before


def test_a_copy_elsewhere_or_for_staff_records_nothing(site_folder, run):
    for more, without_url in ((("--to", "elsewhere"), 0), (("--edition", "staff"), 1)):
        status, output, _ = run("publish", *RUNNING, *more)
        assert status == 0
        assert "Recorded" not in output
        assert not (site_folder / "site-data/published").exists()
        assert (
            output.count("site-data/course.yaml: note: the links that staff copy ") == without_url
        )


def test_handouts_are_counted_and_found(site_folder, run, monkeypatch):
    """A program stands for the browser, whose prints tests/browser looks at."""
    program = site_folder / "prints"
    program.write_text(
        '#!/bin/sh\nfor last; do test "${last#--print-to-pdf=}" = "$last" || '
        'echo %PDF > "${last#--print-to-pdf=}"; done\n',
        "utf-8",
    )
    program.chmod(0o755)
    monkeypatch.setenv(NAMED_BY, str(program))
    there = "2027-spring/level/prelab.pdf"
    assert run("publish", *RUNNING, "--to", "out", "--handouts")[1].splitlines()[1] == (
        f"Handouts: 2 PDF files, each beside its page, e.g. out/{there}"
    )
    assert (site_folder / "out" / there).is_file()


def test_a_port_that_is_taken_is_told_with_a_remedy(site_folder, run):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        status, output, messages = run("preview", "--port", str(port))
    assert (status, output) == (2, "")
    other = port + 1 if port < 65535 else 8001
    assert messages == (
        f"port {port} is taken, perhaps by another preview; choose another, e.g. fallwork preview "
        f"--port {other}\n"
    )


# ---- emit: over an empty folder or one of its own only
JUST_BEFORE = ("--as-of", "2027-02-14T22:59:59+00:00")
OVER = ("--as-of", "2027-02-20")


def test_pages_and_drawings_are_written_and_replaced_as_a_whole(folder, run):
    (folder / "out").mkdir()
    run("emit", "out", *OVER)
    status, output, messages = run("emit", "out", *JUST_BEFORE)
    written = [name for name in bytes_below(folder / "out") if name != ".fallwork"]
    pages, drawings = (sum(name.endswith(end) for name in written) for end in (".md", ".svg"))
    assert (status, messages) == (0, "")
    assert output == f"out: {pages} pages, {drawings} drawings and 1 data file written\n"
    assert (pages > 30, drawings > 3) == (True, True)
    assert {"calendar.ics", "2027-spring/level/prelab.md"} < {*written}
    assert "2027-spring/level/solution.md" not in written
    run("emit", "fresh", *JUST_BEFORE)
    assert bytes_below(folder / "out") == bytes_below(folder / "fresh")
    assert sorted(path.name for path in folder.iterdir()) == ["fresh", "out", "site-data"]


def test_another_builder_makes_the_pages_of_what_is_emitted(folder, run):
    assert run("emit", "out", *OVER)[0] == 0
    builder = MarkdownIt("commonmark").enable("table")
    builder.use(front_matter_plugin).use(dollarmath_plugin)
    texts = {path: builder.render(path.read_text("utf-8")) for path in folder.rglob("out/**/*.md")}
    pages = {path: html.fromstring(f"<b>{text}</b>") for path, text in texts.items()}
    solution = pages[folder / "out/2027-spring/level/solution.md"]
    assert len(solution.findall(".//td")) > 50 < len(solution.find_class("math"))
    assert len(solution.findall(".//img")) > 3 < len(solution.findall(".//h3"))
    for path, page in pages.items():
        assert not re.search(r"\{#|\{ ?\.fw|markdown=|\|---|\]\(", page.text_content())
        for link in page.xpath("//@href | //@src"):
            name, _, id_ = link.partition("#")
            target = (path.parent / name).resolve() if name else path
            assert target.exists(), (path, link)
            assert not id_ or pages[target].xpath("//*[@id=$id]", id=id_), (path, link)


# ---- variants: by hand, a = (0.110 − 0.008 × 0.512) g/0.622 = 1.6697 m/s², T = 0.110 (g − a)
VARIANTS = "    variants: {bench-1: {weight.mass: 110.0 g}, bench-2: {cart.mass: 430.0 g}}\n"
PULL = 0.110 * (G - (0.110 - 0.008 * 0.512) * G / 0.622)


def test_a_variant_has_a_key_and_its_numbers_are_traced(folder, run):
    exchange(folder / TERM, "    opens:", f"{VARIANTS}    opens:")
    of_term = ("--term", "2027-spring")
    every = key_json(run, "level", *of_term, "--all")
    own = key_json(run, "level", *of_term, "--variant", "bench-1")
    assert every["variants"]["bench-1"] == own
    assert own["phases"][0]["tensions"]["string"]["cart"] == pytest.approx(PULL, rel=1e-4)
    assert key_json(run, "level", *of_term) == {k: v for k, v in every.items() if k != "variants"}
    traced = run("trace", f"{PULL:.3f} N", *of_term, "--variant", "bench-1")[1].splitlines()
    assert traced[0] == "level in 2027-spring, variant bench-1"
    assert traced[1] == f"  tension of the string, T = {PULL:.3f} N: right"
    said = 'no variant is called "bench-3"; did you mean "bench-2"?'
    for words in (("key", "level"), ("trace", "1.2")):
        assert said in run(*words, *of_term, "--variant", "bench-3")[2]
