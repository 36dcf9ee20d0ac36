"""How long it takes to enumerate, solve, judge and rank what an inventory can build.

Run with ``python benchmarks/choosing.py``. Each line gives processor time and memory of a process
of its own, and the time as a ratio to the closed formulas of the level track, with NumPy alone, for
as many candidates in the same process. What a process needs to start isn't counted.
"""

import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).parents[1]
SIZES = (200_000, 1_000_000)
MEASURED = """
import resource, sys, time
from pathlib import Path
import numpy as np
from fallwork.lesson.answers import answers_of
from fallwork.measurement.prediction import Case
from fallwork.pages.worked import gravity_estimate
from fallwork.planning.buildable import buildable
from fallwork.planning.choosing import Task, looked_at
from fallwork.scenario import load_course

most = int(sys.argv[1])
data = load_course(Path("site-data"), record=False)
scenario = data.scenarios["level-track"]
case = Case(scenario=scenario, gravity=gravity_estimate(data.course))
labs = [lab for term in data.terms for lab in term.labs]
earlier = [lab.variant for lab in labs if lab.scenario.id == "level-track"]
task = Task(case=case, owned=data.inventory, answers=answers_of(scenario, case.gravity.value, 3),
            earlier=earlier, safety=data.course.safety, tolerance=0.01, seed=1, most=most)
start = time.process_time()
looked = looked_at(task)
best = looked.order[0]
used = time.process_time() - start
values = buildable(data.inventory, scenario, 1, most).values
cart, weight, d = values["cart.mass"], values["weight.mass"], values["run.distance"]
start = time.process_time()
a = (weight - 0.008 * cart) * 9.80665 / (cart + weight)
tension, speed, duration = weight * (9.80665 - a), np.sqrt(2 * a * d), np.sqrt(2 * d / a)
closed = time.process_time() - start
memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
good = int(looked.kept.sum())
print(f"{looked.tried:,} candidates, {good:,} good: {used:.2f} s, {memory:.0f} MiB, "
      f"{used / max(closed, 1e-6):.0f} times the closed formulas ({1e3 * closed:.0f} ms)")
"""


def main() -> None:
    """Print a line a size."""
    for size in SIZES:
        words = [sys.executable, "-c", MEASURED, str(size)]
        print(
            subprocess.run(words, cwd=PROJECT, capture_output=True, text=True, check=True).stdout,
            end="",
        )


if __name__ == "__main__":
    main()
