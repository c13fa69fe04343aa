"""The head and the run-out against what an outlet asks: layout, bars, tone, blip, what follows the programme.

What an outlet asks here is common practice in its shape (no source) and invented in its numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from itertools import chain
from typing import Any

import numpy as np
import pytest

from qc.judge import judge
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.media.facts import TimecodeSource
from qc.outlets.load import load_base
from tests.judge.test_sound_is_judged_on_the_programme import of, only
from tests.kit.heads import (
    BLACK,
    NTSC,
    SLATE,
    WHITE,
    Picture,
    clock,
    countdown,
    film,
    lavfi,
    picture_series,
    plain,
    put_tone,
    silence,
    sound_series,
    still,
)
from tests.kit.made import SINGLE, Part, facts, loaded, measurement, picture_stream

PROGRAMME = 90
BARS = lavfi("smptehdbars")
LAYOUT = {
    "element": [
        {"shows": "bars and tone", "exact": "60 frames", "tolerance": "1 frame"},
        {"shows": "slate", "exact": "60 frames", "tolerance": "1 frame"},
        {"shows": "countdown", "exact": "30 frames", "tolerance": "1 frame"},
        {"shows": "black", "exact": "30 frames", "tolerance": "1 frame"},
    ]
}
TONE = {"target": -20.0, "tolerance": 0.5, "unit": "dBFS", "convention": "sine peak"}
HERTZ = {"target": 1000, "tolerance": 10, "unit": "Hz"}
BLIP = {"wanted": "required", "before": "6 frames", "tolerance": "1 frame", "max_early_ms": 20, "max_late_ms": 40}


@cache
def moving() -> tuple[Picture, ...]:
    return tuple(film(PROGRAMME))


def blip_black(frames: int = 30, before: int = 6, flash: bool = True) -> Iterable[Picture]:
    return chain(still(BLACK, frames - before), still(WHITE if flash else BLACK, 1), still(BLACK, before - 1))


def head() -> list[Picture]:
    """180 frames as LAYOUT asks for."""
    return [*still(BARS, 60), *still(SLATE, 60), *countdown(30, 3), *blip_black()]


def sounding(
    frames: int, tone: float | None = -20.0, hertz: float = 1000.0, late: float | None = 0.0, count: int = 180
) -> np.ndarray:
    """Tone under 60 frames, and a burst so many milliseconds after the flash six frames before SOM."""
    samples = silence(frames, NTSC)
    if tone is not None:
        put_tone(samples, 0, 60 / NTSC, tone, hertz)
    if late is not None:
        put_tone(samples, float((count - 6) / NTSC) + late / 1000, 1 / NTSC)
    return samples


def judged(
    before: Sequence[Picture],
    samples: np.ndarray | None = None,
    after: Sequence[Picture] = (),
    matrix: str | None = "BT.709",
    programme: Sequence[Picture] | None = None,
    structure: dict[str, Any] | None = None,
    **leader: Any,
) -> Verdict:
    """A file of head, programme and tail, for an outlet that asks this of its leader; SOM is 01:00:00;00."""
    pictures = [*before, *(moving() if programme is None else programme), *after]
    header = facts(
        pictures=(picture_stream(colour_matrix=matrix, height=1080),),
        timecodes=(TimecodeSource("timecode track 3", _label(len(before)), True),),
    )
    sound = sounding(len(pictures)) if samples is None else samples
    made = replace(
        measurement([Part(len(pictures))], header),
        picture=picture_series(pictures, NTSC),
        sound=sound_series(sound),
    )
    asked = {"at": "01:00:00;00"}
    return judge(made, loaded(structure=structure or SINGLE, timecode={"start": asked}, leader=leader))


def _label(frames: int) -> str:
    """Label so many frames before 01:00:00;00, within its last seconds."""
    seconds, rest = divmod(frames, 30)
    return f"00:59:{60 - seconds - (rest > 0)};{(30 - rest) % 30:02}" if frames else "01:00:00;00"


def layout(verdict: Verdict) -> dict[str, Finding]:
    return {finding.subject: finding for finding in of(verdict, "leader.layout")}


def test_a_head_as_asked_passes() -> None:
    """Every element in frames, with its place; the slate beside what it should say, and no claim to have read it."""
    verdict = judged(
        head(), layout=LAYOUT, bars={"accept": ["SMPTE RP 219"]}, tone_level=TONE, tone_frequency=HERTZ, blip=BLIP
    )
    assert {finding.outcome for finding in verdict.findings} == {Outcome.PASS}
    found = layout(verdict)
    assert {name: finding.measured for name, finding in found.items()} == {
        "bars and tone": 60, "slate": 60, "countdown": 30, "black": 30,
    }  # fmt: skip
    slate = found["slate"]
    assert slate.places[0].timecode == "00:59:56;00" and "not read" in slate.reason
    assert "SOM 01:00:00;00" in slate.reason and "00:00:03;00 long" in slate.reason


@pytest.mark.parametrize(("frames", "good"), [(58, False), (59, True), (61, True), (62, False)])
def test_lengths_just_on_each_side(frames: int, good: bool) -> None:
    """60 frames of slate, one more or less accepted."""
    pictures = [*still(BARS, 60), *still(SLATE, frames), *countdown(30, 3), *blip_black()]
    found = layout(judged(pictures, layout=LAYOUT))
    assert (found["slate"].outcome is Outcome.PASS) == good and found["slate"].measured == frames
    assert found["countdown"].outcome is found["black"].outcome is Outcome.PASS
    if not good:
        assert found["slate"].fix is not None and found["slate"].fix.amount == 60 - frames


def test_a_missing_element_fails_once() -> None:
    """No slate: one failure, the others stay judged."""
    found = layout(judged([*still(BARS, 60), *countdown(30, 3), *blip_black()], layout=LAYOUT))
    assert [name for name, finding in found.items() if finding.outcome is Outcome.FAIL] == ["slate"]
    assert found["slate"].measured == "missing" and found["slate"].fix is not None
    assert found["slate"].fix.sentence == "Put in slate 60 frames +/- 1 frame after the bars and tone."


def test_something_nobody_asked_for() -> None:
    """A film between slate and countdown."""
    pictures = [*still(BARS, 60), *still(SLATE, 60), *film(40, 5), *countdown(30, 3), *blip_black()]
    found = layout(judged(pictures, layout=LAYOUT))
    assert found["countdown"].outcome is Outcome.FAIL
    assert "before it stands moving picture (40 frames)" in found["countdown"].reason


def test_bars_without_tone() -> None:
    """The picture is right, the sound is missing; the tone's own limits say so too."""
    verdict = judged(head(), sounding(270, tone=None), layout=LAYOUT, tone_level=TONE, tone_frequency=HERTZ)
    assert layout(verdict)["bars and tone"].outcome is Outcome.FAIL
    assert only(verdict, "leader.tone_level").measured == "no tone"
    assert only(verdict, "leader.tone_frequency").outcome is Outcome.FAIL


