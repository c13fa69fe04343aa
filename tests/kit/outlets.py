"""The invented outlets of the demo as small profiles: what they ask of the mix, and no more unless told.

The limits are those of the shipped profiles of the same names (composed from ITU-R BS.1770, EBU R 128,
ATSC A/85, Free TV Australia OP-59 and ARIB TR-B32 ranges; the outlets themselves are invented).
"""

from __future__ import annotations

from typing import Any

from qc.outlets.load import LoadedProfile
from tests.kit.made import SINGLE, loaded

#: name -> (unit, target, tolerance, ceiling in dBTP, each act too)
MIXES: dict[str, tuple[str, float, Any, float, bool]] = {
    "CORVANE 5": ("LKFS", -24.0, 2.0, -2.0, True),
    "MEADOWLINE PUBLIC": ("LKFS", -24.0, 2.0, -2.0, False),
    "VELMARK KANAL": ("LUFS", -23.0, 0.5, -1.0, False),
    "TIDEWOLD ONE": ("LUFS", -23.0, 0.5, -3.0, False),
    "KERRAWIND": ("LKFS", -24.0, 1.0, -2.0, False),
    "HOSHINAMI NET": ("LKFS", -24.0, [-4.0, 1.0], -1.0, False),
}


def code_of(name: str) -> str:
    return name.casefold().replace(" ", "-")


def outlet(name: str, **sections: Any) -> LoadedProfile:
    """One profile with these sections and nothing else."""
    return loaded(outlet={"name": name, "code": code_of(name)}, **sections)


def mix_outlet(name: str, structure: dict[str, Any] | None = None, **sections: Any) -> LoadedProfile:
    """What the outlet of this name asks of the mix, over a single part unless a structure is given."""
    unit, target, tolerance, ceiling, acts = MIXES[name]
    loudness: dict[str, Any] = {"programme": {"target": target, "tolerance": tolerance, "unit": unit}}
    if acts:
        loudness["act"] = loudness["programme"]
    peak = {"programme": {"max": ceiling, "unit": "dBTP"}}
    return outlet(name, structure=structure or SINGLE, loudness=loudness, true_peak=peak, **sections)


def all_six(structure: dict[str, Any] | None = None) -> list[LoadedProfile]:
    return [mix_outlet(name, structure) for name in MIXES]
