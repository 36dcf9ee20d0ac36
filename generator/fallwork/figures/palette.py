"""Colours by role: takes ``palette.yaml``, gives each role's light and dark value.

Drawing code names roles; the site's style sheet is generated from the same roles.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache

from fallwork.errors import table


class Use(Enum):
    """What a role's colour is used for, which decides the contrast that it needs."""

    TEXT = "text"
    GRAPHIC = "graphic"
    GROUND = "ground"


@dataclass(frozen=True, kw_only=True)
class Role:
    """One colour of the figures; values are ``#rrggbb`` in lower case."""

    name: str
    use: Use
    light: str
    dark: str
    meaning: str

    @property
    def css(self) -> str:
        """The colour in an SVG: the page's variable, with the light value to fall back on."""
        return f"var(--fw-{self.name}, {self.light})"


@cache
def palette() -> Mapping[str, Role]:
    """All roles by name, in the order of the file."""
    roles = table("figures", "palette").items()
    return {name: Role(name=name, **{**each, "use": Use(each["use"])}) for name, each in roles}
