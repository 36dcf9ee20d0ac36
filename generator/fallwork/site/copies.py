"""Whether a file is a copy of one of the course's own, whichever program saved it again."""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path

from fallwork.site.reading import NAME, passages, text_of

_WORD = re.compile(r"[^\W_]+")
_ROW = 4  # words and parts of numbers: a row of a record of two columns
_FEWEST = 6  # rows; of less nobody can say that it is a copy
_SHARE = 0.5  # of a file's rows that may turn up elsewhere


def copies_of(root: Path, released: Iterable[Path]) -> Mapping[str, frozenset[int]]:
    """By which of their rows the files of a course's folder are known, by name; without those
    that students have, and what these hold too.
    """
    given, known, held = {path.resolve() for path in released}, set[int](), {}
    for path in sorted(path for path in root.rglob("*") if path.is_file()):
        rows = rows_of(path.name, path.read_bytes())
        if path.resolve() in given:
            known |= rows
        else:
            held[str(path)] = rows
    return {name: rows - known for name, rows in held.items() if len(rows - known) >= _FEWEST}


def originals_of(copies: Mapping[str, frozenset[int]]) -> Callable[[frozenset[int]], Iterator[str]]:
    """Gives the files of which one with certain rows is a copy, found by its rows: with many labs
    there are many of both.
    """
    holders: dict[int, list[str]] = {}
    for name, rows in copies.items():
        for row in rows:
            holders.setdefault(row, []).append(name)
    known = frozenset(holders)

    def found(here: frozenset[int]) -> Iterator[str]:
        shared = Counter(name for row in here & known for name in holders[row])
        return (name for name in sorted(shared) if shared[name] > _SHARE * len(copies[name]))

    return found


def rows_of(name: str, content: bytes) -> frozenset[int]:
    """Every few words and numbers in a row, whatever stands between them and around: a copy has
    most of them, whichever program saved it again.
    """
    said = passages(name, text_of(content) or "")
    parts = _WORD.findall(" ".join(each.text for each in said if each.place != NAME))
    return frozenset(map(hash, zip(*(parts[n:] for n in range(_ROW)), strict=False)))
