"""Planning: takes the numbers of a lab; gives what follows from them for choosing others.

Which results a set of numbers has, and a worked example whose results aren't those of the lab.
Knows nothing of pages.
"""

from fallwork.planning.examples import NoExampleError, example_of, shared_results
from fallwork.planning.results import Result, results_of

__all__ = ["NoExampleError", "Result", "example_of", "results_of", "shared_results"]
