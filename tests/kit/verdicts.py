"""Made verdicts: one of everything a report has to show, on the invented series and outlets of the demo."""

from __future__ import annotations

from datetime import UTC, datetime
from fractions import Fraction
from itertools import pairwise
from typing import Any

from qc.judge.verdict import (
    ActRow,
    BreakRow,
    Finding,
    Outcome,
    Place,
    ProfileIdentity,
    ProgrammeTable,
    Verdict,
    Waiver,
)
from qc.measurement.record import Event
from qc.media.facts import FileFacts, OtherStream, PictureStream, SoundStream, TimecodeSource
from qc.remedy.fix import Fix
from qc.report.media_file import MediaFile
from qc.report.run import RunBlock
from qc.timing.spans import Span
from qc.timing.timecode import Clock, Counting

RATE = Fraction(30000, 1001)
DROP = Counting(30, drop=True)
CLOCK = Clock(RATE, DROP, DROP.frame("01:00:00;00"))
NAME = "BRLN_0203_CRV_HD_v01.mxf"

#: Title tag, file name and outlet name that try to break out of every format a report is written in.
HOSTILE = "\"><script>alert('x')</script>{{ 7*7 }}{% raw %}\u202egpj.exe\x1b[31m\n=cmd()&amp;"

PROFILE = ProfileIdentity(
    name="CORVANE 5",
    code="corvane-5",
    file="corvane-5.toml",
    sha256="5f" * 32,
    specification="CORVANE Technical Exhibit C, 1 March 2026",
    revision="4",
)

RUN = RunBlock(
    version="0.0.0",
    python="3.11.0",
    libraries={"av": "14.0.0", "libavcodec": "61.19.100", "numpy": "2.0.0"},
    started="2026-01-02T03:04:05+00:00",
    finished="2026-01-02T03:14:05+00:00",
    options={"fresh": False, "outlet": ["corvane-5"], "strict": False},
)

ACTS = (Span(0, 9300), Span(9600, 19000), Span(19300, 31957), Span(32257, 39000))


def place(first: int, frames: int = 1, **more: Any) -> Place:
    """A place on the made clock (29.97 drop-frame from 01:00:00;00)."""
    return Place(
        span=Span(first, first + frames),
        timecode=CLOCK.at(first),
        until=CLOCK.at(first + frames),
        offset=CLOCK.offset(first),
        **more,
    )


def finding(**more: Any) -> Finding:
    """A passing finding, changed as the test needs."""
    values: dict[str, Any] = {
        "requirement": "loudness.programme",
        "check": "integrated-loudness",
        "title": "Integrated loudness",
        "subject": "programme",
        "outcome": Outcome.PASS,
        "level": "must",
        "measured": -23.6154,
        "limit": "-24.0 LKFS +/- 2.0",
        "tolerance": "+/- 2.0 LU",
        "margin": 1.6154,
        "unit": "LKFS",
        "span": "programme, acts joined",
        "clause": "Exhibit C, 4.1",
        "source": "ITU-R BS.1770-5, Annex 1; ATSC A/85:2013, 7.1",
    }
    return Finding(**(values | more))


