"""What the mixer of one outlet's version needs: figures per span, the gain, and what stands in its way."""

from __future__ import annotations

from dataclasses import dataclass

from qc.programme.place import Place


@dataclass(frozen=True)
class MixRow:
    """One span: "programme" (acts joined) or "act 2". A figure is None with its reason in ``note``.

    gain        dB to the target of this span, on the 0.1 dB of a meter; None if none is asked for it
    accepted    loudness of this span as it is; None if nothing is asked of it
    """

    span: str
    som: str
    eom: str
    integrated: float | None
    max_short_term: float | None
    max_momentary: float | None
    loudness_range: float | None
    true_peak_dbtp: float | None
    low: float | None
    target: float | None
    high: float | None
    gain: float | None
    accepted: bool | None
    note: str = ""


@dataclass(frozen=True)
class MixSheet:
    """One channel group for one outlet.

    channels   numbers in the flat list, counted from 1
    meter      how it was measured, with standard and edition, in words
    unit       "LUFS" or "LKFS" as the outlet writes it
    ceiling    highest true peak asked for, dBTP; None if none is
    gain       dB for the whole mix: to the target, 0.0 if it is accepted as it is; None if unknown
    window     gains that every loudness limit of this outlet (programme and acts) and the ceiling accept without
               touching a peak, (low, high) in dB, None where open; None if there is no such gain
    peaks      places over the ceiling after ``gain``, in order of time, value in dBTP after it
    more_peaks places beyond those
    words      the whole instruction in a sentence or two
    """

    group: str
    channels: tuple[int, ...]
    meter: str
    unit: str
    ceiling: float | None
    rows: tuple[MixRow, ...]
    gain: float | None
    window: tuple[float | None, float | None] | None
    peaks: tuple[Place, ...]
    more_peaks: int
    words: str


@dataclass(frozen=True)
class OneMix:
    """Whether one level of the same mix serves all outlets that one file was checked for in a run.

    group      channels, counted from 1, that all of them judge
    outlets    names of the outlets that ask for a loudness or a peak of this mix
    serves     a gain (peaks held where it says so) that all of them accept exists
    low, high  gains in dB that all of them accept, peaks held; None where open, both None if ``serves`` is false
    gain       the gain advised: 0 if that serves all, else with room to every limit where the window has it; None if
               there is none
    loudness   programme loudness after it, LUFS, and ``ceiling`` the lowest ceiling of all, dBTP
    peaks      places over that ceiling after it
    conflicts  pairs that no gain serves, each a sentence: "VELMARK KANAL asks for -23.5 to -22.5, ..."
    sentence   the whole of it for a reader
    """

    group: tuple[int, ...]
    outlets: tuple[str, ...]
    serves: bool
    low: float | None
    high: float | None
    gain: float | None
    loudness: float | None
    ceiling: float | None
    peaks: int
    conflicts: tuple[str, ...]
    sentence: str
