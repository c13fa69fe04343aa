"""Whatever the headers and series say, every requirement has a finding, every failure a remedy, nothing is NaN."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from qc.judge import judge, judge_headers
from qc.judge.together import judge_together
from qc.judge.verdict import Outcome
from qc.measurement.record import Measurement
from qc.media.facts import FileFacts, OtherStream, TimecodeSource
from qc.outlets.load import list_profiles, load_profile
from qc.report.document import as_json, verdict_document
from qc.report.mix_document import one_mix_document
from tests.kit.made import NTSC, Part, black, event, facts, measurement, picture_stream, sound_stream

PROFILES = [load_profile(path) for path in list_profiles()]
RATES = (Fraction(1, 2), Fraction(1000), Fraction(24000, 1001), Fraction(60000, 1001), Fraction(25), NTSC, NTSC, None)
LABELS = ("01:00:00;00", "99:99:99:99", "", "01:00:00:24", "23:59:59:29", "01:01:00;00", "x" * 100)


def odd_facts(draw: random.Random) -> FileFacts:
    """Headers that contradict themselves, say nothing, or say nonsense."""

    def pick(*values: Any) -> Any:
        return draw.choice(values)

    pictures = [
        picture_stream(
            frame_rate=draw.choice(RATES),
            time_base=pick(Fraction(1, 1000), Fraction(1001, 30000), Fraction(1, 25)),
            declared_frames=pick(None, 0, 10**9, 300),
            sample_aspect=pick(None, Fraction(1)),
            scan_by_container=pick(None, "progressive"),
            bit_rate=pick(None, 0, 10**12),
            clean_aperture=pick(None, (0, 0, 5, 5), (10, 10, 1900, 1000)),
        )
    ]
    sounds = [
        sound_stream(
            index,
            pick(1, 2, 6),
            bit_depth=pick(None, 16, 24),
            start=pick(None, Fraction(-1, 10), Fraction(3)),
            duration=pick(None, Fraction(3), Fraction(-3)),
        )
        for index in range(1, 1 + draw.randrange(4))
    ]
    sources = [TimecodeSource("track", draw.choice(LABELS), pick(True, False, None)) for _ in range(draw.randrange(3))]
    return facts(
        pictures=tuple(pictures if draw.random() < 0.9 else ()),
        sounds=tuple(sounds),
        timecodes=tuple(sources),
        duration=pick(None, Fraction(0), Fraction(10**7)),
        others=pick((), (OtherStream(9, "timecode", "t", None, Fraction(5)), OtherStream(8, "data", "d", None, None))),
    )


def odd_measurement(draw: random.Random) -> Measurement:
    """A few stretches of picture and sound, damage, odd times."""
    kinds = (
        lambda: Part(draw.randrange(1, 600), lufs=draw.choice([None, -24.0, -90.0, 5.0]), peak=3.0),
        lambda: black(draw.randrange(1, 200)),
        lambda: black(1, lufs=-20.0),
    )
    made = measurement([draw.choice(kinds)() for _ in range(draw.randrange(1, 8))], odd_facts(draw))
    if draw.random() < 0.3:
        made = replace(made, complete=False, incomplete_because="it stops")
    if draw.random() < 0.3:
        places = [{"frame": draw.choice([None, 0, -5, 10**9]), "seconds": Fraction(-1)} for _ in range(50)]
        made = replace(made, events=tuple(event("decode error", stream=99, **place) for place in places))
    if draw.random() < 0.2 and made.picture is not None:
        times = np.random.default_rng(draw.randrange(99)).integers(-1000, 10**12, made.picture.frames)
        made = replace(made, picture=replace(made.picture, time=times))
    return made


@pytest.mark.parametrize("seed", range(24))
def test_any_file_gets_a_verdict(seed: int) -> None:
    """No exception, no NaN, no failure without a remedy, no pass of what is damaged or has no picture."""
    draw = random.Random(seed)
    made = odd_measurement(draw)
    for profile in draw.sample(PROFILES, 2):
        judge_headers(made.facts, profile)
        verdict = judge(made, profile)
        as_json(verdict_document(verdict))
        assert {key for key, _ in profile.profile.requirements()} <= {item.requirement for item in verdict.findings}
        for item in verdict.findings:
            if item.outcome is Outcome.NOT_MEASURED:
                assert item.reason and item.measured is None
            else:
                assert item.measured is not None
            if item.outcome is Outcome.FAIL:
                assert item.fix is not None and item.fix.sentence.endswith(".")
        if not made.complete or not made.facts.pictures or not made.facts.sounds or made.events:
            assert verdict.outcome is Outcome.FAIL


@pytest.mark.parametrize("seed", range(100, 112))
def test_any_file_is_judged_for_several_outlets_together(seed: int) -> None:
    """What a fix does elsewhere is a clause for each other outlet it reaches, in plain numbers; never an exception."""
    draw = random.Random(seed)
    made, profiles = odd_measurement(draw), draw.sample(PROFILES, 3)
    found = judge_together(made, profiles)
    if found.one_mix is not None:
        as_json(one_mix_document(found.one_mix))
        assert found.one_mix.serves is (found.one_mix.gain is not None) is (not found.one_mix.conflicts)
    for verdict in found.verdicts:
        as_json(verdict_document(verdict))
        others = {profile.profile.outlet.name for profile in profiles} - {verdict.profile.name}
        for item in (told for finding in verdict.findings if finding.fix for told in finding.fix.consequences):
            assert item.outlet in others
            assert item.words and not item.words.endswith(".")
            assert item.words[0].islower() or item.words[0].isdigit() or item.words.startswith("TRT ")
