"""From a validated scenario to the apparatus that the solver takes.

What can't be is refused here with its place in the file; what that is, others say.
"""

from fallwork.errors import BadInput
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.faults import ImpossibleApparatus
from fallwork.mechanics.state import check_possible
from fallwork.scenario.model import Scenario
from fallwork.scenario.report import Impossible, listed


def apparatus_of(scenario: Scenario, gravity: float) -> Apparatus:
    """The scenario's apparatus in SI units; ``gravity`` in m/s².

    Raises BadInput for an apparatus that can't be, or ImpossibleApparatus where no file is known.
    """
    apparatus, places = Apparatus.of(scenario, gravity), scenario.places
    try:
        check_possible(apparatus)
    except ImpossibleApparatus as fault:
        place = places.get(fault.number) or places.get(fault.objects[0])
        if place is None:
            raise
        found, expected = fault.reason.words
        found = f"{listed(fault.objects)}: {found}"
        raise BadInput((Impossible(place=place, found=found, expected=expected),)) from fault
    return apparatus