def test_what_is_not_recognised_is_not_measured_and_never_passes() -> None:
    """A film where the countdown should be, an unknown test card where the bars should be."""
    pictures = [*still(lavfi("testsrc2"), 60), *still(SLATE, 60), *film(30, 6), *blip_black()]
    verdict = judged(pictures, layout=LAYOUT, bars={"accept": ["SMPTE RP 219"]})
    found = layout(verdict)
    assert found["bars and tone"].outcome is found["countdown"].outcome is Outcome.NOT_MEASURED
    assert "not recognised as countdown" in found["countdown"].reason
    assert only(verdict, "leader.bars").outcome is Outcome.NOT_MEASURED
    assert verdict.outcome is Outcome.FAIL and not verdict.measurable


def test_a_missing_head_is_one_finding() -> None:
    """The file begins with the programme: nothing to list element by element."""
    verdict = judged([], sounding(90, None, late=None), layout=LAYOUT, bars={"accept": ["SMPTE RP 219"]}, blip=BLIP)
    found = only(verdict, "leader.layout")
    assert (found.outcome, found.measured, found.subject) == (Outcome.FAIL, "nothing", "head")
    assert only(verdict, "leader.bars").outcome is Outcome.FAIL
    assert only(verdict, "leader.blip").outcome is Outcome.NOT_MEASURED


