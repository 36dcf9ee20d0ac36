"""The numbers of a scenario that are uncertain, and the scenario with other values for them.

Takes a validated scenario; gives its inputs for a propagation, by the paths that its file uses,
and what follows from its apparatus as a model of them.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from math import inf
from typing import Any

import numpy as np

from fallwork.measurement.model import Estimate
from fallwork.measurement.propagation import Input, LinearResult, Numbers, linear
from fallwork.measurement.sensors import Sensors
from fallwork.mechanics import Apparatus, apparatus_of
from fallwork.scenario import Scenario
from fallwork.scenario.numbers import quantities_of as quantities_of
from fallwork.scenario.numbers import with_values as with_values

GRAVITY = "gravity"  # the path of local g, which no scenario holds
SIGNED = ("angle", "speed", "force")  # kinds of quantity that may be negative
LIMITS = "limits"  # ends the uncertainty of a rectangular distribution as written

Outputs = Callable[[Apparatus], Mapping[Any, float]]  # what follows from an apparatus, by name


@dataclass(frozen=True, kw_only=True)
class Case:
    """What a comparison is about, beside the trials."""

    scenario: Scenario
    gravity: Estimate  # m/s²
    sensors: Sensors = field(default_factory=Sensors)

    def apparatus(self, values: Mapping[str, float] | None = None) -> Apparatus:
        """The apparatus, with other values for some of its givens."""
        given = values or {}
        return apparatus_of(
            with_values(self.scenario, given), given.get(GRAVITY, self.gravity.value)
        )

    @property
    def inputs(self) -> tuple[Input, ...]:
        """The givens that are uncertain."""
        return inputs_of(self.scenario, self.gravity)

    @property
    def ends(self) -> Iterator[tuple[Input, float, float]]:
        """Each uncertain given, one standard uncertainty below, or at its lowest, and above."""
        return ((i, max(i.value - i.u, i.lowest), i.value + i.u) for i in self.inputs)

    def propagated(self, outputs: Outputs) -> LinearResult:
        """What follows from the apparatus, with what the uncertain givens do to it; outputs that
        don't exist for all of their values are left out.
        """

        def model(numbers: Numbers) -> Numbers:
            points = np.array(list(numbers.values())).T if numbers else np.zeros((1, 0))
            at = [dict(zip(numbers, map(float, point), strict=True)) for point in points]
            rows = [outputs(self.apparatus(values)) for values in at]
            everywhere = [name for name in rows[0] if all(name in row for row in rows)]
            return {name: np.array([row[name] for row in rows]) for name in everywhere}

        return linear(model, self.inputs)


def inputs_of(scenario: Scenario, gravity: Estimate) -> tuple[Input, ...]:
    """Every number with an uncertainty, in the order of the file, and gravity where it has one."""
    found = [
        Input(
            name=path,
            value=each.value,
            u=each.u,
            rectangular=each.uncertainty.endswith(LIMITS),
            lowest=-inf if each.kind in SIGNED else 0.0,
        )
        for path, each in quantities_of(scenario)
    ]
    local = Input(name=GRAVITY, value=gravity.value, u=gravity.u, dof=gravity.dof, lowest=0.0)
    return tuple(each for each in (*found, local) if each.u > 0)
