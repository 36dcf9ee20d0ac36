"""The tests' own course and three moments of its term."""

from datetime import UTC, datetime
from pathlib import Path

COURSE = Path(__file__).parent / "course"
BEFORE = datetime(2027, 1, 20, 9, tzinfo=UTC)  # nothing is open
RUNNING = datetime(2027, 2, 3, 9, tzinfo=UTC)  # prelab and example are open
OVER = datetime(2027, 2, 20, 9, tzinfo=UTC)  # the solution is open too