FINDINGS = (
    finding(),
    finding(
        requirement="loudness.act",
        title="Integrated loudness",
        subject="act 2",
        measured=-22.04,
        margin=0.04,
        at_limit=True,
        span="act 2",
    ),
    finding(
        requirement="true_peak.programme",
        check="true-peak",
        title="True peak",
        outcome=Outcome.FAIL,
        measured=-1.4046,
        limit="at most -2.0 dBTP",
        tolerance="",
        margin=-0.5954,
        unit="dBTP",
        clause="Exhibit C, 4.2",
        source="ITU-R BS.1770-5, Annex 2",
        places=tuple(
            place(
                9600 + 4830 + 97 * step, within=f"act 2 +00:02:{41 + 3 * step};05", channel=2, value=-1.4046 - step / 10
            )
            for step in range(5)
        ),
        more_places=14,
        fix=Fix(
            "change gain",
            -0.6,
            "dB",
            "stereo mix",
            "Lower the stereo mix by 0.6 dB, or limit these peaks to -2.0 dBTP.",
            {"integrated_lkfs": -24.2154, "true_peak_dbtp": -2.0046},
        ),
    ),
    finding(
        requirement="structure.act.3",
        check="act-length",
        title="Act length",
        subject="act 3",
        outcome=Outcome.FAIL,
        measured="00:07:02;09",
        limit="at most 00:06:48;00",
        tolerance="",
        margin=-429,
        unit="frames",
        span="act 3",
        clause="Exhibit C, 2.3",
        source="",
        places=(place(19300, 12657, within="act 3"),),
        fix=Fix(
            "shorten",
            -429.0,
            "frames",
            "act 3",
            "Take 429 frames (00:00:14;09) out of act 3; act 4 has room for 630 frames.",
        ),
    ),
    finding(
        requirement="timecode.start",
        check="start-timecode",
        title="Start of programme",
        subject="file",
        outcome=Outcome.FAIL,
        level="must",
        measured="00:59:59;28",
        limit="01:00:00;00",
        tolerance="",
        margin=None,
        unit="",
        span="file",
        clause="",
        source="SMPTE ST 12-1:2014",
        reason="two timecode sources disagree; the timecode track is used here",
        fix=Fix("re-flag", None, "", "file", "Re-flag the start timecode; the picture stays as it is.", {}),
    ),
    finding(
        requirement="integrity.decodable",
        check="integrity",
        title="Complete and decodable",
        subject="file",
        outcome=Outcome.FAIL,
        measured=3,
        limit="0 errors",
        tolerance="",
        margin=-3.0,
        unit="errors",
        span="file",
        clause="Exhibit C, 1.1",
        source="",
        places=(place(1200, 2, note="2 packets could not be decoded"), place(4000, note="damaged packet")),
        fix=Fix("re-export", None, "", "file", "Export again and copy with a checksum; the file is damaged.", {}),
    ),
    finding(
        requirement="silence.inside_acts",
        check="silence",
        title="Silence inside acts",
        subject="stereo mix",
        outcome=Outcome.NOT_MEASURED,
        measured=None,
        limit="at most 2 s below -60 dBFS",
        tolerance="",
        margin=None,
        unit="",
        span="acts",
        clause="Exhibit C, 4.6",
        source="",
        reason="the sound stops at 01:14:02;11, before act 4 ends",
    ),
    finding(
        requirement="loudness.range",
        check="loudness-range",
        title="Loudness range",
        outcome=Outcome.NOT_MEASURED,
        level="should",
        measured=None,
        limit="at most 18.0 LU",
        margin=None,
        unit="LU",
        clause="",
        source="EBU Tech 3342, 2023",
        reason="the span is shorter than 3 s",
    ),
    finding(
        requirement="picture.clean_aperture",
        check="clean-aperture",
        title="Clean aperture",
        subject="picture",
        outcome=Outcome.ADVISORY,
        level="should",
        measured="1888x1062",
        limit="full",
        tolerance="",
        margin=None,
        unit="",
        span="file",
        clause="Exhibit C, 3.4",
        source="",
        reason="look whether the outlet's player crops to it",
    ),
    finding(
        requirement="black.inside_acts",
        check="black",
        title="Black inside acts",
        subject="act 4",
        outcome=Outcome.WAIVED,
        measured=20,
        limit="at most 12 frames",
        tolerance="",
        margin=-8,
        unit="frames",
        span="acts",
        clause="Exhibit C, 2.7",
        source="",
        places=(place(35000, 20, within="act 4 +00:01:31;13"),),
        waiver=Waiver("R. Ashgrove, Fernhatch Pictures", "designed fade to black before the last scene", "2026-12-31"),
    ),
    finding(
        requirement="wrapper.kind",
        check="wrapper",
        title="Wrapper",
        subject="file",
        measured="MXF OP1a",
        limit="MXF OP1a",
        tolerance="",
        margin=None,
        unit="",
        span="file",
        clause="Exhibit C, 1.2",
        source="SMPTE ST 378:2004",
    ),
    finding(
        requirement="structure.break_length",
        check="break-length",
        title="Break length",
        subject="break 1",
        measured=300,
        limit="00:00:10;00 exactly",
        tolerance="+/- 0 frames",
        margin=0,
        unit="frames",
        span="break 1",
        clause="Exhibit C, 2.4",
        source="",
    ),
)


def programme() -> ProgrammeTable:
    loudness = (-23.71, -22.04, -24.5, None)
    acts = tuple(
        ActRow(
            number=number,
            som=CLOCK.at(span.first),
            eom=CLOCK.at(span.end),
            duration=DROP.duration(span.frames),
            frames=span.frames,
            span=span,
            integrated=loudness[number - 1],
            max_short_term=None if number == 4 else -19.125 + number,
            loudness_range=None if number == 4 else 6.25,
            true_peak_dbtp=-1.4046 if number == 2 else -3.0 - number,
        )
        for number, span in enumerate(ACTS, 1)
    )
    gaps = [Span(before.end, later.first) for before, later in pairwise(ACTS)]
    breaks = tuple(
        BreakRow(number, CLOCK.at(gap.first), DROP.duration(gap.frames), gap.frames, gap, CLOCK.at(gap.end))
        for number, gap in enumerate(gaps, 1)
    )
    total = sum(span.frames for span in ACTS)
    return ProgrammeTable(
        found_by="black and silence in the picture",
        note="",
        head=Span(0, 0),
        acts=acts,
        breaks=breaks,
        tail=Span(39000, 39300),
        trt="00:21:12;00",
        trt_frames=total,
        trt_other_accounting=DROP.duration(total),
        accounting="whole-second outward",
        eom="exclusive",
        counting="drop-frame",
    )


