"""The language of a course's own files of words, which reach nothing but what a step may ask.

Takes a file's text; the same as the program's files may say comes out the same. Refused are names
with underscores, things that aren't the lesson's, other files, and whatever grows beyond a measure.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction
from itertools import islice
from types import ModuleType
from typing import Any

from jinja2 import nodes
from jinja2.exceptions import SecurityError, TemplateSyntaxError
from jinja2.runtime import Context
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.utils import Namespace
from jinja2.visitor import NodeTransformer

from fallwork.lesson.expression import Expression, children

LARGEST = 10_000  # characters, items or parts of a formula in one value
DEEPEST = 12  # levels of a formula, for what prints it goes down several times
MOST = 2_000_000  # of them in all that a file works out, a call counted as CALL
CALL = 1_000
_POWER = 1_000  # what a power of a formula or a measured value counts for each factor
_SPOKEN = "Template Output TemplateData If For Assign AssignBlock CallBlock Macro FromImport"
_VALUES = "Name NSRef Const Tuple List Dict Pair Keyword Getattr Getitem Slice Call Filter Test"
_DONE = "Compare Operand And Or Not Neg Add Sub Mul Div FloorDiv Pow Concat CondExpr"
_KNOWN = f"{_SPOKEN} {_VALUES} {_DONE}".split()
_AS_THEY_ARE = nodes.Const, nodes.TemplateData, nodes.Slice, nodes.NSRef
_FILTERS = (
    "abs as_written capital capitalize cells default each first format join last length list lower "
    "map max min named reject rejectattr replace select selectattr sort string sum trim "
    "unique upper without"
)
_SAYING = "fallwork.lesson.measured.words"  # the module that a lab with trials hands on
_HOMES = ("fallwork", "fractions", "jinja2")
_OF_BUILTINS = (
    "count denominator endswith format get index items keys lower lstrip numerator removeprefix "
    "removesuffix rstrip split startswith strip upper values"
)
_WIDE = re.compile(r"%(\([^)]*\))?[^a-zA-Z%]*(\d{3}|\*)|\{[^}]*(\d{3}|\{)")  # a form of a number


class Sandbox(ImmutableSandboxedEnvironment):
    """What a course's own files are written in."""

    intercepted_binops = frozenset(["*", "**"])

    def __init__(self, **more: Any) -> None:
        super().__init__(optimized=False, **more)
        self.left = MOST

    def close(self) -> None:
        """Leave out what isn't needed, once all that is needed is there."""
        self.globals = {n: v for n, v in self.globals.items() if n not in _NEEDLESS}
        self.filters = {name: self.filters[name] for name in _FILTERS.split()}
        form: Callable[..., str] = self.filters["format"]
        self.filters["format"] = lambda words, *args: form(_narrow(words), *args)
        self.filters.update(measured=self._measured, few=self._few)

    def _parse(self, source: str, name: str | None, filename: str | None) -> nodes.Template:
        tree = _Measuring(name, filename).visit(super()._parse(source, name, filename))
        return tree.set_environment(self)  # type: ignore[no-any-return]

    def is_safe_attribute(self, obj: Any, attr: str, value: Any) -> bool:
        """Those of the lesson's things, and a few of texts, numbers and lists."""
        home = type(obj).__module__.partition(".")[0]
        known = home in _HOMES or (home == "builtins" and attr in _OF_BUILTINS.split())
        if isinstance(obj, ModuleType):  # what it says, not what it makes use of
            own = obj.__name__ == _SAYING and getattr(value, "__module__", _SAYING) == _SAYING
            known = own and not isinstance(value, ModuleType)
        return known and super().is_safe_attribute(obj, attr, value)

    def is_safe_callable(self, obj: Any) -> bool:
        """No class but that of what a loop may change."""
        return (obj is Namespace or not isinstance(obj, type)) and super().is_safe_callable(obj)

    def wrap_str_format(self, value: Any) -> Callable[..., str] | None:
        """A text's ``format``, which can't make it much longer."""
        found = super().wrap_str_format(value)
        if found is not None:
            _narrow(value.__self__)
        return found

    def call(self, context: Context, called: Any, *args: Any, **more: Any) -> Any:
        """Call something, which takes time."""
        self._count(CALL)
        return super().call(context, called, *args, **more)

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        """Multiply numbers and formulas; a text or a list would only grow."""
        number = int | float | Fraction | Expression
        fit = isinstance(left, number) and isinstance(right, number)
        if operator == "**" and fit:
            size = left.bit_length() if isinstance(left, int) else _POWER
            whole = isinstance(right, int if isinstance(left, Expression) else int | float)
            fit = whole and abs(right) * size <= LARGEST
        if not fit:
            raise SecurityError("words-multiplied")
        return super().call_binop(context, operator, left, right)

    def _few(self, things: Iterable[Any]) -> list[Any]:
        found: list[Any] = self._measured([*islice(things, LARGEST + 1)])
        return found

    def _measured(self, value: Any) -> Any:
        size, waiting = 0, [(value, 0)]
        while waiting and size <= LARGEST:
            each, depth = waiting.pop()
            size += 1
            parts: Iterable[Any] = ()
            match each:
                case str() | range():
                    size += len(each)
                case int():
                    size += each.bit_length() // 8
                case list() | tuple() | set() | frozenset():
                    parts = each
                case Mapping():
                    parts = [part for pair in each.items() for part in pair]
                case Expression():
                    parts, size = children(each), size + (LARGEST if depth > DEEPEST else 0)
            waiting += [(part, depth + 1) for part in parts]
        self._count(size)
        if size > LARGEST:
            raise SecurityError("words-large")
        return value

    def _count(self, size: int) -> None:
        self.left -= size
        if self.left < 0:
            raise SecurityError("words-long")


_NEEDLESS = ("cycler", "dict", "joiner", "lipsum")


def _narrow(words: str) -> str:
    if _WIDE.search(words):
        raise SecurityError("words-large")
    return words


class _Measuring(NodeTransformer):
    """Has every value measured, and knows no sentence that the program's files can do without."""

    def __init__(self, name: str | None, filename: str | None) -> None:
        self._file = name, filename

    def visit(self, node: nodes.Node, *args: Any, **more: Any) -> Any:
        if type(node).__name__ not in _KNOWN:
            raise TemplateSyntaxError("words-closed", node.lineno, *self._file)
        call = node.call if isinstance(node, nodes.CallBlock) else None
        self.generic_visit(node)
        if isinstance(node, nodes.CallBlock) and call:
            node.call = call  # what is called stays a call
        if isinstance(node, nodes.For):
            node.iter = _through("few", node.iter)
        stored = getattr(node, "ctx", "load") != "load"
        if not isinstance(node, nodes.Expr) or isinstance(node, _AS_THEY_ARE) or stored:
            return node
        return _through("measured", node)


def _through(name: str, node: Any) -> nodes.Filter:
    return nodes.Filter(node, name, [], [], None, None, lineno=node.lineno)
