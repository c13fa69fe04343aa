"""Headers as JSON and back."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

from qc.measurement.header import Header, HeaderError, from_dict, to_dict
from qc.measurement.record import Event, FileIdentity
from qc.media.facts import FileFacts, PictureStream, SoundStream, TimecodeSource

PICTURE = PictureStream(
    index=0, codec="MPEG-2", profile="4:2:2", level=None, fourcc=None, bit_rate=50_000_000, width=1920, height=1080,
    sample_aspect=Fraction(1), display_aspect=Fraction(16, 9), clean_aperture=(4, 0, 1912, 1080), rotation=0,
    frame_rate=Fraction(30000, 1001), declared_frames=38662, time_base=Fraction(1001, 30000), start=Fraction(0),
    duration=Fraction(38662 * 1001, 30000), scan_by_container=None, scan_by_stream="interlaced, top first",
    pixel_format="yuv422p", chroma="4:2:2", bit_depth=8, alpha=False, colour_range="narrow", colour_primaries=None,
    colour_transfer=None, colour_matrix=None,
)  # fmt: skip
SOUND = SoundStream(
    index=1, codec="PCM", channels=2, layout="stereo", labels=("L", "R"), language=None, title="Mix \udcff ünï",
    rate=48000, sample_format="s24", bit_depth=24, bit_rate=None, start=None, duration=Fraction(1, 3),
)  # fmt: skip
FACTS = FileFacts(
    wrapper="MXF", brand=None, operational_pattern="OP1a", extension_agrees=True, duration=None, bit_rate=None,
    pictures=(PICTURE,), sounds=(SOUND,), others=(),
    timecodes=(TimecodeSource("material package", "01:00:00;00", True),),
    tags={"title": "Tidewater <1>"},
)  # fmt: skip
HEADER = Header(
    identity=FileIdentity("a.mxf", 12, None, "ab"),
    facts=FACTS,
    events=(Event("timestamp gap", 0, 17, Fraction(17 * 1001, 30000), 3, "…"),),
    complete=False,
    incomplete_because="early end",
    tool_version="0.1.0",
    meters_version=1,
    libraries={"av": "1"},
)


def test_a_header_comes_back_as_it_was() -> None:
    """Every field survives JSON, fractions exactly, odd text included."""
    assert from_dict(Header, json.loads(json.dumps(to_dict(HEADER)))) == HEADER


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (lambda plain: plain.pop("complete"), "complete"),
        (lambda plain: plain.update(odd=1), "odd"),
        (lambda plain: plain.update(complete="yes"), "complete"),
        (lambda plain: plain["facts"]["pictures"][0].update(frame_rate="30000/0"), "frame_rate"),
        (lambda plain: plain["facts"]["pictures"][0].update(clean_aperture=[1, 2]), "clean_aperture"),
        (lambda plain: plain["facts"].update(pictures=None), "pictures"),
        (lambda plain: plain.update(libraries=[]), "libraries"),
        (lambda plain: plain.update(events=[7]), r"events\[0\]"),
        (lambda plain: plain.update(meters_version=1.5), "meters_version"),
    ],
)
def test_a_header_that_does_not_fit_is_refused_by_name(change, named: str) -> None:  # type: ignore[no-untyped-def]
    """Nothing read from disk is taken on trust; the error names the place."""
    plain = json.loads(json.dumps(to_dict(HEADER)))
    change(plain)
    with pytest.raises(HeaderError, match=named):
        from_dict(Header, plain)
