"""Templates of the theme as they were compiled, for further builds of the same process.

Compiling them takes half of the time of a small site; a preview builds again at every change.
"""

from jinja2.bccache import Bucket, BytecodeCache


class Compiled(BytecodeCache):
    """In memory. A template whose source has changed is compiled again."""

    def __init__(self) -> None:
        self._known: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        """Fill in what is known; whether it is of this source is checked there."""
        if bucket.key in self._known:
            bucket.bytecode_from_string(self._known[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep what was compiled now."""
        self._known[bucket.key] = bucket.bytecode_to_string()


COMPILED = Compiled()
