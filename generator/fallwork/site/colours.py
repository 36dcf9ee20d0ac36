"""The colours of drawings, as variables of the page.

Takes the palette of ``figures``; gives a style sheet that defines ``--fw-<role>`` for the light
and the dark page and for print. The rest of the site takes its colours from them too.
"""

from collections.abc import Mapping

from fallwork.figures.palette import palette

_LIGHT = '[data-md-color-scheme="default"]'
_DARK = '[data-md-color-scheme="slate"]'
_DARK_WITHOUT_SCRIPTS = f".no-js {_LIGHT}"  # nothing reads the reader's wish but the style sheet


def stylesheet() -> str:
    """CSS with one variable a role, in the order of the palette."""
    light = _variables({role.name: role.light for role in palette().values()})
    dark = _variables({role.name: role.dark for role in palette().values()})
    return (
        f":root, {_LIGHT} {{\n{light}}}\n\n"
        f"@media screen {{\n{_DARK} {{\n{dark}}}\n}}\n\n"
        f"@media screen and (prefers-color-scheme: dark) {{\n"
        f"{_DARK_WITHOUT_SCRIPTS} {{\n  color-scheme: dark;\n{dark}}}\n}}\n\n"
        f"@media print {{\n{_DARK} {{\n{light}}}\n}}\n"
    )


def _variables(colours: Mapping[str, str]) -> str:
    return "".join(f"  --fw-{role}: {colour};\n" for role, colour in colours.items())
