"""Whatever stands in files and is typed: a command does it or says what is wrong, without hanging
and within 500 MiB, and writes nowhere but where it is told to. ``--thorough`` takes 20,000 cases.
"""

import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
import warnings
from pathlib import Path
from random import Random
from typing import Any

from click.testing import CliRunner

from cases import cases
from democourse import PROJECT, copy_of_the_course
from fallwork.cli import main

LIKE: dict[str, list[str]] = cases(__file__, "hostile")
LABS = sorted(path.stem for path in (PROJECT / "site-data/scenarios").glob("*.yaml"))
CHANGES = ("remove", "rename", "link", "mkdir", "rmtree", "chmod", "truncate", "Popen", "connect")
SECONDS, MEBIBYTES = 30.0, 500  # of CPU, which no command needs on the slowest machine
touched: list[str] = []  # by the call that runs


def test_no_command_fails_hangs_or_writes_elsewhere(thorough, tmp_path):
    (tmp_path / "out").mkdir()
    paths = {"PYTHONPATH": ":".join(filter(None, sys.path)), "TMPDIR": str(tmp_path / "out")}
    for first in range(0, 20_000 if thorough else 1, 1000):
        words = [sys.executable, __file__, str(first), "1000" if thorough else "100"]
        done = subprocess.run(words, capture_output=True, cwd=tmp_path, env=os.environ | paths)
        assert not done.returncode, (done.stdout.decode()[-999:], done.stderr.decode())


def damaged(random: Random, text: str) -> str:
    """Lines, values, words or signs cut out, moved, doubled and exchanged, and worse."""
    parts = re.findall(random.choice(LIKE["parts"]), text) or [""]
    at, other = random.randrange(len(parts)), random.choice(parts)
    number = f"{random.choice(LIKE['numbers'])} {random.choice(LIKE['units'])}"
    new = random.choice([number, random.choice(LIKE["words"]), other, parts[at] * 2, ""])
    if random.random() < 0.2:
        return text.replace(parts[at], new)[:99_999]
    parts[at : at + random.choice([0, 1, 1, 1, 5])] = [new]
    most = random.choice([1, 3, 9_999])
    if random.random() < 0.1:
        ways = ["".join(parts[:at]), "".join(parts[at:]), text.replace("\n", "\r")]
        return random.choice([*ways, random.choice(LIKE["texts"]) * most, text[:999] * most])
    return "".join(parts)


def spoil(random: Random, file: Path) -> None:
    text = file.read_text("utf-8")
    for _ in range(random.choice([1, 1, 1, 2, 4])):
        text = damaged(random, text)
    encoding = random.choice(["utf-8"] * 60 + LIKE["encodings"])
    file.write_bytes(text.encode(encoding, "surrogatepass" if "utf" in encoding else "replace"))
    if random.random() < 0.03:
        file.unlink()
        to = random.choice(["", "pipe", file.name, "/dev/zero", "/etc", "../../mkdocs.yml"])
        {"": file.mkdir, "pipe": lambda: os.mkfifo(file)}.get(to, lambda: file.symlink_to(to))()


def typed_in(random: Random, course: Path) -> list[str]:
    """A call in the course, in which a file is spoiled, or the call."""
    data, of_files = course / "site-data", random.random() < 0.8
    (term,), scenarios = data.glob("terms/*.yaml"), sorted(data.glob("scenarios/*.yaml"))
    files = [*scenarios * 3, term, *sorted(data.glob("*.yaml")), *sorted(data.rglob("*.csv")) * 2]
    file = random.choice([*files, course / "mkdocs.yml"])
    of = ("records" if file.suffix == ".csv" else "calls") if of_files else "typed"
    call = random.choice(LIKE[of]).replace("TERM", term.stem)
    call = call.replace("FILE", str(file.relative_to(course))).replace("LAB", scenarios[0].stem)
    if of_files:
        spoil(random, file)
        return shlex.split(call)
    each = [[word, damaged(random, word).replace("\0", "")] for word in shlex.split(call)]
    return [both[0] if "out" in both[0] else random.choice(both) for both in each]


def watch(event: str, given: tuple[Any, ...]) -> None:
    """What is opened to be written, and whatever else changes files or reaches others; but not
    what is named within an open folder, as where one is cleared away.
    """
    writes = event == "open" and given[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
    changes = event.rpartition(".")[2] in CHANGES and given[-1] not in range(1, 999)
    if (writes or changes) and not isinstance(given[0], int):
        touched.append(os.path.realpath(os.fsdecode(given[0])))


def work(first: int, count: int) -> None:
    """Cases in a process of its own, which ends at the first that goes wrong."""
    root = Path.cwd()
    for lab in (lab for lab in LABS if not (root / lab).exists()):
        for path in copy_of_the_course(root / lab, labs=(lab,)).rglob("trial-??.csv"):
            path.unlink() if path.stem > "trial-02" else None
    warnings.simplefilter("error", RuntimeWarning)
    signal.signal(signal.SIGPROF, signal.default_int_handler)
    sys.addaudithook(watch)
    for number in range(first, first + count):
        random = Random(number)
        shutil.rmtree(root / "course", ignore_errors=True)
        os.chdir(shutil.copytree(root / random.choice(LABS), root / "course"))
        print(number, ascii(words := typed_in(random, Path.cwd())), flush=True)
        touched.clear()
        signal.setitimer(signal.ITIMER_PROF, SECONDS)
        ended = CliRunner().invoke(main, words, catch_exceptions=False)
        signal.setitimer(signal.ITIMER_PROF, 0)
        outside = [path for path in touched if not re.match(rf"{root}(/course)?(/\.?out|$)", path)]
        assert outside == []
        assert (ended.exit_code, bool(ended.stderr)) in ((0, False), (2, True)), ended.output
        os.chdir(root)
    # Of this program alone: what getrusage tells begins with what started it.
    (most,) = re.findall(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text("utf-8"))
    assert int(most) < MEBIBYTES * 1024


if __name__ == "__main__":
    work(*map(int, sys.argv[1:]))
