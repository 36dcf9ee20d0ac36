"""What the fixture ``run`` gives."""

from collections.abc import Callable

Run = Callable[..., tuple[int, str, str]]  # words -> exit status, output, messages
