"""The symbols of one lesson: a letter, a meaning and, where the lesson has numbers, a value.

Takes a setting; gives the same symbol for the same quantity wherever a step asks for it. One
module for each field, each built on the one before: what is given, forces, motion, energies.
"""

from fallwork.lesson.symbols.energies import EnergySymbols as Names

__all__ = ["Names"]
