"""The worked steps, one module for each stretch of a good worked solution.

Each module takes a ``Context`` and gives steps; ``build.py`` puts them in order.
"""
