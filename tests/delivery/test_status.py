"""The exit status of a run. Contract of this tool, no outside source."""

from __future__ import annotations

from itertools import permutations

import pytest

from qc.delivery.status import most_serious


@pytest.mark.parametrize(
    ("statuses", "worst"), [((), 0), ((0, 0), 0), ((0, 4), 4), ((4, 1, 0), 1), ((1, 3, 4), 3), ((3, 2, 1), 2)]
)
def test_the_most_serious_wins_in_any_order(statuses: tuple[int, ...], worst: int) -> None:
    """2 before 3 before 1 before 4 before 0, wherever in the batch it came."""
    assert {most_serious(order) for order in permutations(statuses)} == {worst}
