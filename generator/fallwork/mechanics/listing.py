"""Forces as a phase lists them: those of one name made one, in a fixed order.

Takes the forces that were found pair by pair; gives each once, object by object.
"""

from collections.abc import Sequence

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Force, Interaction, ZeroWork
from fallwork.mechanics.vectors import tidy
from fallwork.scenario.nouns import EARTH

FIRST = (Interaction.TENSION, Interaction.CONTACT)
LAST = (Interaction.NORMAL, Interaction.GRAVITY)
ORDER = (*FIRST, *(kind for kind in Interaction if kind not in FIRST + LAST), *LAST)


def listed(apparatus: Apparatus, forces: Sequence[Force]) -> tuple[Force, ...]:
    """Every force once, object by object in the order of the apparatus."""
    return _sorted(apparatus, _merged(forces))


def telling(reasons: Sequence[ZeroWork | None]) -> ZeroWork | None:
    """The first of several reasons that says more than that there is no force."""
    return next((reason for reason in reasons if reason is not ZeroWork.NO_FORCE), reasons[0])


def members(apparatus: Apparatus) -> tuple[str, ...]:
    """Everything that may be a member of a system, in the order of the apparatus."""
    return (
        *apparatus.bodies,
        *apparatus.pulleys,
        *apparatus.strings,
        *apparatus.surfaces,
        EARTH,
    )


def _merged(entries: Sequence[Force]) -> list[Force]:
    """Forces of the same name made one: a string that passes a pulley twice.

    Those of a pass have no single displacement.
    """
    groups: dict[tuple[Interaction, str, str], list[Force]] = {}
    for force in entries:
        groups.setdefault((force.interaction, force.partner, force.on), []).append(force)
    return [group[0] if len(group) == 1 else _merge(group) for group in groups.values()]


def _merge(group: Sequence[Force]) -> Force:
    first = group[0]
    vectors = [force.vector for force in group if force.vector is not None]
    works = [force.work for force in group]
    reasons = [force.reason for force in group]
    work = None if None in works else sum(w for w in works if w is not None)
    return Force(
        interaction=first.interaction,
        partner=first.partner,
        on=first.on,
        vector=tidy((sum(v[0] for v in vectors), sum(v[1] for v in vectors))),
        torque=None if first.torque is None else sum(force.torque or 0.0 for force in group),
        displacement=first.displacement,
        work=work,
        reason=None if None in reasons else telling(reasons),
    )


def _sorted(apparatus: Apparatus, forces: Sequence[Force]) -> tuple[Force, ...]:
    rank = {name: at for at, name in enumerate(members(apparatus))}
    return tuple(sorted(forces, key=lambda f: (rank[f.on], ORDER.index(f.interaction))))