@pytest.mark.parametrize("source", ["testsrc2", "smptehdbars", "slate"])
def test_a_programme_that_begins_with_a_card_is_no_head(source: str) -> None:
    """A title that stands still, a test card, bars on a screen: what the programme shows is never taken for a head."""
    card = SLATE if source == "slate" else lavfi(source)
    programme = [*still(card, 60), *moving()]
    samples = sounding(150, late=None)  # and it hums
    verdict = judged([], samples, programme=programme, layout=LAYOUT, tone_level=TONE, blip={"wanted": "forbidden"})
    assert only(verdict, "leader.layout").measured == "nothing"
    assert only(verdict, "leader.tone_level").measured == "no tone"


def test_a_night_scene_is_no_black() -> None:
    """A dark picture with lights where black is asked for."""
    dark = plain(22)[0].copy()
    dark[60:120, 100:220] = 90
    night = [(np.roll(dark, 5 * step, axis=1), *plain(22)[1:]) for step in range(30)]
    pictures = [*still(BARS, 60), *still(SLATE, 60), *countdown(30, 3), *night]
    found = layout(judged(pictures, layout=LAYOUT))
    assert found["black"].outcome is Outcome.FAIL


@pytest.mark.parametrize(
    ("source", "matrix", "outcome", "says"),
    [
        ("smptehdbars", "BT.709", "pass", ""),
        ("smptehdbars", None, "pass", ""),
        ("pal75bars", "BT.709", "fail", "another pattern"),
        ("smptehdbars", "SMPTE 170M", "fail", "codes are those of BT.709"),
    ],
)
def test_bars_by_name_and_matrix(source: str, matrix: str | None, outcome: str, says: str) -> None:
    """The pattern that is asked for, in the matrix that the file is tagged with."""
    pictures = [*still(lavfi(source), 60), *still(BLACK, 30)]
    found = only(judged(pictures, matrix=matrix, bars={"accept": ["SMPTE RP 219"]}), "leader.bars")
    assert found.outcome.value == outcome and says in found.reason


def test_bars_at_wrong_levels_fail() -> None:
    """A tenth less luma: the shape is there, the levels are not."""
    luma, cb, cr = BARS
    dull = (16 + (luma.astype(float) - 16) * 0.9).astype(np.uint8)
    before = [*still((dull, cb, cr), 60)]
    found = only(judged(before, silence(150, NTSC), bars={"accept": ["SMPTE RP 219"]}), "leader.bars")
    assert found.outcome is Outcome.FAIL and "levels off by up to 22 codes" in str(found.measured)


@pytest.mark.parametrize(("level", "outcome"), [(-20.6, "fail"), (-20.5, "pass"), (-19.5, "pass"), (-17.0, "fail")])
def test_tone_level_just_on_each_side(level: float, outcome: str) -> None:
    """-20 +/- 0.5 dBFS, sine peak convention; the other convention stands beside it."""
    found = only(judged(head(), sounding(270, level), tone_level=TONE), "leader.tone_level")
    assert found.outcome.value == outcome and found.measured == pytest.approx(level, abs=0.02)
    assert f"{level - 3.01:.1f} dBFS RMS" in found.reason and "sine peak convention" in found.limit


def test_the_convention_moves_the_level_by_three_decibels() -> None:
    """The same tone is -20.0 as sine peak and -23.0 as RMS (20 log10 of the root of two: 3.01 dB)."""
    found = only(judged(head(), tone_level={**TONE, "convention": "RMS"}), "leader.tone_level")
    assert found.outcome is Outcome.FAIL and found.measured == pytest.approx(-23.01, abs=0.02)


