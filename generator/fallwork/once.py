"""What was worked out once needn't be again: answers of pure functions, kept in a folder.

An answer is kept by a digest of all that it depends on: what was given, the program and the
libraries under it. What is missing, spoiled or of another version is worked out anew, so nothing
depends on the folder but the time. Without a folder nothing is kept. Many things at once are worked
out in as many processes as there are processors. Every stage may import this module.
"""

import hashlib
import os
import pickle
import platform
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import fields, is_dataclass
from datetime import date, tzinfo
from enum import Enum
from functools import cache, wraps
from importlib.metadata import version
from pathlib import Path
from typing import Any, ParamSpec, TypeVar
from weakref import finalize

from platformdirs import user_cache_path

from fallwork.errors import Place

P = ParamSpec("P")
T = TypeVar("T")
R = TypeVar("R")
_LIBRARIES = (  # whose versions change what a page is
    *("jinja2", "markdown", "markupsafe", "math-core", "mkdocs", "mkdocs-material", "numpy"),
    *("pymdown-extensions", "pyyaml", "scipy", "sympy", "tzdata"),
)
_PLACES = "places"  # where in files a record's fields were written
_HASH = 32  # bytes of a SHA-256
_UNUSED = 30 * 24 * 3600  # s, after which an answer is cleared away
_PATIENCE = 2.0  # s, after which a person wants to know how long it will take
_DAY = 24 * 3600.0  # s
NAMED_BY = "FALLWORK_KEPT"  # the variable that says where
_read: dict[int, bytes] = {}  # digests of what was read from files, by identity
_folder: list[Path] = []  # where answers are kept; empty: nowhere


# ---- by what an answer is known


def digest(*things: object) -> str:
    """SHA-256 of what is given, to the last field; of a file's path its name, nothing of the place
    in a file where something was written. Raises TypeError for what has no lasting form.
    """
    whole = hashlib.sha256()
    for part in _parts(things):
        whole.update(part)
    return whole.hexdigest()


def _parts(thing: object) -> Iterator[bytes]:
    match thing:
        case None | bool() | int() | float() | str() | bytes() | date() | tzinfo():
            yield f"{type(thing).__name__} {thing!r};".encode("utf-8", "surrogatepass")
        case Enum() | Path():
            yield f"{type(thing).__name__} {thing.name};".encode("utf-8", "surrogatepass")
        case Place():
            yield b"place;"
        case Mapping():
            yield b"{"
            for pair in thing.items():
                yield from _parts(pair)
        case set() | frozenset():
            yield from _parts(sorted(thing))
        case list() | tuple():
            yield f"{type(thing).__name__}(".encode()
            for each in thing:
                yield from _parts(each)
        case _ if is_dataclass(thing):
            names = [each.name for each in fields(thing)]
            inside = (getattr(thing, name) for name in names if name != _PLACES)
            yield f"{type(thing).__name__}(".encode()
            if _PLACES in names:
                yield _of_files(thing, inside)
            else:
                for each in inside:
                    yield from _parts(each)
        case _:
            raise TypeError(f"{type(thing).__name__} has no lasting form")
    yield b")"


def _of_files(thing: object, inside: Iterable[object]) -> bytes:
    """A digest of something that was read from files; it never changes, and much depends on it."""
    at = id(thing)
    if at not in _read:
        _read[at] = digest(*inside).encode()
        finalize(thing, _read.pop, at)
    return _read[at]


@cache
def _program() -> str:
    """A digest of this program's files, of the libraries' versions and of the machine's kind."""
    here = Path(__file__).parent
    files = sorted(path for path in here.rglob("*") if path.suffix not in (".pyc", ""))
    own = [[path.relative_to(here).as_posix(), path.read_bytes()] for path in files]
    others = [(name, version(name)) for name in _LIBRARIES]
    return digest(own, others, sys.version, platform.machine())


# ---- answers that are kept


def keep_answers() -> None:
    """Keep answers from now on, in the folder that the environment names, else the user's own for
    such things; nowhere if it names none.
    """
    named = os.environ.get(NAMED_BY)
    folder = user_cache_path("fallwork") if named is None else Path(named)
    _folder[:] = [] if named == "" else [folder]


