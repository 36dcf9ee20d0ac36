"""``fallwork emit`` writes the pages, over an empty folder or one of its own only."""

from pathlib import Path

from democourse import Run, bytes_below, exchange

RUNNING = ("--as-of", "2027-02-14T22:59:59+00:00")
OVER = ("--as-of", "2027-02-20")


def test_pages_and_drawings_are_written_and_replaced_as_a_whole(folder: Path, run: Run) -> None:
    (folder / "out").mkdir()
    run("emit", "out", *OVER)
    status, output, messages = run("emit", "out", *RUNNING)
    written = [name for name in bytes_below(folder / "out") if name != ".fallwork"]
    pages, drawings = (sum(name.endswith(end) for name in written) for end in (".md", ".svg"))
    assert (status, messages) == (0, "")
    assert output == f"out: {pages} pages, {drawings} drawings and 1 data file written\n"
    assert (pages > 30, drawings > 3) == (True, True)
    assert {"calendar.ics", "2027-spring/level/prelab.md"} < {*written}
    assert "2027-spring/level/solution.md" not in written
    run("emit", "fresh", *RUNNING)
    assert bytes_below(folder / "out") == bytes_below(folder / "fresh")
    assert sorted(path.name for path in folder.iterdir()) == ["fresh", "out", "site-data"]


def test_bad_input_leaves_the_pages_of_before_and_a_date_is_its_first_moment(
    folder: Path, run: Run
) -> None:
    run("emit", "out", "--as-of", "2027-02-15")
    before = bytes_below(folder / "out")
    assert "2027-spring/level/solution.md" in before  # it opens at 00:00 in Berlin
    exchange(folder / "site-data/scenarios/level.yaml", "80.0 g", "-80.0 g")
    assert run("emit", "out", *OVER) == (
        2,
        "",
        'site-data/scenarios/level.yaml:4:33: the mass "-80.0 g ± 0.1 g"; '
        "a mass must be more than zero\n",
    )
    assert bytes_below(folder / "out") == before
    assert sorted(path.name for path in folder.iterdir()) == ["out", "site-data"]


def test_a_folder_that_can_t_be_made_is_told(folder: Path, run: Run) -> None:
    (folder / "file").write_text("", "utf-8")
    status, output, messages = run("emit", "file/out", *RUNNING)
    assert (status, output) == (2, "")
    assert "Traceback" not in messages
    assert "file" in messages