@pytest.mark.parametrize(("hertz", "outcome"), [(988.0, "fail"), (991.0, "pass"), (1009.0, "pass"), (1012.0, "fail")])
def test_tone_frequency_just_on_each_side(hertz: float, outcome: str) -> None:
    """1 kHz within 1 %."""
    found = only(judged(head(), sounding(270, hertz=hertz), tone_frequency=HERTZ), "leader.tone_frequency")
    assert found.outcome.value == outcome and found.measured == pytest.approx(hertz, abs=1)


def test_one_channel_without_tone_and_one_too_loud() -> None:
    """The channel is named; asked for on channel 1 only, the other does not matter."""
    samples = sounding(270)
    samples[: 48000 * 2, 1] = 0
    silent = only(judged(head(), samples, tone_level=TONE), "leader.tone_level")
    assert silent.outcome is Outcome.FAIL and silent.reason == "channel 2 silent under the bars"
    first = only(judged(head(), samples, tone_level={**TONE, "channels": [1]}), "leader.tone_level")
    assert first.outcome is Outcome.PASS
    samples[: 48000 * 2, 1] = 1.5 * samples[: 48000 * 2, 0]
    loud = only(judged(head(), samples, tone_level=TONE), "leader.tone_level")
    assert loud.outcome is Outcome.FAIL and loud.places[0].channel == 2
    beyond = only(judged(head(), samples, tone_level={**TONE, "channels": [7]}), "leader.tone_level")
    assert beyond.outcome is Outcome.NOT_MEASURED and "no channel 7" in beyond.reason


def test_sound_that_is_no_tone_is_not_measured() -> None:
    """Noise under the bars may have been a tone: no pass, and not said to be missing."""
    samples = silence(270, NTSC)
    samples[:96000] = 0.05 * np.random.default_rng(1).standard_normal((96000, 2))
    found = only(judged(head(), samples, tone_level=TONE), "leader.tone_level")
    assert found.outcome is Outcome.NOT_MEASURED and "no steady sine" in found.reason


@pytest.mark.parametrize(
    ("late", "outcome"), [(0, "pass"), (-19, "pass"), (-24, "fail"), (38, "pass"), (45, "fail"), (-40, "fail")]
)
def test_sound_offset_just_on_each_side(late: float, outcome: str) -> None:
    """At most 20 ms early and 40 ms late, known to a millisecond; positive is late sound."""
    place, offset = of(judged(head(), sounding(270, late=late), blip=BLIP), "leader.blip")
    assert place.outcome is Outcome.PASS and place.measured == 6
    assert offset.outcome.value == outcome and offset.unit == "ms"
    assert offset.measured == pytest.approx(late, abs=1)
    assert (offset.fix is None) == (outcome == "pass")


@pytest.mark.parametrize(("before", "outcome"), [(4, "fail"), (5, "pass"), (7, "pass"), (8, "fail")])
def test_place_of_the_blip_just_on_each_side(before: int, outcome: str) -> None:
    """Six frames before SOM, one more or less."""
    pictures = [*head()[:150], *blip_black(before=before)]
    samples = sounding(270, late=None)
    put_tone(samples, float((180 - before) / NTSC), 1 / NTSC)
    place, _ = of(judged(pictures, samples, blip=BLIP), "leader.blip")
    assert place.outcome.value == outcome and place.measured == before


def test_half_a_blip() -> None:
    """A flash without sound, sound without a flash, neither."""
    flash = only(judged(head(), sounding(270, late=None), blip=BLIP), "leader.blip")
    assert flash.outcome is Outcome.FAIL and flash.measured == "a flash without sound"
    dark = [*head()[:150], *blip_black(flash=False)]
    burst = only(judged(dark, blip=BLIP), "leader.blip")
    assert burst.outcome is Outcome.FAIL and burst.measured == "a burst of sound without a flash"
    neither = only(judged(dark, sounding(270, late=None), blip=BLIP), "leader.blip")
    assert neither.outcome is Outcome.FAIL and neither.measured == "missing"


def test_a_forbidden_blip() -> None:
    """Fails with its frame; a stray flash alone is no blip."""
    found = only(judged(head(), blip={"wanted": "forbidden"}), "leader.blip")
    assert found.outcome is Outcome.FAIL and found.places[0].span.first == 174
    assert (
        only(judged(head(), sounding(270, late=None), blip={"wanted": "forbidden"}), "leader.blip").measured == "none"
    )