def once(function: Callable[P, R]) -> Callable[P, R]:
    """A pure function of things that have a digest."""

    @wraps(function)
    def asked(*args: P.args, **more: P.kwargs) -> R:
        name = f"{function.__module__}.{function.__qualname__}"
        return recalled(lambda: function(*args, **more), name, args, more)

    return asked


def recalled(make: Callable[[], T], *known: object) -> T:
    """What ``make`` gives, which depends on what is ``known`` alone."""
    if not _folder:
        return make()
    key = digest("recalled", known)
    if (there := kept(key)) is not None:
        found: T = pickle.loads(there)
        return found
    made = make()
    keep(key, pickle.dumps(made))
    return made


def kept(key: str) -> bytes | None:
    """What is kept under a key; None where that is nothing, or isn't what was put there."""
    for folder in _folder:
        path = folder / _program() / key[:2] / key
        with suppress(OSError):
            content = path.read_bytes()
            if hashlib.sha256(content[_HASH:]).digest() == content[:_HASH]:
                if time.time() - path.stat().st_mtime > _DAY:
                    os.utime(path)  # it is in use
                return content[_HASH:]
    return None


def keep(key: str, content: bytes) -> None:
    """Keep it under this key; where there is no room or no right to, nothing is kept."""
    for folder in _folder:
        path = folder / _program() / key[:2] / key
        fresh = path.with_name(f"{key}.{os.getpid()}")
        with suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            fresh.write_bytes(hashlib.sha256(content).digest() + content)
            fresh.replace(path)


def clear_away() -> None:
    """Remove what nobody has asked for in a month, of other versions too."""
    for folder in _folder:
        for path in folder.glob("*/*/*"):
            with suppress(OSError):
                if time.time() - path.stat().st_mtime > _UNUSED:
                    path.unlink()


# ---- many at once

_work: list[tuple[Callable[[Any], Any], Sequence[Any]]] = []  # that a process was forked for


def for_each(function: Callable[[T], R], things: Sequence[T], what: str) -> Iterator[R]:
    """The answers in their order, worked out in several processes where that is possible. They
    must be data that can be sent between these; an error is raised as if there were one process.
    ``what`` the things are: a terminal shows how far the work has come.
    """
    return _watched(_answers(function, things), len(things), what)


def _watched(answers: Iterator[R], total: int, what: str) -> Iterator[R]:
    """The same; on a terminal, once it has taken a while, a line that says how long it will."""
    start, shown = time.monotonic(), False
    for number, answer in enumerate(answers, start=1):
        yield answer
        passed = time.monotonic() - start
        if passed > _PATIENCE and sys.stderr.isatty():
            left = (
                f"{number} of {total} {what}, about {passed / number * (total - number):.0f} s left"
            )
            print(f"\r{left:<60}", end="", file=sys.stderr, flush=True)
            shown = True
    if shown:
        print(f"\r{'':<60}\r", end="", file=sys.stderr, flush=True)


def _answers(function: Callable[[T], R], things: Sequence[T]) -> Iterator[R]:
    processes = min(len(os.sched_getaffinity(0)), len(things)) if _can_fork() else 1
    if processes < 2:
        yield from map(function, things)
        return
    from concurrent.futures import ProcessPoolExecutor  # slow to import, and rarely needed
    from multiprocessing import get_context

    _work.append((function, things))
    try:
        with ProcessPoolExecutor(processes, get_context("fork")) as pool:
            for number, (done, answer) in enumerate(pool.map(_one, range(len(things)))):
                yield answer if done else function(things[number])
    finally:
        _work.pop()


def _can_fork() -> bool:
    known = hasattr(os, "sched_getaffinity")  # elsewhere a fork is no safe start
    return known and threading.active_count() == 1 and not _work


def _one(number: int) -> tuple[bool, Any]:
    """Whether it could be done, and the answer."""
    function, things = _work[-1]
    try:
        return True, function(things[number])
    except Exception:  # raised again by the first process, which it belongs to
        return False, None
