"""The page that ``qc probe`` prints: 80 columns, nothing guessed, nothing dangerous."""

from __future__ import annotations

import dataclasses
from fractions import Fraction

from qc.media.facts import FileFacts, OtherStream, PictureStream, SoundStream, TimecodeSource
from qc.report.facts_text import WIDTH, facts_text

PICTURE = PictureStream(
    index=0,
    codec="MPEG-2",
    profile="4:2:2",
    level="High",
    fourcc=None,
    bit_rate=50_000_000,
    width=1920,
    height=1080,
    sample_aspect=Fraction(1),
    display_aspect=Fraction(16, 9),
    clean_aperture=(0, 0, 1920, 1080),
    rotation=0,
    frame_rate=Fraction(30000, 1001),
    declared_frames=38662,
    time_base=Fraction(1001, 30000),
    start=Fraction(0),
    duration=38662 * Fraction(1001, 30000),
    scan_by_container="interlaced, top first",
    scan_by_stream=None,
    pixel_format="yuv422p",
    chroma="4:2:2",
    bit_depth=8,
    alpha=False,
    colour_range="narrow",
    colour_primaries="BT.709",
    colour_transfer="BT.709",
    colour_matrix="BT.709",
)


def mono(index: int, language: str | None = None) -> SoundStream:
    return SoundStream(
        index, "PCM", 1, None, ("",), language, None, 48000, "s24", 24, 1_152_000, Fraction(0), Fraction(1290)
    )


FACTS = FileFacts(
    wrapper="MXF",
    brand=None,
    operational_pattern="OP1a",
    extension_agrees=True,
    duration=38662 * Fraction(1001, 30000),
    bit_rate=59_000_000,
    pictures=(PICTURE,),
    sounds=tuple(mono(index) for index in range(1, 9)),
    others=(OtherStream(9, "data", "ancillary data (ST 436)", None, None),),
    timecodes=(TimecodeSource("material package", "01:00:00;00", True),),
    index_present=True,
    tags={"header partition": "closed, complete"},
)

PAGE = """\
BRLN_0206_CRV_HD_v01.mxf
  Wrapper     MXF OP1a
  Length      0:21:30.022 (h:mm:ss.mmm)
  Bit rate    59.00 Mb/s
  Closed      footer present; header closed, complete
  Timecode    01:00:00;00  drop-frame  (material package)

Picture (stream 0)
  Codec       MPEG-2, profile 4:2:2, level High
  Bit rate    50.00 Mb/s
  Raster      1920x1080, pixels 1:1, picture 16:9
  Aperture    full
  Frame rate  29.970 frames a second (30000/1001)
  Length      0:21:30.022 (h:mm:ss.mmm), 38662 frames
  Scan        interlaced, top first (wrapper); not said (stream)
  Samples     4:2:2, 8 bits (yuv422p)
  Colour      BT.709; range narrow

Sound
  Ch 1 to 8   8 streams, 1 to 8, each: 1 channel, layout not said, PCM 48000 Hz,
              24 bits (s24), language not said, 1.15 Mb/s, 0:21:30.000

Other streams
  Stream 9    data, ancillary data (ST 436)
"""


def test_the_page_is_as_kept() -> None:
    """The whole page of an ordinary delivery, as a person reads it."""
    assert facts_text("BRLN_0206_CRV_HD_v01.mxf", FACTS) == PAGE


def test_unlike_streams_get_rows_of_their_own() -> None:
    """Channel numbers run through all streams; alike neighbours are one row."""
    facts = dataclasses.replace(FACTS, sounds=(mono(1, "eng"), mono(2, "eng"), mono(3, "fra")))
    page = facts_text("x.mxf", facts)

    assert "Ch 1 to 2   2 streams, 1 to 2, each" in page
    assert "Channel 3   stream 3" in page


def test_timecodes_that_differ_are_pointed_out() -> None:
    """Both are shown, and which one is used."""
    other = TimecodeSource("source package", "00:00:00;00", True)
    page = facts_text("x.mxf", dataclasses.replace(FACTS, timecodes=(*FACTS.timecodes, other)))

    assert "these do not agree; the first is used to name places" in page


def test_hostile_words_stay_harmless_and_lines_short() -> None:
    """Control characters of names and tags are shown, not sent; no line is wider than the page."""
    evil = dataclasses.replace(PICTURE, profile="\x1b]0;x\x07" + "y" * 300, fourcc="\r\n\x00a")
    sound = dataclasses.replace(mono(1), title="\x1b[2J" + "word " * 60, language="\u202eabc")
    facts = dataclasses.replace(
        FACTS,
        pictures=(evil,),
        sounds=(sound,),
        timecodes=(TimecodeSource("tag of the file", "\x1b[1m", None),),
        edit_list="\n" * 5,
    )
    page = facts_text("\x1b[31m\n" + "n" * 250 + ".mxf", facts)

    assert not any(ord(mark) < 32 and mark != "\n" for mark in page)
    assert "\u202e" not in page
    assert all(len(line) <= WIDTH for line in page.splitlines())


def test_a_stem_without_picture_says_none() -> None:
    """No picture, no timecode, no sound: said in words."""
    page = facts_text("x.wav", dataclasses.replace(FACTS, pictures=(), sounds=(), timecodes=(), others=()))

    assert "Picture\n  none" in page
    assert "Sound\n  none" in page
    assert "Timecode    none" in page
