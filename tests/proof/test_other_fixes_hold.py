"""Fixes that are frames, labels or a wrapper: done with FFmpeg as they say, the finding is gone and no other has come.

That nothing is encoded again is checked by FFmpeg's own checksums of every coded stream before and after.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from qc.judge import judge
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.measurement.child import measure_file
from qc.outlets.load import LoadedProfile
from qc.remedy.fix import Fix
from tests.kit import made
from tests.kit.remedied import copied, recut, stream_hashes
from tests.kit.render import NTSC, episode

ENCODER = {"vcodec": "libx264", "preset": "ultrafast", "pix_fmt": "yuv420p", "crf": "18"}
START = "01:00:00:00"


def verdict_of(path: Path, outlet: LoadedProfile) -> Verdict:
    return judge(measure_file(path, store=None), outlet)


def failing(verdict: Verdict) -> dict[str, Finding]:
    """Requirement and subject -> finding of everything that is not a pass."""
    return {
        f"{finding.requirement} {finding.subject}": finding
        for finding in verdict.findings
        if finding.outcome is not Outcome.PASS
    }


def fix_of(finding: Finding) -> Fix:
    assert finding.fix is not None
    return finding.fix


def frames_of(finding: Finding) -> int:
    """Signed frames of a fix."""
    fix = fix_of(finding)
    assert fix.unit == "frames" and fix.amount is not None and fix.amount == int(fix.amount)
    return int(fix.amount)


def test_cuts_in_frames_make_the_cut_that_was_asked_for(media_dir: Path) -> None:
    """An act 14 frames over, a break 5 frames short and a black frame: cut as told, everything passes."""
    film = episode(
        media_dir / "fix-cut.mov", acts=(120, 134, 120), break_frames=(30, 25), timecode=START, extra_blacks=[(60, 1)]
    )
    outlet = made.loaded(
        structure={
            "acts": {"exact": 3}, "act_length": {"exact": "120 frames"}, "break_length": {"exact": "30 frames"}
        },
        duration={"trt": {"exact": "360 frames"}},
        black={"inside_acts": {"max": "12 frames"}},
        timecode={"start": {"at": START}},
    )  # fmt: skip
    before = failing(verdict_of(film.path, outlet))
    assert set(before) == {
        "structure.act_length act 2", "structure.break_length break 2", "duration.trt programme",
        "black.inside_acts acts",
    }  # fmt: skip
    shorter, longer = (
        frames_of(before["structure.act_length act 2"]),
        frames_of(before["structure.break_length break 2"]),
    )
    assert (shorter, longer, frames_of(before["duration.trt programme"])) == (-14, 5, -14)
    (black,) = before["black.inside_acts acts"].places
    second, third = film.acts[1], film.acts[2]
    pieces = [
        (0, black.span.first), (black.span.first - 1, black.span.first), (black.span.end, second[1] + shorter),
        (second[1], third[0]), longer, (third[0], film.frames),
    ]  # fmt: skip
    after = verdict_of(recut(film.path, media_dir / "cut-after.mov", pieces, NTSC, START, ENCODER), outlet)
    assert failing(after) == {} and after.outcome is Outcome.PASS
    assert [act.frames for act in after.programme.acts] == [120, 120, 120]


def test_what_is_over_fits_where_there_is_room(media_dir: Path) -> None:
    """Act 1 is 20 frames over and act 2 has room for them: moved there, both pass and the running time stays."""
    film = episode(media_dir / "move.mov", acts=(140, 70, 118), break_frames=30, timecode=START)
    outlet = made.loaded(
        structure={
            "acts": {"exact": 3}, "act_length": {"min": "60 frames", "max": "120 frames"},
            "break_length": {"exact": "30 frames"},
        },
        duration={"trt": {"exact": "328 frames"}},
    )  # fmt: skip
    before = failing(verdict_of(film.path, outlet))
    assert set(before) == {"structure.act_length act 1"}
    fix = fix_of(before["structure.act_length act 1"])
    assert [(room.where, room.frames) for room in fix.room] == [("act 2", 50), ("act 3", 2)]
    end = film.acts[0][1] + frames_of(before["structure.act_length act 1"])
    pieces = [(0, end), film.breaks[0], (end, film.acts[0][1]), (film.acts[1][0], film.frames)]
    after = verdict_of(recut(film.path, media_dir / "move-after.mov", pieces, NTSC, START, ENCODER), outlet)
    assert failing(after) == {}
    assert [act.frames for act in after.programme.acts] == [120, 90, 118]


def relabelled(path: Path, finding: Finding) -> Path:
    """The file with the start label that the fix names."""
    label = re.search(r"\d\d:\d\d:\d\d[:;]\d\d", fix_of(finding).sentence)
    assert label is not None
    return copied(path, path.with_name(f"re-{path.name}"), label=label[0])


@pytest.mark.parametrize(
    ("name", "form", "start", "lead", "wanted", "left"),
    [
        ("fix-late.mov", "mov-h264", "00:59:50;12", 0, {"timecode.start SOM"}, set()),
        ("fix-head.mxf", "mxf-mpeg2", "01:00:00;00", 30, {"timecode.start SOM"}, {"timecode.agreement timecode"}),
        ("fix-ndf.mov", "mov-prores", START, 0, {"timecode.start SOM", "timecode.counting timecode"}, set()),
    ],
)
def test_a_start_label_is_set_without_a_new_encode(
    media_dir: Path, name: str, form: str, start: str, lead: int, wanted: set[str], left: set[str]
) -> None:
    """A wrong start label, and a count that the outlet does not take: re-flagged as told, gone, not a byte encoded.

    MPEG-2 carries labels in its groups of pictures too (ISO/IEC 13818-2, 6.2.2.6). A plain copy keeps those, so the
    sources then disagree, and that is told.
    """
    film = episode(media_dir / name, acts=(60, 60), break_frames=30, form=form, timecode=start, lead=lead)
    outlet = made.loaded(
        timecode={
            "start": {"at": "01:00:00;00"}, "counting": {"accept": ["drop-frame"]}, "agreement": {"required": True}
        },
        structure={"acts": {"exact": 2}, "break_length": {"exact": "30 frames"}},
    )  # fmt: skip
    before = failing(verdict_of(film.path, outlet))
    assert set(before) == wanted
    assert all(fix_of(finding).no_export for finding in before.values())
    labelled = relabelled(film.path, before["timecode.start SOM"])
    assert set(failing(verdict_of(labelled, outlet))) == left
    assert stream_hashes(labelled) == stream_hashes(film.path)


def test_another_wrapper_needs_no_new_encode(media_dir: Path) -> None:
    """MPEG-2 in a MOV for an outlet that takes MXF OP1a: re-wrapped, the finding is gone, the streams are the same."""
    source = episode(media_dir / "wrap.mxf", acts=(60,), break_frames=[], form="mxf-mpeg2", timecode=START).path
    path = copied(source, media_dir / "wrap.mov", label=START)
    outlet = made.loaded(wrapper={"kind": {"accept": ["MXF OP1a"]}}, picture={"codec": {"accept": ["MPEG-2"]}})
    before = failing(verdict_of(path, outlet))
    assert set(before) == {"wrapper.kind file"}
    fix = fix_of(before["wrapper.kind file"])
    assert (fix.action, fix.no_export) == ("re-wrap", True)
    wrapped = copied(path, media_dir / "wrapped.mxf", label=START)
    assert failing(verdict_of(wrapped, outlet)) == {}
    assert stream_hashes(wrapped)[0] == stream_hashes(path)[0]


def test_a_rotation_is_taken_out_without_a_new_encode(media_dir: Path) -> None:
    """A picture flagged as turned: the flag set as told, the finding is gone, the streams are the same."""
    source = episode(media_dir / "flags.mov", acts=(45,), break_frames=[], timecode=START).path
    path = copied(source, media_dir / "turned-by-a-flag.mov", label=START, before=["-display_rotation", "90"])
    outlet = made.loaded(picture={"rotation": {"accept": [0]}})
    before = failing(verdict_of(path, outlet))
    assert set(before) == {"picture.rotation file"} and fix_of(before["picture.rotation file"]).no_export
    after = copied(path, media_dir / "turned-back.mov", label=START, before=["-display_rotation", "0"])
    assert failing(verdict_of(after, outlet)) == {}
    assert stream_hashes(after) == stream_hashes(path)