RUN_OUT = {"accept": ["black"], "max_peak_dbfs": -60.0}


def test_black_and_silence_after_the_programme() -> None:
    """Passes; its length is no concern of this check."""
    found = only(judged([], silence(120, NTSC), [*still(BLACK, 30)], run_out=RUN_OUT), "leader.run_out")
    assert found.outcome is Outcome.PASS and found.measured == "black for 30 frames, silent"


def test_a_flash_or_a_sound_in_the_run_out() -> None:
    """The frame and the channel are named."""
    tail = [*still(BLACK, 15), *still(WHITE, 1), *still(BLACK, 14)]
    flash = only(judged([], silence(120, NTSC), tail, run_out=RUN_OUT), "leader.run_out")
    assert flash.outcome is Outcome.FAIL and flash.places[0].span.first == PROGRAMME + 15
    samples = silence(120, NTSC)
    put_tone(samples, 3.5, 0.1, -30.0)
    loud = only(judged([], samples, [*still(BLACK, 30)], run_out=RUN_OUT), "leader.run_out")
    assert loud.outcome is Outcome.FAIL and loud.places[0].note == "-30.0 dBFS"


def test_no_run_out() -> None:
    """Nothing there fails only where a length is asked for."""
    free = judged([], silence(90, NTSC), run_out=RUN_OUT)
    assert only(free, "leader.run_out").outcome is Outcome.PASS
    asked = judged([], silence(90, NTSC), structure={**SINGLE, "tail": {"min": "10 frames"}}, run_out=RUN_OUT)
    assert only(asked, "leader.run_out").outcome is Outcome.FAIL


def held() -> tuple[list[Picture], np.ndarray]:
    """Forty frames of the last picture in silence, after a programme with sound."""
    samples = silence(PROGRAMME + 40, NTSC)
    put_tone(samples, 0, float(PROGRAMME / NTSC))
    return [*still(moving()[-1], 40)], samples


def test_a_held_picture_is_the_run_out_where_it_is_accepted() -> None:
    """The programme ends where the hold begins; an outlet that wants black takes the hold for programme."""
    tail, samples = held()
    verdict = judged([], samples, tail, run_out={"accept": ["black", "hold"]})
    assert only(verdict, "leader.run_out").measured == "hold for 40 frames"
    assert verdict.programme.trt_frames == PROGRAMME and verdict.programme.tail.frames == 40
    other = judged([], samples, tail, run_out=RUN_OUT)
    assert other.programme.trt_frames == PROGRAMME + 40


def test_a_hold_before_black_counts_with_it() -> None:
    """Held for forty frames, then twenty of black."""
    tail, samples = held()
    samples = np.concatenate([samples, silence(20, NTSC)])
    verdict = judged([], samples, [*tail, *still(BLACK, 20)], run_out={"accept": ["black", "hold"]})
    found = only(verdict, "leader.run_out")
    assert found.outcome is Outcome.PASS and found.measured == "hold for 40 frames, then black for 20 frames"
    assert verdict.programme.tail.frames == 60


def test_a_slow_fade_after_the_end_is_told_once() -> None:
    """Thirty frames of fade, twelve of them after the running time: the TRT fails, the run-out says why."""
    last = moving()[-1]
    fade = [
        ((16 + (last[0].astype(float) - 16) * (1 - step / 30)).astype(np.uint8), *last[1:]) for step in range(1, 31)
    ]
    pictures = [*moving(), *fade]
    header = facts(timecodes=(TimecodeSource("timecode track 3", "01:00:00;00", True),))
    made = replace(
        measurement([Part(150)], header),
        picture=picture_series([*pictures, *still(BLACK, 30)], NTSC),
        sound=sound_series(silence(150, NTSC)),
    )
    whole = judge(made, loaded(structure=SINGLE)).programme.trt_frames
    trt = {"exact": f"{whole - 12} frames"}
    verdict = judge(made, loaded(structure=SINGLE, duration={"trt": trt}, leader={"run_out": RUN_OUT}))
    assert only(verdict, "duration.trt").outcome is Outcome.FAIL
    found = only(verdict, "leader.run_out")
    assert found.outcome is Outcome.PASS and "12 frames of them after the end of the running time" in found.reason


