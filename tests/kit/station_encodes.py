"""The encodes that stations get, of the one short programme: wrapper, codec, depth, rate and scan of each.

Those that allow any raster are small; AVC-Intra and DNxHD have rasters of their own. Bit rates are those of the trade
for the raster (from memory), more than that per pixel where it is small.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from pathlib import Path

from tests.kit.render import render
from tests.kit.short_programme import Plan, as_bytes, pictures

SMALL, HD_720, HD_1080 = (640, 360), (1280, 720), (1920, 1080)
RATES = {"23.976": "24000/1001", "25": "25", "29.97": "30000/1001", "59.94": "60000/1001"}
FIELDS = {"progressive": "prog", "top first": "tff", "bottom first": "bff"}
TAGS = "setparams=color_primaries=bt709:color_trc=bt709:colorspace=bt709:range=limited"
TAGGED = ("-color_primaries", "bt709", "-color_trc", "bt709", "-colorspace", "bt709")


@dataclass(frozen=True)
class Encode:
    """One version. ``pixels`` is what the encoder is given; ``codec`` its FFmpeg options."""

    name: str
    rate: str
    scan: str
    pixels: str
    codec: tuple[str, ...]
    size: tuple[int, int] = SMALL

    @property
    def frame_rate(self) -> Fraction:
        return Fraction(RATES[self.rate])

    @property
    def plan(self) -> Plan:
        return Plan() if self.frame_rate < Plan().gap else Plan(ceil(self.frame_rate) + 2)

    @property
    def interlaced(self) -> bool:
        return self.scan != "progressive"


_FIELDS = ("-flags:v", "+ildct+ilme")
_MPEG2 = ("-c:v", "mpeg2video", "-profile:v", "0", "-level:v", "2", "-b:v", "6M", "-maxrate", "6M", "-bufsize", "2M",
          "-bf", "2", *_FIELDS)  # fmt: skip
_AVC_INTRA = ("-c:v", "libx264", "-preset", "ultrafast", "-avcintra-class", "100")
_AVC = ("-c:v", "libx264", "-preset", "veryfast", "-crf", "18", "-g", "50")
_HEVC = ("-c:v", "libx265", "-preset", "ultrafast", "-crf", "16", "-x265-params", "log-level=error")
_PRORES = ("-vendor", "apl0", "-profile:v")

ENCODES = (
    Encode("mpeg2-25i.mxf", "25", "top first", "yuv422p", (*_MPEG2, "-g", "12")),
    Encode("mpeg2-2997i.mxf", "29.97", "top first", "yuv422p", (*_MPEG2, "-g", "15")),
    Encode("prores-hq-25i.mov", "25", "top first", "yuv422p10le",
           ("-c:v", "prores_ks", *_PRORES, "3", "-flags:v", "+ildct")),
    Encode("prores-hq-23976p.mov", "23.976", "progressive", "yuv422p10le", ("-c:v", "prores", *_PRORES, "3")),
    Encode("prores-2997i-bottom.mov", "29.97", "bottom first", "yuv422p10le",
           ("-c:v", "prores", *_PRORES, "2", "-flags:v", "+ildct")),
    Encode("dnxhr-hqx-25p.mxf", "25", "progressive", "yuv422p10le", ("-c:v", "dnxhd", "-profile:v", "dnxhr_hqx")),
    Encode("dnxhd-25i.mxf", "25", "top first", "yuv422p", ("-c:v", "dnxhd", "-b:v", "120M", *_FIELDS), HD_1080),
    Encode("dnxhd-5994p.mxf", "59.94", "progressive", "yuv422p", ("-c:v", "dnxhd", "-b:v", "145M"), HD_720),
    Encode("avc-intra-2997i.mxf", "29.97", "top first", "yuv422p10le",
           (*_AVC_INTRA, "-x264opts", "interlaced=1:tff=1"), HD_1080),
    Encode("avc-intra-5994p.mxf", "59.94", "progressive", "yuv422p10le", _AVC_INTRA, HD_720),
    Encode("avc-25p.mp4", "25", "progressive", "yuv420p", _AVC),
    Encode("avc-25i-bottom.mp4", "25", "bottom first", "yuv420p", (*_AVC, *_FIELDS, "-x264opts", "bff=1")),
    Encode("hevc-5994p.mp4", "59.94", "progressive", "yuv420p10le", _HEVC),
    Encode("hevc-23976p.mp4", "23.976", "progressive", "yuv420p", _HEVC),
)  # fmt: skip


def encoded(folder: Path, encode: Encode) -> Path:
    """The file, rendered once; those of the common raster from one lossless copy for each scan."""
    field = f"setfield={FIELDS[encode.scan]},setsar=1,{TAGS}"
    pixels = f"scale=sws_dither=none:interl={int(encode.interlaced)},format={encode.pixels}"
    output = [*encode.codec, *TAGGED, "-r", RATES[encode.rate], "-threads", "2"]
    if encode.size != SMALL or encode.plan != Plan():
        chain = f"{pixels},{field}"
        source = _raw(encode.size, RATES[encode.rate])
        feed = as_bytes(pictures(encode.plan, encode.size, encode.scan))
        return render(folder / encode.name, [*source, "-vf", chain, *output], feed=feed)
    chain = f"setpts=N/({RATES[encode.rate]})/TB,{pixels},{field}"
    return render(folder / encode.name, ["-i", str(lossless(folder, encode.scan)), "-vf", chain, *output])


def lossless(folder: Path, scan: str, size: tuple[int, int] = SMALL) -> Path:
    """The programme as it was composed, at 25 frames a second."""
    feed = as_bytes(pictures(Plan(), size, scan))
    chain = f"setfield={FIELDS[scan]},setsar=1,{TAGS}"
    path = folder / f"short-programme-{FIELDS[scan]}-{size[0]}x{size[1]}.mkv"
    return render(path, [*_raw(size, "25"), "-vf", chain, "-c:v", "ffv1", "-threads", "2"], feed=feed)


def _raw(size: tuple[int, int], rate: str) -> list[str]:
    return ["-f", "rawvideo", "-pix_fmt", "yuv422p10le", "-s", f"{size[0]}x{size[1]}", "-r", rate, "-i", "pipe:0"]
