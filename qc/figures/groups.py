"""Which channels make one programme sound, and with what weights.

Source: ITU-R BS.1770-5, Annex 1 (L R C 1.0; Ls Rs 1.41; LFE left out) and Annex 3, Table 4 (1.41 for a
loudspeaker less than 30 degrees up or down and 60 to 120 degrees to the side; 1.0 for any other).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qc.media.facts import FileFacts

SURROUND = 1.41

#: Azimuth and elevation in degrees by channel label: the trade's and the decoder's spelling. None is an LFE.
#: Ls and Rs stand at 110; rears at 135 where sides exist too, else they are the surrounds.
_AT: dict[str, tuple[int, int] | None] = {
    **dict.fromkeys(("L", "FL", "M", "C", "FC", "R", "FR", "MONO", "DL", "DR"), (30, 0)),
    **dict.fromkeys(("FLC", "FRC", "LC", "RC"), (15, 0)),
    **dict.fromkeys(("LS", "RS", "SL", "SR", "SDL", "SDR"), (110, 0)),
    **dict.fromkeys(("LSS", "RSS"), (90, 0)),
    **dict.fromkeys(("BL", "BR", "LRS", "RRS", "LB", "RB", "LSR", "RSR"), (135, 0)),
    **dict.fromkeys(("WL", "WR", "LW", "RW"), (60, 0)),
    **dict.fromkeys(("BC", "CS"), (180, 0)),
    **dict.fromkeys(("TFL", "TFR", "TBL", "TBR", "TSL", "TSR", "TC", "TFC", "TBC"), (45, 45)),
    **dict.fromkeys(("BFL", "BFR", "BFC"), (45, -30)),
    **dict.fromkeys(("LFE", "LFE2"), None),
}
_REARS, _SIDES = {"BL", "BR", "LRS", "RRS", "LB", "RB", "LSR", "RSR"}, {"LS", "RS", "SL", "SR", "LSS", "RSS"}

#: Order of channels in a group that a profile declares as 5.1: common practice (film/broadcast order).
ORDER_5_1 = ("L", "R", "C", "LFE", "Ls", "Rs")


@dataclass(frozen=True)
class ChannelGroup:
    """Channels (index in the flat list, from 0) with their BS.1770 weights, in the same order.

    An LFE has weight 0: out of loudness, still in the peaks.
    """

    name: str
    channels: tuple[int, ...]
    weights: tuple[float, ...]


def weights_of(labels: Sequence[str]) -> tuple[float, ...] | None:
    """Weights by label; None if one is unknown or stands twice. Never a guess."""
    known = [label.upper() for label in labels]
    if any(label not in _AT for label in known) or len(set(known)) != len(known):
        return None
    sides = not _SIDES.isdisjoint(known)
    weights = []
    for label in known:
        place = (110, 0) if label in _REARS and not sides else _AT[label]
        if place is None:
            weights.append(0.0)
        else:
            azimuth, elevation = place
            weights.append(SURROUND if abs(elevation) < 30 and 60 <= azimuth <= 120 else 1.0)
    return tuple(weights)


def group_of(name: str, numbers: Sequence[int], layout: str, labels: Sequence[str]) -> ChannelGroup:
    """A group as a profile declares it.

    numbers  channels counted from 1, as in the profile
    layout   "mono", "stereo", "5.1" or "discrete"
    labels   of the file's whole flat channel list, "" where unknown

    5.1 follows the file's labels if they name six channels of a 5.1, else the declared order L R C LFE Ls Rs.
    Discrete channels of unknown order get weight 0: their loudness is not defined, their peaks are.
    """
    channels = tuple(number - 1 for number in numbers)
    own = [labels[channel] if channel < len(labels) else "" for channel in channels]
    if layout in ("mono", "stereo"):
        weights: tuple[float, ...] | None = (1.0,) * len(channels)
    elif layout == "5.1":
        weights = weights_of(own)
        if weights is None or sorted(weights) != [0.0, 1.0, 1.0, 1.0, SURROUND, SURROUND]:
            weights = weights_of(ORDER_5_1)
    else:
        weights = weights_of(own) or (0.0,) * len(channels)
    return ChannelGroup(name, channels, weights or ())


def default_group(facts: FileFacts) -> ChannelGroup | None:
    """The group to measure when no profile names one; None if there is none, see ``why_no_group``.

    The first stream of two or more channels by its own layout; else the first two mono streams as left
    and right; else the one mono channel.
    """
    first = 0
    monos = []
    for stream in facts.sounds:
        if stream.channels >= 2:
            channels = tuple(range(first, first + stream.channels))
            weights = (1.0, 1.0) if stream.channels == 2 else weights_of(stream.labels)
            name = "stereo" if stream.channels == 2 else stream.layout or f"{stream.channels} channels"
            return ChannelGroup(name, channels, weights) if weights else None
        if stream.channels == 1:
            monos.append(first)
        first += stream.channels
    if len(monos) >= 2:
        return ChannelGroup("stereo of two mono streams", (monos[0], monos[1]), (1.0, 1.0))
    return ChannelGroup("mono", (monos[0],), (1.0,)) if monos else None


def why_no_group(facts: FileFacts) -> str:
    """Why ``default_group`` found none; "" if it found one."""
    if default_group(facts) is not None:
        return ""
    stream = next((stream for stream in facts.sounds if stream.channels >= 2), None)
    if stream is None:
        return "the file has no sound"
    return f"the order of the {stream.channels} channels of stream {stream.index} is not known"
