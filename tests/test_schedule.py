"""The examples of a scheduled build run what is there, at the time that they say."""

import re
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import yaml
from click.testing import CliRunner

from fallwork.cli import main

PROJECT = Path(__file__).parents[1]
EXAMPLES = PROJECT / ".ci" / "schedule"
WORKFLOW = yaml.load((EXAMPLES / "daily.yml").read_text("utf-8"), yaml.BaseLoader)
ZONE = ZoneInfo("Europe/Zurich")  # as in the demo course


@pytest.mark.parametrize(("month", "day"), [(1, 15), (3, 29), (7, 15), (10, 25)])
def test_one_run_a_day_comes_just_after_midnight(month: int, day: int) -> None:
    runs = [entry["cron"].split() for entry in WORKFLOW["on"]["schedule"]]
    assert all(run[2:] == ["*", "*", "*"] for run in runs)
    evening = datetime(2026, month, day, tzinfo=UTC)
    local = [
        evening.replace(hour=int(hour), minute=int(minute)).astimezone(ZONE)
        for minute, hour, *_ in runs
    ]
    assert [f"{at:%H:%M}" for at in local].count("00:05") == 1


def test_the_workflow_builds_with_a_target_that_the_makefile_has() -> None:
    commands = [step["run"] for step in WORKFLOW["jobs"]["publish"]["steps"] if "run" in step]
    assert commands[0] == "make publish"
    makefile = (PROJECT / "Makefile").read_text("utf-8")
    assert "\npublish: .venv/.ready\n\t$(BIN)/fallwork publish\n" in makefile


def test_the_workflow_keeps_the_record_and_uploads_the_site() -> None:
    *_, keep, upload = WORKFLOW["jobs"]["publish"]["steps"]
    assert "git add site-data/published" in keep["run"]
    assert upload["with"]["path"] == "site/"


def test_cron_runs_a_command_that_exists() -> None:
    (line,) = (
        line
        for line in (EXAMPLES / "crontab").read_text("utf-8").splitlines()
        if not line.startswith("#")
    )
    assert line.split()[:5] == ["5,35", "*", "*", "*", "*"]
    assert " .venv/bin/fallwork publish " in line
    assert CliRunner().invoke(main, ["publish", "--help"]).exit_code == 0


def test_what_others_wrote_is_named_by_digest() -> None:
    named = [step["uses"] for step in WORKFLOW["jobs"]["publish"]["steps"] if "uses" in step]
    assert len(named) == 3
    assert [each for each in named if not re.fullmatch(r"[\w/-]+@[0-9a-f]{40}", each)] == []