def verdict(**more: Any) -> Verdict:
    """A failing verdict with every outcome in it."""
    values: dict[str, Any] = {
        "file": NAME,
        "profile": PROFILE,
        "outcome": Outcome.FAIL,
        "measurable": False,
        "findings": FINDINGS,
        "programme": programme(),
        "not_covered": ("608 and 708 captions (Exhibit C, 5)", "Slate text (Exhibit C, 2.1)"),
        "cautions": (
            "Flashing images are not screened here. Have the programme tested with an accredited method where the "
            "outlet or local rules ask for it.",
        ),
    }
    return Verdict(**(values | more))


def passing_verdict(**more: Any) -> Verdict:
    """A verdict in which everything passes."""
    passes = tuple(item for item in FINDINGS if item.outcome == Outcome.PASS)
    return verdict(**({"outcome": Outcome.PASS, "measurable": True, "findings": passes} | more))


def nothing_found(reason: str = "breaks are not visible; a timing sheet is needed") -> ProgrammeTable:
    """The table of a file in which no acts could be told."""
    nowhere = Span(0, 0)
    return ProgrammeTable(
        found_by="",
        note=reason,
        head=nowhere,
        acts=(),
        breaks=(),
        tail=nowhere,
        trt="",
        trt_frames=0,
        trt_other_accounting="",
        accounting="frame-exact",
        eom="exclusive",
        counting="drop-frame",
    )


def hostile_verdict() -> Verdict:
    """Every text that can come from outside tries to break out of the format it is written into."""
    item = finding(
        title=HOSTILE,
        subject=HOSTILE,
        outcome=Outcome.FAIL,
        measured=HOSTILE,
        margin=None,
        limit=HOSTILE,
        tolerance=HOSTILE,
        clause=HOSTILE,
        source=HOSTILE,
        span=HOSTILE,
        reason=HOSTILE,
        places=(place(10, within=HOSTILE, note=HOSTILE),),
        fix=Fix(HOSTILE, None, "", HOSTILE, HOSTILE, {HOSTILE: 1.0}),
        waiver=Waiver(HOSTILE, HOSTILE, HOSTILE),
    )
    outlet = ProfileIdentity(HOSTILE, HOSTILE, HOSTILE, HOSTILE, HOSTILE, HOSTILE)
    return verdict(
        file=HOSTILE,
        profile=outlet,
        findings=(item,),
        programme=nothing_found(HOSTILE),
        not_covered=(HOSTILE,),
        cautions=(HOSTILE,),
    )


def facts(title: str = "Rain Barrel Row") -> FileFacts:
    """Headers of a 29.97 interlaced MPEG-2 file in MXF with two mono streams."""
    picture = PictureStream(
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
        clean_aperture=None,
        rotation=0,
        frame_rate=RATE,
        declared_frames=39300,
        time_base=1 / RATE,
        start=Fraction(0),
        duration=39300 / RATE,
        scan_by_container="interlaced, top first",
        scan_by_stream="interlaced, top first",
        pixel_format="yuv422p",
        chroma="4:2:2",
        bit_depth=8,
        alpha=False,
        colour_range="narrow",
        colour_primaries="BT.709",
        colour_transfer="BT.709",
        colour_matrix="BT.709",
    )
    sounds = tuple(
        SoundStream(
            index=number,
            codec="PCM",
            channels=1,
            layout="mono",
            labels=("",),
            language="eng",
            title=title,
            rate=48000,
            sample_format="s24",
            bit_depth=24,
            bit_rate=1_152_000,
            start=Fraction(0),
            duration=39300 / RATE,
        )
        for number in (1, 2)
    )
    return FileFacts(
        wrapper="MXF",
        brand=None,
        operational_pattern="OP1a",
        extension_agrees=True,
        duration=39300 / RATE,
        bit_rate=53_000_000,
        pictures=(picture,),
        sounds=sounds,
        others=(OtherStream(3, "timecode", "SMPTE ST 12", None, None),),
        timecodes=(TimecodeSource("material package", "01:00:00;00", True),),
        index_present=True,
        tags={"title": title, "series": "Brindlewick Lane"},
    )


def media(**more: Any) -> MediaFile:
    """The media file of the made verdicts."""
    values: dict[str, Any] = {
        "name": NAME,
        "size": 8_123_456_789,
        "sha256": "0123456789abcdef" * 4,
        "facts": facts(),
        "figures": {
            "sound": {
                "group": {"name": "stereo mix", "channels": [1, 2]},
                "integrated_lufs": -23.61539,
                "loudness_range_lu": None,
                "max_momentary_lufs": -16.0,
                "max_short_term_lufs": -18.12345,
                "true_peak_dbtp": -1.40461,
                "reasons": {"loudness_range_lu": "the span is shorter than 3 s"},
            },
            "picture": {
                "frames": 39300,
                "black": [{"first_frame": 9300, "frames": 300, "timecode": "01:05:10;10"}],
                "black_rule": {"pixel_percent": 10.0, "picture_percent": 98.0},
            },
        },
        "events": (Event("damaged packet", 0, 4000, Fraction(4000) / RATE, 1, "slice header broken"),),
        "complete": True,
        "incomplete_because": "",
    }
    return MediaFile(**(values | more))


STARTED = datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)
