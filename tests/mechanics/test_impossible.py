"""What only the solver finds out is refused with the objects concerned.

Other cases are files, which the command line refuses at their place; what the reader of a file
refuses never comes here.
"""

import pytest

from fallwork.mechanics import Apparatus, ImpossibleApparatus, solve
from mechanics.kit import rig

CASES = {
    "a weight beside a cart": rig("cart a 1.0", "hanging w 0.1", "track track", run="a"),
    "a weight tied above the one that is held": rig(
        *("hanging w 0.1", "hanging held 0.1", "fixed p"), s="w held", t="p held", run="held"
    ),
}


@pytest.mark.parametrize("set_up", CASES.values(), ids=CASES)
def test_a_weight_that_nothing_holds_is_refused(set_up: Apparatus) -> None:
    with pytest.raises(ImpossibleApparatus) as refused:
        solve(set_up)
    assert refused.value.objects == ("w",)
    assert str(refused.value) == "w: nothing holds it up; let a string hold it from above"
