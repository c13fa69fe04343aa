"""A made verdict with everything that a report can show: curves, a mixer's table, fixes with consequences, stills."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import cv2
import numpy as np

from qc.judge.mix import MixRow, MixSheet
from qc.judge.timeline import Curve, GroupCurves, Part, Timeline
from qc.judge.verdict import Finding, Outcome, Verdict, Waiver
from qc.programme.place import Area
from qc.remedy.fix import Consequence, Fix, Room, Window
from qc.report.still import Still
from qc.timing.spans import Span
from tests.kit import verdicts
from tests.kit.verdicts import ACTS, CLOCK, DROP, finding, place

FRAMES = 39300

#: The frames that the made findings show: a black frame with the picture on either side, and a dot in a picture.
BLACK_AT, DOT_AT = 14000, 20000


def curve(name: str, unit: str, level: float, **limits: float | None) -> Curve:
    """Something that goes up and down round ``level`` over the whole file, silent in the breaks."""
    steps = np.arange(FRAMES * 1001 // 3000 + 1)
    values = (level + 3 * np.sin(steps / 90) + 2 * np.sin(steps / 7)).astype(np.float32)
    for before, after in pairwise(ACTS):
        values[before.end * 1001 // 3000 : after.first * 1001 // 3000] = -np.inf
    return Curve(name, values, unit, **limits)


def timeline() -> Timeline:
    short = curve("short-term loudness", "LKFS", -24.0, low=-26.0, target=-24.0, high=-22.0)
    momentary = curve("momentary loudness", "LKFS", -23.0, low=-26.0, target=-24.0, high=-22.0)
    peak = curve("true peak", "dBTP", -6.0, high=-2.0)
    spans: list[tuple[str, str, Span]] = []
    for number, span in enumerate(ACTS, 1):
        spans.append(("act", f"act {number}", span))
        if number < len(ACTS):
            spans.append(("break", f"break {number}", Span(span.end, ACTS[number].first)))
    spans.append(("tail", "tail", Span(ACTS[-1].end, FRAMES)))
    gaps = tuple(span for kind, _, span in spans if kind == "break")
    return Timeline(
        frames=FRAMES,
        rate=30000 / 1001,
        marks=tuple((frame, CLOCK.at(frame)) for frame in (0, 10000, 20000, 30000, FRAMES - 1)),
        parts=tuple(
            Part(kind, name, span, CLOCK.at(span.first), DROP.duration(span.frames)) for kind, name, span in spans
        ),
        black=(*gaps, Span(BLACK_AT, BLACK_AT + 1)),
        silence=gaps,
        short_term=short,
        momentary=momentary,
        true_peak=peak,
        group="stereo mix",
        clock=CLOCK,
        groups=(GroupCurves("stereo mix", (1, 2), short, momentary, peak),),
    )


def mix_row(span: str, first: int, end: int, integrated: float | None, **more: Any) -> MixRow:
    values: dict[str, Any] = {
        "max_short_term": -18.2,
        "max_momentary": -15.4,
        "loudness_range": 6.25,
        "true_peak_dbtp": -3.1,
        "low": -26.0,
        "target": -24.0,
        "high": -22.0,
        "gain": None if integrated is None else round(-24.0 - integrated, 1),
        "accepted": None if integrated is None else -26.05 < integrated < -21.95,
    }
    return MixRow(span, CLOCK.at(first), CLOCK.at(end), integrated, **(values | more))


def mix_sheet(**more: Any) -> MixSheet:
    loudness = (-23.7, -22.04, -27.4, None)
    acts = tuple(
        mix_row(f"act {number}", span.first, span.end, loudness[number - 1], note="" if number < 4 else "silent")
        for number, span in enumerate(ACTS, 1)
    )
    values: dict[str, Any] = {
        "group": "stereo mix",
        "channels": (1, 2),
        "meter": "ITU-R BS.1770-5, gated, true peak 4x oversampled",
        "unit": "LKFS",
        "ceiling": -2.0,
        "rows": (mix_row("programme", ACTS[0].first, ACTS[-1].end, -23.62), *acts),
        "gain": 0.0,
        "window": (-2.3, 1.1),
        "peaks": (),
        "more_peaks": 0,
        "words": "Act 3 is too low: raise it 3.4 dB.",
    }
    return MixSheet(**(values | more))


def findings() -> tuple[Finding, ...]:
    """Those of the plain made verdict, and some that have something to show."""
    gain = Fix(
        "change gain",
        3.4,
        "dB",
        "mix of act 3",
        "Raise the mix of act 3 by 3.4 dB; 2 peaks are then over -2.0 dBTP.",
        {"integrated": -24.0, "true_peak_dbtp": -0.9},
        window=Window(1.4, 5.4),
        peaks=(
            place(21000, within="act 3 +00:00:56;20", channel=1, value=-0.9),
            place(25000, within="act 3 +00:03:10;06", channel=2, value=-1.4),
        ),
        consequences=(
            Consequence("TIDEWOLD ONE", "tidewold-one", False, "2 peaks over -3.0 dBTP"),
            Consequence("MEADOWLINE PUBLIC", "meadowline-public", True, "programme becomes -23.3 LKFS, as asked"),
        ),
    )
    return (
        *verdicts.FINDINGS,
        finding(
            requirement="loudness.act",
            title="Act loudness",
            subject="act 3",
            outcome=Outcome.FAIL,
            measured=-27.4,
            margin=-1.4,
            span="act 3",
            places=(place(ACTS[2].first, ACTS[2].frames, within="act 3 +00:00:00;00"),),
            fix=gain,
        ),
        finding(
            requirement="black.inside_acts",
            check="black",
            title="Black inside an act",
            subject="acts",
            outcome=Outcome.FAIL,
            measured=1,
            limit="5 frames or fewer only as a fade",
            tolerance="",
            margin=-1,
            unit="frames",
            span="each act",
            clause="Exhibit C, 2.7",
            places=(place(BLACK_AT, within="act 2 +00:02:26;24"),),
            fix=Fix("replace", -1, "frames", "act 2", "Close the gap: replace the black frame with picture."),
        ),
        finding(
            requirement="picture.active",
            check="black",
            title="Something to see",
            subject="picture",
            outcome=Outcome.ADVISORY,
            level="should",
            measured="a dot",
            limit="nothing",
            margin=None,
            reason="a dot in the same place of many shots",
            places=(place(DOT_AT, within="act 3 +00:00:23;10", area=Area(0.5, 0.25, 0.02, 0.02)),),
        ),
    )


def whole_verdict(**more: Any) -> Verdict:
    values = {"findings": findings(), "timeline": timeline(), "mixes": (mix_sheet(),)}
    return verdicts.verdict(**(values | more))


def jpeg(width: int = 480, height: int = 270, seed: int = 1) -> bytes:
    """A picture with some detail, as small a JPEG as stills are."""
    across = np.linspace(0, 200, width)[None, :] + np.linspace(0, 55, height)[:, None]
    noise = np.random.default_rng(seed).normal(0, 6, (height, width))
    written, data = cv2.imencode(
        ".jpg", np.clip(across + noise, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 80]
    )
    assert written
    return bytes(data)


def stills() -> dict[int, Still]:
    """The frame before the black, the black one; the one after it could not be decoded; the dot."""
    shown = {frame: Still(frame, jpeg(seed=frame), 480, 270) for frame in (BLACK_AT - 1, BLACK_AT, DOT_AT)}
    return shown | {BLACK_AT + 1: Still(BLACK_AT + 1, None, reason="the packet is damaged")}


#: A word that must not leave the house, with a number for the field that it stands in.
SECRET = "xyzzy"


def secretive_verdict() -> Verdict:
    """Every internal field of a verdict holds SECRET: paths, other outlets, who waived why, fixes, options."""
    path = f"/srv/{SECRET}1/BRLN season 2/take.mxf"
    elsewhere = Consequence(f"{SECRET}2 ONE", f"{SECRET}3-one", False, f"{SECRET}4 over", {f"{SECRET}5": 1.0})
    fix = Fix(
        f"{SECRET}6",
        1.0,
        "dB",
        f"{SECRET}7",
        f"Ask {SECRET}8 to do it.",
        {f"{SECRET}9_dbtp": 1.0},
        window=Window(0.0, 1.0),
        peaks=(place(15000, note=f"{SECRET}10", within=f"{SECRET}11"),),
        more_peaks=3,
        room=(Room(f"{SECRET}12", 10),),
        no_export=True,
        consequences=(elsewhere,),
    )
    reasons = (
        f"two sources disagree in {path}; give one with --{SECRET}13",
        f"Give another sheet, {SECRET}14.",
        f"as it was for {SECRET}2 ONE",
        f"kept in C:\\{SECRET}15\\house\\take.mxf, file:///mnt/{SECRET}16/a/take.mxf and ~/{SECRET}17/take.mxf",
        rf"on \\{SECRET}18\masters\take.mxf",
    )
    waiver = Waiver(f"{SECRET}19, Fernhatch Pictures", f"{SECRET}20 said so", "2026-12-31")
    stuffed = tuple(
        replace(
            each,
            fix=fix,
            reason=reasons[number % len(reasons)],
            waiver=waiver if each.outcome is Outcome.WAIVED else None,
            places=tuple(replace(one, note=f"see --{SECRET}21") for one in each.places),
        )
        for number, each in enumerate(findings())
    )
    base = whole_verdict()
    rows = tuple(replace(row, note=f"listen to {SECRET}22") for row in mix_sheet().rows)
    return replace(
        base,
        file=f"{SECRET}23/{verdicts.NAME}",
        profile=replace(base.profile, file=f"{SECRET}24.toml"),
        findings=stuffed,
        programme=replace(base.programme, note=f"from {path}; give --{SECRET}25"),
        cautions=(*base.cautions, f"{SECRET}2 ONE wants more"),
        timeline=replace(timeline(), no_parts=f"give --{SECRET}26", no_curves=path),
        mixes=(mix_sheet(rows=rows, words=f"{SECRET}27", peaks=(place(15000, note=f"{SECRET}28"),)),),
    )
