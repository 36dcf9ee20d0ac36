"""What stands for the things of a set-up in subscripts, so that each mark means one thing.

Takes their nouns and the marks with a fixed meaning; gives a mark for each.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from fallwork.scenario.nouns import Nouns


def marks_of(
    nouns: Nouns, fixed: Iterable[str], groups: Sequence[Sequence[str]]
) -> Mapping[str, str]:
    """A mark for each name; earlier groups have the first choice.

    The first letter of the noun if it is free and nobody else in the group begins with it, else
    those of its words, else more and more of its first word, else all of it; of the same kind for
    what has the same last word, as rear cart and front cart have.
    """
    found: dict[str, str] = {}
    for group in groups:
        choices = {name: tuple(_choices(nouns.noun(name))) for name in group}
        wanted = Counter(choice for each in choices.values() for choice in dict.fromkeys(each))
        taken = {*fixed, *found.values(), *(c for c, times in wanted.items() if times > 1)}
        alike: dict[str, list[str]] = {}
        for name in group:
            alike.setdefault(nouns.noun(name).split(" ")[-1], []).append(name)
        for names in alike.values():
            rows = zip(*(choices[name] for name in names), strict=False)
            row = next((row for row in rows if not taken & {*row}), map(nouns.noun, names))
            found.update(zip(names, row, strict=True))
    return found


def _choices(noun: str) -> Iterator[str]:
    """Marks for a noun, the best first; ``cart 2`` and ``block A`` end in what tells them apart."""
    *before, last = noun.split(" ")
    label = last if before and (last.isdigit() or len(last) == 1) else ""
    words = before if label else [*before, last]
    if label and not label.isdigit():
        yield label
    yield words[0][0] + label
    if len(words) > 1:
        yield "".join(word[0] for word in words) + label
    for length in range(2, len(words[0]) + 1):
        yield words[0][:length] + label
