"""What stops the publication of a site; its sentences stand in ``refused.yaml``."""

from functools import partial

from fallwork.errors import FallworkError
from fallwork.errors import said as _said

said = partial(_said, "site")


class PublicationError(FallworkError):
    """A site that wasn't published; what stood there before still stands."""
