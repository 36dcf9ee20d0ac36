"""What things are called: a noun for each name, by its kind or as its author says."""

from pathlib import Path

import pytest
import yaml

from fallwork.scenario.nouns import Nouns, noun
from fallwork.scenario.report import Refusal


def called(**kinds: str) -> dict[str, str]:
    """Names, with _ for -, and their kinds -> nouns with articles."""
    nouns = Nouns({name.replace("_", "-"): (kind, "") for name, kind in kinds.items()})
    return {name: nouns.the(name) for name in nouns.things}


NOUNS = yaml.load(Path(__file__).with_name("nouns.yaml").read_text("utf-8"), yaml.BaseLoader)


@pytest.mark.parametrize("kind", NOUNS)
def test_a_name_gives_a_noun(kind: str) -> None:
    for name, the in NOUNS[kind].items():
        assert called(**{name.replace("-", "_"): kind}) == {name: the}


def test_no_two_things_have_one_noun() -> None:
    assert called(weight="hanging", mass="hanging", cart1="cart", cart_1="cart") == {
        "weight": "hanging mass 1",
        "mass": "hanging mass 2",
        "cart1": "cart 2",
        "cart-1": "cart 3",
    }


def test_an_author_s_noun_comes_first() -> None:
    nouns = Nouns({"cart": ("cart", "red glider"), "mass": ("hanging", "")})
    assert (nouns.the("cart"), nouns.the("Earth"), nouns.the("bench")) == (
        "the red glider",
        "Earth",
        "the bench",
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("the glider", "a noun with its article; leave it out: write glider"),
        ("washers", "a noun in the plural; an object is one: write e.g. set of washers"),
        (
            "*cart*",
            '"*cart*" where a noun should stand; letters, digits and single blanks, at most 40, '
            "e.g. red cart",
        ),
        ("bench", 'the noun "bench" belongs to something else; choose another'),
    ],
)
def test_a_noun_that_no_sentence_could_take_is_refused(text: str, said: str) -> None:
    with pytest.raises(Refusal) as caught:
        noun(text)
    assert str(caught.value) == said


@pytest.mark.parametrize("text", ["red cart", "glider", "hanging mass", "cart 2", "gas"])
def test_other_nouns_stand_as_they_are(text: str) -> None:
    assert noun(text) == text
