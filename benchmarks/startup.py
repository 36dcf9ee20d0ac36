"""How much processor time a command needs to start and answer.

Run with the project's Python: ``.venv/bin/python benchmarks/startup.py``. Each line gives the least
of several runs, user and system time together, because the least is what the work itself takes
when nothing else disturbs it. The goals are the project's own.
"""

import resource
import subprocess
import sys
from pathlib import Path

RUNS = 7
PROJECT = Path(__file__).parents[1]
SCENARIO = "site-data/scenarios/level-track.yaml"
GOALS = (  # s
    (0.1, ("--help",)),
    (0.8, ("check",)),
    (0.4, ("key", SCENARIO)),
    (0.6, ("trace", "0.89 N", "--lab", "level-track", "--term", "2026-autumn")),
)


def processor_time(arguments: tuple[str, ...]) -> float:
    """User and system seconds of one run of ``fallwork`` with these arguments."""
    command = Path(sys.executable).with_name("fallwork")
    before = _used()
    subprocess.run([command, *arguments], cwd=PROJECT, stdout=subprocess.DEVNULL, check=True)
    return _used() - before


def _used() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def main() -> int:
    """Print a line a command; give 1 if one of them misses its goal."""
    missed = 0
    for goal, arguments in GOALS:
        least = min(processor_time(arguments) for _ in range(RUNS))
        missed += least > goal
        print(f"fallwork {' '.join(arguments):52} {least:.2f} s of {goal} s")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
