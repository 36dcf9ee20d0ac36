"""Every choice of system as data for the page on which a reader makes one: what can be inside, each
force with its work, each pair of forces that can be internal, each energy with those who hold it.

Any choice is a sum of what is listed. Formulas are trees, with numbers only where a lesson has any.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from fallwork.lesson.document import Step
from fallwork.lesson.expression import Expression, Symbol, terms_of
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.lab.review import Review
from fallwork.lesson.lab.symbols import interaction_row
from fallwork.lesson.lab.systems import Store, System
from fallwork.lesson.trees import opposite, sized
from fallwork.lesson.words import reason_in_words, say
from fallwork.mechanics.solution import Force, Interaction, ZeroWork
from fallwork.scenario.nouns import EARTH

MOST_THINGS = 16  # of more, boxes to tick help nobody
_TEXTS = "choosing"
_OWN_REASONS = {Interaction.ROLLING: "why.rolling", Interaction.AXLE: "why.axle"}
_KEPT = {Interaction.FRICTION: "thermal", Interaction.GRAVITY: "potential"}  # energy of the pair
_NOTHING = 1e-12  # relative: what rounding leaves of two works that cancel

Data = Mapping[str, Any]


def choosing(lab: Review, steps: Sequence[Step]) -> Data | None:
    """What ``choose.js`` works from; None if there are too many things. ``steps``: the lesson's."""
    named = (*lab.scenario.objects, *lab.apparatus.strings, *lab.apparatus.surfaces, EARTH)
    things = tuple(name for name in named if name in lab.apparatus.members)
    if len(things) > MOST_THINGS:
        return None
    forces = [f for f in lab.phase.forces if f.on in things and f.reason is not ZeroWork.NO_FORCE]
    stores = sorted(System(lab, things).changes, key=lambda store: store.kind != "potential")
    featured = []
    for system in lab.systems:
        ids = (f"{system.id}-forces", f"{system.id}-energy")
        leads = tuple((step.id, step.short or step.title) for step in steps if step.id in ids)
        featured.append({"members": system.members, "title": system.title, "steps": leads})
    return {
        "things": tuple(_thing(lab, name) for name in things),
        "called": {name: lab.the(name) for name in (*things, *(f.partner for f in forces))},
        "forces": tuple(_force(lab, force) for force in forces),
        "pairs": tuple(_pairs(lab, [force for force in forces if force.partner in things])),
        "energies": tuple(_energy(lab, store) for store in stores),
        "featured": tuple(featured),
        "part": say("first-part", _TEXTS) if lab.conditions["back"] else "",
        "figures": lab.figures,
    }


def _thing(lab: Review, name: str) -> Data:
    """Its name in addresses, what it is called, and what its going in or out means."""
    if name == EARTH:
        sort = "earth"
    elif name in lab.movers:
        sort = "mover" if name in lab.moving else "resting"
    elif name in lab.apparatus.strings:
        sort = "string"
    elif name in lab.pulleys:
        sort = "heavy" if name in lab.heavy else "braked" if name in lab.rotors else "ideal"
    else:
        rubbed = map(lab.surface_under, lab.kinetic_frictions)
        sort = "rubbed" if name in rubbed else "smooth"
    way = {way: say(f"goes.{sort}.{way}", _TEXTS, the=lab.the(name)) for way in ("in", "out")}
    return {"id": name, "noun": lab.scenario.nouns.noun(name), **way}


def _force(lab: Review, force: Force) -> Data:
    """With its symbol and that of its work, if any, with formula and terms."""
    acting, sort = Acting(lab, force), force.interaction
    between = (force.partner, force.on, sort)
    back = (f for f in lab.phase.forces if (f.on, f.partner, f.interaction) == between)
    letters = (Acting(lab, each).letter for each in (force, *back))
    letter = next((each for each in letters if each), None)
    found = {"kind": _kind(acting), "on": force.on, "by": force.partner, "letter": letter}
    if force.reason:
        own = _OWN_REASONS.get(sort) if force.reason is ZeroWork.POINT_AT_REST else None
        return {**found, "why": say(own, _TEXTS) if own else reason_in_words(force.reason)}
    symbol, formula = acting.symbol if acting.listed else None, acting.formula
    shown = symbol or formula
    terms = _terms(shown) if shown else ((1, f"({acting.phrase})"),)
    about = {"work": symbol, "formula": formula, "terms": terms}
    return {**found, **about, **_known(lab, force.work)}


def _kind(acting: Acting) -> str:
    """The trade's word for it, that of a contact without its partner."""
    contact = acting.force.interaction is Interaction.CONTACT
    return interaction_row(acting.force)["elsewhere"] if contact else acting.kind


def _terms(tree: Expression) -> tuple[tuple[int, Expression], ...]:
    return tuple(map(sized, terms_of(tree)))


def _known(lab: Review, value: float | None) -> Data:
    """A work or energy in J as far as it is known, without its last digits, where numbers are."""
    known = None if value is None else float(f"{value:.12g}")
    return {"value": known} if lab.numbers else {}


def _pairs(lab: Review, forces: Iterable[Force]) -> Iterator[Data]:
    """The forces that two members exert on each other, and what becomes of their works."""
    pulled = (*lab.movers, *lab.rotors)
    found: dict[tuple[str, frozenset[str]], list[Force]] = {}
    for force in forces:
        between = frozenset((force.on, force.partner))
        found.setdefault((force.interaction, between), []).append(force)
    for pair in found.values():
        known = [force.work for force in pair if force.work is not None]
        if all(force.reason for force in pair):
            outcome = "none"
        elif len(known) < len(pair):
            outcome = "open"
        elif abs(sum(known)) <= _NOTHING * max(map(abs, known)):
            outcome = "cancel"
        else:
            outcome = _KEPT[pair[0].interaction]
        first = next((force for force in pair if force.on in pulled), pair[0])
        ends = {"kind": _kind(Acting(lab, first)), "between": (first.partner, first.on)}
        yield {**ends, "outcome": say(f"pairs.{outcome}", _TEXTS)}


def _energy(lab: Review, store: Store) -> Data:
    """With its holders, what it is, its terms and how it follows."""
    kind, name, change, _, formula = store
    holders, meaning = [name], change.meaning if isinstance(change, Symbol) else ""
    if kind == "potential":
        holders, gravity = [name, EARTH], lab.acting("gravity", name)
        formula = opposite(gravity.formula) if gravity and gravity.formula else None
    elif kind == "thermal":
        holders = [name, lab.surface_under(name)]
        member, surface = map(lab.the, holders)
        meaning = say("thermal", _TEXTS, the=member, surface=surface)
    about = {"of": tuple(holders), "meaning": meaning, "terms": _terms(change), "formula": formula}
    return {"kind": kind, **about, **_known(lab, lab.value(change))}
