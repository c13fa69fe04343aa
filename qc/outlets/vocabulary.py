"""The values that a choice can have: the words that the probe and the judge use.

A value outside its list could never be met, so it is an error in the profile, not a strict outlet.
"""

from __future__ import annotations

import re
from difflib import get_close_matches

WORDS: dict[str, tuple[str, ...]] = {
    "wrapper.kind": ("MXF OP1a", "MXF OPAtom", "MXF", "MOV", "MP4", "WAV"),
    "streams.other": ("none", "timecode", "captions", "subtitles", "data", "attachment"),
    "picture.codec": (
        "MPEG-2",
        "ProRes",
        "AVC",
        "HEVC",
        "VC-3",
        "JPEG 2000",
        "DV",
        "uncompressed",
        "uncompressed 10-bit 4:2:2",
    ),
    "picture.codec_profile": (
        "4:2:2",
        "Main",
        "High",
        "High 10",
        "High 10 Intra",
        "High 4:2:2",
        "High 4:2:2 Intra",
        "422 Proxy",
        "422 LT",
        "422",
        "422 HQ",
        "4444",
        "4444 XQ",
        "LB",
        "SQ",
        "HQ",
        "HQX",
        "444",
    ),
    "picture.chroma": ("4:2:0", "4:2:2", "4:4:4"),
    "picture.frame_rate": ("24000/1001", "24", "25", "30000/1001", "30", "50", "60000/1001", "60"),
    "picture.scan": ("progressive", "interlaced, top first", "interlaced, bottom first"),
    "picture.clean_aperture": ("full",),
    "picture.alpha": ("none", "present"),
    "picture.colour": ("BT.709", "BT.2020", "SMPTE 170M", "BT.470 BG"),
    "field_order.measured": ("top first", "bottom first", "progressive content"),
    "active_picture.shape": ("full raster", "letterbox", "pillarbox"),
    "active_picture.inserts": ("none", "letterbox", "pillarbox"),
    "active_picture.afd": tuple(f"{code:04b}" for code in range(16)),
    "cadence.accepted": ("none", "2:3", "2:2", "regular repeats", "blended"),
    "timecode.counting": ("drop-frame", "non-drop-frame"),
    "structure.parts": ("single", "soft parts", "hard parts"),
    "structure.act_starts": ("whole second", "whole minute"),
    "leader.bars": (
        "SMPTE RP 219",
        "SMPTE RP 219, 4:3",
        "SMPTE EG 1",
        "EBU 100/0/75/0",
        "EBU 100/0/100/0",
        "EBU 75/0/75/0",
    ),
    "audio.arrangement": ("mono streams", "stereo streams", "one stream"),
    "timing_sheet.columns": (
        "part",
        "act",
        "SOM",
        "EOM",
        "duration",
        "frames",
        "first frame",
        "last frame",
        "counting",
        "accounting",
        "EOM is",
        "file",
        "outlet",
        "note",
    ),
}

FORMS: dict[str, tuple[re.Pattern[str], str]] = {
    "picture.raster": (re.compile(r"[1-9]\d{1,4}x[1-9]\d{1,4}"), "width x height, such as 1920x1080"),
    "picture.sample_aspect": (re.compile(r"[1-9]\d{0,4}:[1-9]\d{0,4}"), "width:height of a pixel, such as 1:1"),
}

NUMBERS: dict[str, tuple[int, ...]] = {
    "picture.bit_depth": (8, 10, 12, 16),
    "picture.rotation": (0, 90, 180, 270),
    "audio.sample_rate": (32000, 44100, 48000, 88200, 96000, 176400, 192000),
    "audio.bit_depth": (16, 20, 24, 32),
}


def nearest_word(key: str, word: str) -> str:
    """The known value that an unknown one most likely meant; "" if none is near."""
    known = WORDS[key]
    folded = {_folded(value): value for value in known}
    if _folded(word) in folded:
        return folded[_folded(word)]
    near = get_close_matches(_folded(word), list(folded), n=1, cutoff=0.6)
    near = near or [one for one in folded if sorted(one) == sorted(_folded(word))]  # "3:2" for "2:3"
    return folded[near[0]] if near else ""


def _folded(word: str) -> str:
    return re.sub(r"[^a-z0-9]", "", word.casefold())
