"""What things are called: a noun for each name, by its kind or as its author says."""

import pytest

from fallwork.scenario.nouns import Nouns, noun
from fallwork.scenario.report import Refusal
from scenario import kit

NOUNS, REFUSED = kit.table("nouns"), kit.table("refused")["nouns"]


def called(**kinds: str) -> dict[str, str]:
    """Names, with _ for -, and their kinds -> nouns with articles."""
    nouns = Nouns({name.replace("_", "-"): (kind, "") for name, kind in kinds.items()})
    return {name: nouns.the(name) for name in nouns.things}


@pytest.mark.parametrize("kind", NOUNS)
def test_a_name_gives_a_noun(kind: str) -> None:
    for name, the in NOUNS[kind].items():
        assert called(**{name.replace("-", "_"): kind}) == {name: the}


def test_no_two_things_have_one_noun() -> None:
    masses = {"weight": "hanging mass 1", "mass": "hanging mass 2"}
    carts = {"cart1": "cart 2", "cart-1": "cart 3"}
    assert called(weight="hanging", mass="hanging", cart1="cart", cart_1="cart") == masses | carts


def test_an_author_s_noun_comes_first() -> None:
    nouns = Nouns({"cart": ("cart", "red glider"), "mass": ("hanging", "")})
    assert list(map(nouns.the, ("cart", "Earth", "bench"))) == [
        "the red glider",
        "Earth",
        "the bench",
    ]


@pytest.mark.parametrize("text", REFUSED)
def test_a_noun_that_no_sentence_could_take_is_refused(text: str) -> None:
    with pytest.raises(Refusal) as caught:
        noun(text)
    assert str(caught.value) == REFUSED[text]


@pytest.mark.parametrize("text", ["red cart", "glider", "hanging mass", "cart 2", "gas"])
def test_other_nouns_stand_as_they_are(text: str) -> None:
    assert noun(text) == text
