"""Random cases are the same in every run; a search for new ones is asked for by name.

``pytest --hypothesis-profile=search`` draws new cases each time. What it finds is written down as
an ``@example`` beside the test.
"""

from hypothesis import settings

settings.register_profile("fixed", derandomize=True)
settings.register_profile("search", derandomize=False)
settings.load_profile("fixed")
