"""What the levels of a picture are counted against: components, limits in code values, the matrix of R, G and B.

Pure numbers, for the meter and for whoever reads its series. Levels are in percent of the nominal range (0 reference
black, 100 nominal white) and in *steps*: codes of an 8-bit narrow-range signal, in which 16 is black and 235 white,
whatever the depth of the picture is. Deeper codes are parts of a step; full range is brought to the same scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

#: Y is luma, the others are derived from it and chroma. The order of the series.
COMPONENTS = ("Y", "R", "G", "B")

#: What is counted: (component, percent). Below 0 is counted under, the others over. Luma has finer levels for sheets
#: that set it limits of its own; the whole of a film lies outside narrower limits for R, G and B now and then.
LADDER: tuple[tuple[str, int], ...] = (
    ("Y", -5),
    ("Y", -1),
    ("Y", 101),
    ("Y", 103),
    ("Y", 105),
    ("R", -5),
    ("R", 105),
    ("G", -5),
    ("G", 105),
    ("B", -5),
    ("B", 105),
)

#: What a colour has beyond its level without luma is told for each of luma's on that side: (colour, luma) in LADDER.
PAIRS: tuple[tuple[int, int], ...] = tuple(
    (colour, luma)
    for colour, (name, outer) in enumerate(LADDER)
    for luma, (other, inner) in enumerate(LADDER)
    if name != "Y" and other == "Y" and (outer > 50) == (inner > 50)
)

Side = tuple[str, bool]  # component, and whether its high side is meant
#: One column for each component's low and high side.
SIDES: tuple[Side, ...] = tuple((component, high) for component in COMPONENTS for high in (False, True))

#: Shares of the picture under this are not told apart from nothing. Ten times finer than the 1 % of EBU R 103.
FLOOR = 0.001
#: Every so many frames are looked at where nothing is found; a run of as many cannot hide between two of them.
LOOK_EVERY = 3
#: Longest stretch, in frames, over which a tested frame stands for those that look the same.
TEST_EVERY = 12

# States of a frame in the series.
NOT_MEASURED, CLEAR, BETWEEN, TESTED, CARRIED = range(5)


def limit_step(percent: float) -> int:
    """The last step that is not outside a limit: 5 and 246 for -5 and 105 %.

    Outwards to a whole step, as the table of EBU R 103 v3.0 (2020) does: 5 to 246 at 8 bits, 20 to 984 at 10,
    80 to 3936 at 12 (the last from memory), where -5 and 105 % are 5.05 and 245.95 steps.
    """
    exact = 16 + Fraction(str(percent)) * 219 / 100
    return floor(exact) if percent < 50 else ceil(exact)


def percent_of(step: float) -> float:
    """Percent of the nominal range. Source: ITU-R BT.709-6, item 4.6."""
    return (step - 16) / 2.19


def rows_of_side(component: str, high: bool) -> list[int]:
    """Places in LADDER of one component's low or high levels, the innermost first."""
    found = [place for place, (name, percent) in enumerate(LADDER) if name == component and (percent > 50) == high]
    return sorted(found, key=lambda place: abs(LADDER[place][1] - 50))


@dataclass(frozen=True)
class Matrix:
    """Weights of R and B in luma."""

    name: str
    kr: float
    kb: float

    @property
    def terms(self) -> dict[str, tuple[float, float]]:
        """Factors of Cb and Cr in R, G and B (Cb and Cr from -0.5 to 0.5). Source: ITU-R BT.709-6, item 3.2 and
        3.3, turned round; the same in BT.601-7 and BT.2020-2."""
        kg = 1 - self.kr - self.kb
        blue, red = 2 * (1 - self.kb), 2 * (1 - self.kr)
        return {"R": (0.0, red), "G": (-blue * self.kb / kg, -red * self.kr / kg), "B": (blue, 0.0)}


#: Sources: ITU-R BT.601-7, 2.5.1; BT.709-6, 3.2; BT.2020-2, Table 4; SMPTE ST 240 and FCC from memory.
MATRICES: tuple[Matrix, ...] = (
    Matrix("BT.601", 0.299, 0.114),
    Matrix("BT.709", 0.2126, 0.0722),
    Matrix("BT.2020", 0.2627, 0.0593),
    Matrix("SMPTE 240M", 0.212, 0.087),
    Matrix("FCC", 0.30, 0.11),
)
#: In the series where R, G and B cannot be derived: the matrix is not one of the above, or there is no colour.
NO_MATRIX = -1

_TAGS = {
    "bt.601": "BT.601",
    "smpte 170m": "BT.601",
    "bt.470 bg": "BT.601",
    "bt.709": "BT.709",
    "rgb": "BT.709",  # the reader brings it there
    "bt.2020": "BT.2020",
    "smpte 240m": "SMPTE 240M",
    "fcc": "FCC",
}
_TAGS |= {"smpte170m": "BT.601", "bt470bg": "BT.601", "bt709": "BT.709", "gbr": "BT.709", "bt2020nc": "BT.2020"}
_TAGS |= {"smpte240m": "SMPTE 240M"}
#: Transfer functions that go with the colours of BT.2020.
_WIDE = ("bt.2020", "hlg", "pq", "arib-std-b67", "smpte2084", "bt2020")
#: The raster of standard definition ends here.
_SD_LINES = 576


def matrix_of(tag: str | None, transfer: str | None, lines: int) -> tuple[int, bool]:
    """Place in MATRICES (or NO_MATRIX), and whether it was assumed for want of a tag.

    Untagged: BT.2020 where the transfer function belongs to it, BT.601 up to 576 lines, else BT.709 (common practice).
    """
    if tag is not None:
        name = _TAGS.get(tag.casefold())
        return (NO_MATRIX if name is None else _place(name)), False
    if (transfer or "").casefold().startswith(_WIDE):
        return _place("BT.2020"), True
    return _place("BT.601" if lines <= _SD_LINES else "BT.709"), True


def _place(name: str) -> int:
    return [matrix.name for matrix in MATRICES].index(name)


def percents(component: str, high: bool) -> Sequence[int]:
    """Levels that are counted for one side, the innermost first."""
    return [LADDER[place][1] for place in rows_of_side(component, high)]
