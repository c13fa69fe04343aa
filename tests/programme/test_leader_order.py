"""Elements that are asked for against those that were found: cheap, in order, and never a guess for a pass."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from qc.programme.leader import Element, Kind
from qc.programme.leader_order import Fit, fit, place_elements
from qc.timing.spans import Span

FULL = ("bars and tone", "slate", "countdown", "black")
WORDS = ("bars and tone", "bars", "tone", "slate", "countdown", "clock", "still", "black")


def element(kind: Kind, tone: bool = False, frames: int = 50) -> Element:
    return Element(kind, Span(0, frames), tone=Span(0, 100) if tone else None)


BARS, SLATE, COUNT = element(Kind.BARS, tone=True), element(Kind.SLATE), element(Kind.COUNT)
BLACK, MOVING, STILL = element(Kind.BLACK), element(Kind.MOVING), element(Kind.STILL)


def told(*found: Element) -> list[tuple[str | None, list[str], list[str]]]:
    return [
        (
            placed.fit.value if placed.fit else None,
            [one.name for one in placed.before],
            [one.name for one in placed.after],
        )
        for placed in place_elements(FULL, found)
    ]


def test_a_head_as_asked() -> None:
    """Every element in its place."""
    assert told(BARS, SLATE, COUNT, BLACK) == [("as asked", [], [])] * 4


def test_what_is_missing_and_what_is_too_many() -> None:
    """A missing slate, a picture between, something after the end, all gone."""
    assert told(BARS, COUNT, BLACK)[1] == (None, [], [])
    assert told(BARS, MOVING, SLATE, COUNT, BLACK)[1] == ("as asked", ["moving picture"], [])
    assert told(BARS, SLATE, COUNT, BLACK, MOVING, BLACK)[3] == ("as asked", [], ["moving picture", "black"])
    assert [fit for fit, _, _ in told()] == [None] * 4
    assert [fit for fit, _, _ in told(BLACK)] == [None, None, None, "as asked"]


def test_what_is_not_recognised_stands_in_its_place() -> None:
    """A moving picture where a slate or countdown is asked for may be one; it is not said to be missing."""
    assert told(BARS, MOVING, COUNT, BLACK)[1][0] == "not recognised"
    assert told(BARS, SLATE, MOVING, BLACK)[2][0] == "not recognised"
    assert told(STILL, SLATE, COUNT, BLACK)[0][0] == "not recognised"


def test_the_wrong_order_is_no_match() -> None:
    """A slate before the bars is one too many there, and missing behind them."""
    assert told(SLATE, BARS, COUNT, BLACK)[:2] == [("as asked", ["slate"], []), (None, [], [])]


def test_fits() -> None:
    """What each word takes; bars without tone are bars without tone."""
    assert fit("bars and tone", element(Kind.BARS)) is Fit.NO_TONE
    assert fit("bars", BARS) is fit("bars", element(Kind.BARS)) is Fit.AS_ASKED
    assert fit("tone", element(Kind.BLACK, tone=True)) is Fit.AS_ASKED and fit("tone", BLACK) is Fit.NO_TONE
    assert fit("clock", COUNT) is fit("countdown", COUNT) is Fit.AS_ASKED
    assert fit("black", MOVING) is fit("slate", BLACK) is fit("countdown", SLATE) is Fit.OTHER


@given(
    asked=st.lists(st.sampled_from(WORDS), min_size=1, max_size=8),
    kinds=st.lists(st.sampled_from([BARS, SLATE, COUNT, BLACK, MOVING, STILL]), max_size=12),
)
def test_nothing_is_lost(asked: list[str], kinds: list[Element]) -> None:
    """Every element that is asked for has one record, every one that was found stands in just one of them, in order."""
    placed = place_elements(asked, kinds)
    assert [one.number for one in placed] == list(range(len(asked)))
    seen = [item for one in placed for item in (*one.before, *([one.found] if one.found else []), *one.after)]
    assert seen == kinds
    assert all((one.found is None) == (one.fit is None) for one in placed)


def test_a_very_long_list_is_no_trouble() -> None:
    """Two thousand flickers before the programme."""
    placed = place_elements(FULL, [BLACK, MOVING] * 1000)
    assert len(placed) == 4
