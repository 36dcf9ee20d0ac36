"""Mechanics: takes an apparatus in SI units; gives its run, phase by phase, with every force on
every object and the account of every choice of system.

Knows nothing of text, files, units other than SI, or uncertainties.
"""

from fallwork.mechanics.accounts import account, accounts, is_small, objects, systems
from fallwork.mechanics.apparatus import Apparatus, ImpossibleApparatus
from fallwork.mechanics.batch import DrivenBatch, solve_driven
from fallwork.mechanics.course import apparatus_of, normal_gravity, run_of
from fallwork.mechanics.rigging import Rigging, rigging_of
from fallwork.mechanics.run import solve
from fallwork.mechanics.solution import Force, Interaction, Phase, Solution, SystemAccount, ZeroWork
from fallwork.scenario.nouns import BENCH, EARTH
