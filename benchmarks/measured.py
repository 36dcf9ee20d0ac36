"""What one command costs in a process of its own: time, memory, and where the time goes.

``used`` runs ``fallwork`` or the docs builder. Run as a script this file is that process: it looks
many times a second at which code runs, and counts the processor time since the last look to the
stage whose code was called last. So stages need no timers of their own, and looking costs about a
hundredth. Memory by stage needs Linux.
"""

import json
import os
import resource
import signal
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, process_time
from types import FrameType

COMMANDS = {"fallwork": "fallwork.cli:main", "mkdocs": "mkdocs.__main__:cli"}
EVERY = 0.005  # s of processor time between two looks
STAGES = {  # by a part of the path of the code; what is in none belongs to its caller
    "/fallwork/scenario/": "course's files",
    "/fallwork/mechanics/": "solver",
    "/fallwork/measurement/": "trials",
    "/fallwork/planning/": "planning",
    "/fallwork/lesson/": "lessons",
    "/fallwork/figures/": "figures",
    "/fallwork/pages/": "pages",
    "/fallwork/site/theme/": "theme",
    "/fallwork/site/audit": "audit",
    "/fallwork/site/copies": "audit",
    "/fallwork/site/reading": "audit",
    "/fallwork/site/addresses": "record",
    "/fallwork/site/folder": "record",
    "/fallwork/site/": "plugin",
    "/material/templates/": "theme",
    "/markdown/": "Markdown",
    "/pymdownx/": "Markdown",
    "/mkdocs/": "docs builder",
}
_IMPORT, _OTHER = "<frozen importlib", "other"
_PAGE = os.sysconf("SC_PAGE_SIZE") / 2**20  # MiB


@dataclass(frozen=True, kw_only=True)
class Used:
    """What a command took."""

    wall: float  # s
    cpu: float  # s, in all its processes
    memory: float  # MiB, the most that its first process had, and the largest of others
    stages: Counter[str]  # s of processor time of its first process
    grown: Counter[str]  # MiB by which that process grew in each stage, taken together


def used(*words: str, folder: Path | None = None, **env: str) -> Used:
    """Run one of the commands in a folder, with ``env`` in its environment; ends the program with
    what it said if it failed. Compiled code is kept, as where a program is installed.
    """
    with TemporaryDirectory() as aside:
        report, begin = Path(aside) / "report.json", perf_counter()
        done = subprocess.run(
            [sys.executable, __file__, str(report), *words],
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(_code()), "PYTHONDONTWRITEBYTECODE": "", **env},
            capture_output=True,
            text=True,
        )
        wall = perf_counter() - begin
        if done.returncode:
            raise SystemExit(f"{' '.join(words)}: {done.stdout}{done.stderr}")
        found = json.loads(report.read_text("utf-8"))
    counted = {key: Counter(found.pop(key)) for key in ("stages", "grown")}
    return Used(wall=wall, **found, **counted)


def _code() -> Path:
    """Where the code stands that this process would take."""
    spec = find_spec("fallwork")
    if spec is None or spec.origin is None:
        raise SystemExit("run this with the project's Python")
    return Path(spec.origin).resolve().parents[1]


def _stage(frame: FrameType | None) -> str:
    found = _OTHER
    while frame is not None:
        path = frame.f_code.co_filename
        if path.startswith(_IMPORT):
            return "imports"
        if found == _OTHER:
            found = _known(path)
        frame = frame.f_back
    return found


def _known(path: str, known: dict[str, str] = {}) -> str:  # noqa: B006 - kept between calls
    if path not in known:
        known[path] = next((name for part, name in STAGES.items() if part in path), _OTHER)
    return known[path]


def _resident() -> float:
    return int(Path("/proc/self/statm").read_text().split()[1]) * _PAGE


def main(report: str, command: str, *words: str) -> None:
    """Run the command in this process and write down what it took."""
    stages, grown, before = Counter[str](), Counter[str](), (process_time(), _resident())

    def look(_: int, frame: FrameType | None) -> None:
        nonlocal before
        now, stage = (process_time(), _resident()), _stage(frame)
        stages[stage] += now[0] - before[0]
        grown[stage] += max(now[1] - before[1], 0)
        before = now

    signal.signal(signal.SIGPROF, look)
    signal.setitimer(signal.ITIMER_PROF, EVERY, EVERY)
    sys.argv = [command, *words]
    module, _, function = COMMANDS[command].partition(":")
    ended: object = 0
    try:
        getattr(import_module(module), function)()
    except SystemExit as end:
        ended = end.code
    signal.setitimer(signal.ITIMER_PROF, 0)
    own, others = (
        resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    content = {
        "cpu": own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime,
        "memory": (own.ru_maxrss + others.ru_maxrss) / 1024,
        "stages": stages,
        "grown": grown,
    }
    Path(report).write_text(json.dumps(content), "utf-8")
    sys.exit(ended)


if __name__ == "__main__":
    main(*sys.argv[1:])
