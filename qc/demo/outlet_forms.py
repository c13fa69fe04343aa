"""What each outlet of the demo is sent: wrapper, codec, counting, head, tail, breaks, tracks."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from qc.timing.timecode import Counting

NTSC = Fraction(30000, 1001)
PAL = Fraction(25)
_PAIR = ("L", "R")
_MUSIC = ("music L", "music R")


@dataclass(frozen=True)
class Codec:
    """An encoder with its options, as FFmpeg names them."""

    ending: str
    pixels: str
    options: dict[str, str | int]


MPEG2 = Codec(
    ".mxf",
    "yuv422p",
    {
        "c:v": "mpeg2video", "profile:v": 0, "level:v": 2, "flags:v": "+ildct", "g": 12, "bf": 2,
        "b:v": "5M", "minrate": "5M", "maxrate": "5M", "bufsize": "2M", "dc": 10,
    },
)  # fmt: skip
PRORES = Codec(
    ".mov",
    "yuv422p10le",
    {"c:v": "prores_ks", "profile:v": 3, "vendor": "apl0", "qscale:v": 6, "flags:v": "+ildct"},
)  # fmt: skip
MPEG2_50 = Codec(
    ".mxf",
    "yuv422p",
    {
        "c:v": "mpeg2video", "profile:v": 0, "level:v": 2, "flags:v": "+ildct+ilme", "g": 15, "bf": 2, "dc": 10,
        "b:v": "50M", "minrate": "50M", "maxrate": "50M", "bufsize": "17825792", "rc_init_occupancy": "17825792",
        "qmin": 1, "qmax": 12, "intra_vlc": 1, "non_linear_quant": 1,
    },
)  # fmt: skip
AVC_INTRA = Codec(
    ".mxf",
    "yuv422p10le",
    {
        "c:v": "libx264", "preset": "ultrafast", "profile:v": "high422", "g": 1, "crf": 22,
        "flags:v": "+ildct+ilme", "x264-params": "tff=1:keyint=1",
    },
)  # fmt: skip


@dataclass(frozen=True)
class OutletForm:
    """One outlet's file.

    code    name of its mini profile
    name    file name; {episode} stands for 201, {number} for its place in the season
    start   label of the file's first frame
    head    kinds and frames before the programme
    break_until  "next minute" for parts that start on whole minutes, else the frames of a break
    tail    black frames after the programme
    tracks  one mono stream each
    """

    code: str
    name: str
    codec: Codec
    rate: Fraction
    start: str
    acts: tuple[int, ...]
    tracks: tuple[str, ...]
    breaks: int | str = 0
    head: tuple[tuple[str, int], ...] = ()
    tail: int = 0


def on_whole_seconds(*labels: tuple[int, int], drop: bool = True) -> tuple[int, ...]:
    """Frames of acts that start and end on labels of whole seconds after the hour.

    A station that counts whole seconds outward reads exactly the labels' difference then; an act that holds the
    start of a minute is two frames shorter in drop-frame.
    """
    counting = Counting(30, drop)
    return tuple(_frame(counting, end) - _frame(counting, start) for start, end in labels)


def _frame(counting: Counting, second: int) -> int:
    """First frame of a second after the hour: ;02 where the minute drops its first two labels."""
    first = 2 if counting.drop and second % 60 == 0 and second % 600 else 0
    return counting.frame(f"00:{second // 60:02}:{second % 60:02}{';' if counting.drop else ':'}{first:02}")


#: Bars and tone, slate, countdown, black with the sync blip six frames before the programme.
_FULL_HEAD = (("bars", 180), ("slate", 60), ("countdown", 30), ("black", 24), ("blip", 1), ("black", 5))

FORMS = {
    form.code: form
    for form in (
        OutletForm(
            "corvane-5-mini", "BRLN_0{episode}_CRV_HD_v01", MPEG2, NTSC, "01:00:00;00",
            on_whole_seconds((0, 32), (33, 65), (66, 99), (100, 132)), (*_PAIR, *["silent"] * 6), breaks=30,
        ),
        OutletForm(
            "meadowline-public-mini", "BRLN-{episode}-MDP_02m40", PRORES, NTSC, "00:59:50;00", (4814,),
            (*_PAIR, "described", "mono"), head=_FULL_HEAD,
        ),
        OutletForm(
            "velmark-kanal-mini", "brln_s02e{number:02}_velmark_1080i25_v1", AVC_INTRA, PAL, "09:59:57:00", (169 * 25,),
            (*_PAIR, *_MUSIC, *["silent"] * 4), head=(("clock", 50), ("black", 25)), tail=15,
        ),
        OutletForm(
            "tidewold-one-mini", "TWBRLN{episode}A01_P", AVC_INTRA, PAL, "10:00:00:00", (44 * 25, 44 * 25, 45 * 25),
            (*_PAIR, *_MUSIC, *["silent"] * 12), breaks="next minute",
        ),
        OutletForm(
            "kerrawind-mini", "BRLN{episode}KW", PRORES, PAL, "10:00:00:00", (33 * 25,) * 4, (*_PAIR, *_MUSIC),
            breaks=25,
        ),
        OutletForm(
            "hoshinami-net-mini", "BRLN0{episode}HSN01", MPEG2, NTSC, "01:00:00;00", (2158, 2158), (*_PAIR, *_MUSIC),
            breaks=30,
        ),
    )
}  # fmt: skip

#: Corvane's own half-hour, for timing: 21:30;00 in four acts, ten seconds of black between them.
FULL = OutletForm(
    "corvane-5", "BRLN_0{episode}_CRV_HD_v01", MPEG2_50, NTSC, "01:00:00;00",
    on_whole_seconds((0, 330), (340, 640), (650, 990), (1000, 1320)), (*_PAIR, *["silent"] * 6), breaks=300,
)  # fmt: skip
