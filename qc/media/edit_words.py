"""A MOV or MP4 edit list in words, where it trims, shifts, repeats or re-times what is shown.

Source: ISO/IEC 14496-12, 8.6.6 (elst) and 8.6.1.3 (composition times).
"""

from __future__ import annotations

from fractions import Fraction

from qc.media.mov_atoms import MovHeader, Track

#: An AAC encoder's run-up that a player always leaves out is no edit of the programme
#: (2112 samples is usual; common practice, no source).
_PRIMING_SAMPLES = 4096
#: Edit lengths count in the movie's own time scale; one of its ticks, or this, is rounding.
_ROUNDING = Fraction(1, 500)


def edit_words(header: MovHeader) -> str | None:
    """One sentence part for each track whose edit list changes what is shown; None if none does."""
    kinds = {"vide": "picture", "soun": "sound"}
    said = []
    for track in header.tracks:
        words = _track_words(track) if track.handler in kinds else []
        if words:
            said.append(f"{kinds[track.handler]} track {track.number}: {', '.join(words)}")
    return "; ".join(said) or None


def _track_words(track: Track) -> list[str]:
    words, shown, first = [], Fraction(0), True
    real = [edit for edit in track.edits if edit.media is not None]
    for edit in track.edits:
        if edit.media is None:
            if edit.seconds > 0:
                words.append(
                    f"starts {_seconds(edit.seconds)} late" if first else f"{_seconds(edit.seconds)} of nothing"
                )
            continue
        if edit.speed != 1:
            words.append(f"shown at {float(edit.speed):g} times its speed")
        skipped = edit.media - track.first_composition
        priming = track.fourcc == "mp4a" and track.scale and skipped * track.scale <= _PRIMING_SAMPLES
        if first and skipped > _ROUNDING and not priming:
            words.append(f"skips its first {_seconds(skipped)}")
        shown, first = shown + edit.seconds, False
    if len(real) > 1:
        words.append(f"put together from {len(real)} pieces")
    elif real and real[0].media is not None and track.seconds and real[0].seconds:
        left = track.seconds - (real[0].media - track.first_composition) - shown
        if left > max(_ROUNDING, Fraction(1024, track.scale or 1) if track.fourcc == "mp4a" else _ROUNDING):
            words.append(f"leaves out its last {_seconds(left)}")
    return words


def _seconds(value: Fraction) -> str:
    return f"{float(value):.3f} s"