def test_an_older_record_is_not_measured() -> None:
    """A record without small pictures and zero crossings says so and never passes."""
    header = facts(timecodes=(TimecodeSource("timecode track 3", "00:59:59;00", True),))
    made = measurement([Part(30, light=16), Part(90)], header)
    leader = {
        "layout": LAYOUT,
        "bars": {"accept": ["SMPTE RP 219"]},
        "tone_level": TONE,
        "blip": BLIP,
        "run_out": RUN_OUT,
    }
    verdict = judge(made, loaded(structure=SINGLE, timecode={"start": {"at": "01:00:00;00"}}, leader=leader))
    own = [finding for finding in verdict.findings if finding.requirement.startswith("leader.")]
    assert len(own) == 5
    assert {finding.outcome for finding in own} == {Outcome.NOT_MEASURED}
    assert all("--fresh" in finding.reason for finding in own)


def test_a_should_is_an_advisory() -> None:
    """The outlet's level decides how hard it is."""
    found = only(judged(head(), tone_level={**TONE, "target": -18.0, "level": "should"}), "leader.tone_level")
    assert found.outcome is Outcome.ADVISORY


# -- the heads of the bases ---------------------------------------------------------------------------------------


def of_base(base: str, bars: Picture, dbfs: float, matrix: str) -> dict[str, Outcome]:
    """A head with these bars and this tone, in the shape of the base, against its [leader] as it is shipped."""
    profile = load_base(base).profile
    shown = list(countdown(30, 3)) if base == "head-smpte" else list(clock(90, NTSC))
    pictures = [*still(bars, 90), *([*still(SLATE, 60)] if base == "head-smpte" else []), *shown, *blip_black(70, 60)]
    if base == "head-ebu":
        pictures[-60] = BLACK
    samples = silence(len(pictures) + PROGRAMME, NTSC)
    put_tone(samples, 0, 90 / NTSC, dbfs)
    if base == "head-smpte":
        put_tone(samples, float((len(pictures) - 60) / NTSC), 1 / NTSC)
    asked = profile.leader.model_dump(exclude_none=True)
    verdict = judged(pictures, samples, matrix=matrix, **asked)
    outcomes: dict[str, Outcome] = {}
    for finding in verdict.findings:
        if finding.requirement.startswith("leader.") and outcomes.get(finding.requirement) is not Outcome.FAIL:
            outcomes[finding.requirement] = finding.outcome
    return outcomes


#: Bars by FFmpeg's own sources: smptehdbars is RP 219, pal75bars is 100/0/75/0.
HEADS = {"head-smpte": ("smptehdbars", -20.0, "BT.709"), "head-ebu": ("pal75bars", -18.0, "BT.470 BG")}


@pytest.mark.parametrize("base", HEADS)
def test_a_head_by_its_base_passes(base: str) -> None:
    """SMPTE RP 219 with -20 dBFS (RP 155); EBU 100/0/75/0 with -18 dBFS (EBU R 68, from memory)."""
    source, dbfs, matrix = HEADS[base]
    found = of_base(base, lavfi(source), dbfs, matrix)
    assert {"leader.layout", "leader.bars", "leader.tone_level", "leader.tone_frequency"} <= set(found)
    assert set(found.values()) == {Outcome.PASS}, found


@pytest.mark.parametrize("base", HEADS)
def test_a_head_by_the_other_base_is_refused_for_its_bars_and_its_level(base: str) -> None:
    """Bars and level of the other side of the ocean; 1 kHz is both sides'."""
    (other,) = set(HEADS) - {base}
    source, dbfs, matrix = HEADS[other]
    found = of_base(base, lavfi(source), dbfs, matrix)
    assert found["leader.bars"] is found["leader.tone_level"] is Outcome.FAIL
    assert found["leader.tone_frequency"] is Outcome.PASS
