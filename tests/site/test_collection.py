"""The short navigation: what it holds and how it is grouped."""

from fallwork.site.collection import navigation

TITLES = {
    "index.md": "Home",
    "2027-spring/index.md": "Spring 2027",
    "2027-spring/level-track/index.md": "Level track",
}


def test_each_term_is_a_section_with_its_labs() -> None:
    assert navigation(list(TITLES), TITLES) == [
        {"Home": "index.md"},
        {
            "Spring 2027": [
                {"Spring 2027": "2027-spring/index.md"},
                {"Level track": "2027-spring/level-track/index.md"},
            ]
        },
    ]


def test_the_order_is_that_of_the_pages() -> None:
    paths = ["b/index.md", "index.md", "a/index.md"]
    titles = {path: path for path in paths}
    assert [next(iter(item)) for item in navigation(paths, titles)] == paths  # type: ignore[arg-type]


def test_a_course_without_pages_has_no_navigation() -> None:
    assert navigation([], {}) == []
