"""The measure document: whole-file figures with their keys, reasons for those that are undefined."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from referencing import Registry, Resource

from qc.measurement.record import FileIdentity, LumaBins, Measurement, PictureSeries, SoundSeries
from qc.report.document import SCHEMA_FILE as REPORT_SCHEMA
from qc.report.measure_document import SCHEMA_FILE, measure_json
from qc.report.media_file import media_file
from tests.kit import verdicts

BINS = LumaBins(depth=8, edges=np.arange(257, dtype=np.int32), full_range=False)
ROWS = 1000
FRAMES = 60


def sound(lufs: float, peak: float) -> SoundSeries:
    """Ten seconds of the same loudness in two channels, one highest peak in the second.

    Both channels alike: loudness is -0.691 + 10 log10(2 e) (ITU-R BS.1770-5, Annex 1).
    """
    energy = 0.0 if lufs == -np.inf else 10 ** ((lufs + 0.691) / 10) / 2
    peaks = np.full((ROWS, 2), peak / 2, np.float32)
    peaks[400, 1] = peak
    return SoundSeries(
        energy=np.full((ROWS, 2), energy, np.float32),
        plain=np.full((ROWS, 2), energy, np.float32),
        sample_peak=peaks,
        true_peak=peaks,
        full_scale_runs=np.zeros((ROWS, 2), np.uint16),
        extent=np.array([[0, ROWS], [0, ROWS]], np.int64),
        samples=np.full(2, 480 * ROWS, np.int64),
        invalid_samples=np.zeros(2, np.int64),
        used_bits=np.full(2, 24, np.int16),
    )


def picture() -> PictureSeries:
    """Sixty frames, black (code 16) from frame 20 to 29, mid-grey elsewhere."""
    code = np.full(FRAMES, 126)
    code[20:30] = 16
    luma = np.zeros((FRAMES, 256), np.uint32)
    luma[np.arange(FRAMES), code] = 1000
    return PictureSeries(
        luma=luma,
        bins=BINS,
        counted=np.full(FRAMES, 1000, np.uint32),
        darkest=code.astype(np.uint16),
        brightest=code.astype(np.uint16),
        time=np.arange(FRAMES, dtype=np.int64),
        time_base=1 / verdicts.RATE,
    )


def measurement(**more) -> Measurement:
    values = {
        "identity": FileIdentity(verdicts.NAME, 1234, "ab" * 32, "cd" * 32),
        "facts": verdicts.facts(),
        "sound": sound(-23.0, 0.5),
        "picture": picture(),
        "events": (),
        "complete": True,
        "incomplete_because": "",
        "tool_version": "0.0.0",
        "meters_version": 1,
        "libraries": {"av": "14"},
    }
    return Measurement(**(values | more))


def document(**more) -> dict:
    content = measure_json(measurement(**more), verdicts.RUN)
    made = json.loads(content)
    schemas = [json.loads(path.read_text(encoding="utf-8")) for path in (SCHEMA_FILE, REPORT_SCHEMA)]
    registry = Registry().with_resources((each["$id"], Resource.from_contents(each)) for each in schemas)
    problems = Draft202012Validator(schemas[0], registry=registry).iter_errors(made)
    assert [error.message for error in problems] == []
    return made


def test_the_figures_of_the_default_group_stand_under_their_keys():
    """Two mono streams are left and right. -23 LUFS throughout: I, M and S are -23.0, LRA 0, peak -6.02 dBTP."""
    figures = document()["sound"]

    for name in ("integrated_lufs", "max_momentary_lufs", "max_short_term_lufs"):
        assert figures[name] == pytest.approx(-23.0, abs=0.001)
    assert figures["loudness_range_lu"] == pytest.approx(0.0, abs=0.001)
    assert figures["true_peak_dbtp"] == pytest.approx(20 * np.log10(0.5), abs=0.001)
    assert figures["group"]["channels"] == [1, 2]
    assert figures["reasons"] == {}


def test_black_runs_have_frame_length_and_timecode():
    """Frames 20 to 29 are black: one run, labelled on the file's own drop-frame clock."""
    figures = document()["picture"]

    assert figures["frames"] == FRAMES
    assert figures["black"] == [{"first_frame": 20, "frames": 10, "timecode": "01:00:00;20"}]


def test_silence_has_no_loudness_but_a_reason():
    """Digital silence: null with a reason, never -inf. Source: ITU-R BS.1770-5, Annex 1 (absolute gate)."""
    figures = document(sound=sound(-np.inf, 0.0))["sound"]

    assert figures["integrated_lufs"] is None
    assert figures["true_peak_dbtp"] is None
    assert set(figures["reasons"]) >= {"integrated_lufs", "true_peak_dbtp", "max_short_term_lufs"}
    assert all(figures["reasons"].values())


@pytest.mark.parametrize(
    ("streams", "reason"),
    [(0, "the file has no sound"), (6, "the order of the 6 channels of stream 1 is not known")],
)
def test_without_a_group_every_figure_is_null_with_the_reason(streams, reason):
    """No sound, or six channels in unknown order: nothing is guessed."""
    facts = verdicts.facts()
    six = replace(facts.sounds[0], channels=6, layout=None, labels=("",) * 6)
    figures = document(facts=replace(facts, sounds=(six,) if streams else ()))["sound"]

    assert figures["group"] is None
    assert figures["integrated_lufs"] is None
    assert set(figures["reasons"].values()) == {reason}


def test_a_file_without_picture_or_sound_series_says_so():
    """Neither key disappears."""
    made = document(sound=None, picture=None)

    assert made["picture"] == {
        "frames": None,
        "black": None,
        "reason": "the file has no picture that could be measured",
    }
    assert set(made["sound"]["reasons"].values()) == {"the file has no sound that could be measured"}


def test_the_same_measurement_gives_the_same_bytes():
    """Apart from the run block at its end."""
    later = replace(verdicts.RUN, started="2030-01-01T00:00:00+00:00")
    first, second = (measure_json(measurement(), run) for run in (verdicts.RUN, later))

    assert first != second
    assert first.split(b'\n  "run": {')[0] == second.split(b'\n  "run": {')[0]


def test_reports_use_the_same_figures():
    """A file in the report document carries the figures of the measure document."""
    made = media_file(measurement())

    assert made.name == verdicts.NAME
    assert made.figures["picture"]["frames"] == FRAMES
    assert made.figures["sound"]["integrated_lufs"] == pytest.approx(-23.0, abs=0.001)
    assert measurement().rate == Fraction(30000, 1001)
