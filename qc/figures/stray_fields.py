"""Stray fields: one field of another picture, inside a shot or beside a cut, as an edit on the wrong field leaves it.

The lines of one field jump away and back while those of the other stay with the shot, everywhere in the picture; at a
cut the other field jumps once. So these are none: motion, which fields share; film spread over fields, whose fields
jump by turns; damage and lettering, which are not everywhere; a flash, which is the same picture in another light.
"""

from __future__ import annotations

import numpy as np

from qc.figures.frame_series import FrameSeries, largest_near, shifted
from qc.figures.strays import BURNT_OUT, BURNT_SHARE, Stray, stray_shots
from qc.timing.spans import Span

#: A field jumps when its lines change by so many codes of 8 bits on average, and by so many even where the picture is
#: quiet ...
JUMPS, JUMPS_QUIET = 8.0, 4.0
#: ... and by so many times what the other field does. Planted in film and in woven film it is 4 and more; in the whole
#: open film no frame reaches it.
TIMES = 3.0
#: Correlation of the light over the picture from which a field is of its shot: 0.6 and more of flashes that do not
#: burn out, 0.45 at most of fields of other shots of the open film.
SAME_PICTURE = 0.55

_FIELDS = ("top", "bottom")


def stray_pictures(series: FrameSeries, shortest: int, black: np.ndarray) -> list[Stray]:
    """Short shots (see stray_shots) and stray fields, in order; a frame of which one field is stray is told as that."""
    fields = stray_fields(series)
    taken = {one.span for one in fields}
    shots = [one for one in stray_shots(series, shortest, black) if one.span not in taken]
    return sorted([*fields, *shots], key=lambda one: one.span)


def stray_fields(series: FrameSeries) -> list[Stray]:
    """Frames with one field of another picture, in order; of kind "field inside a shot" or "field at a cut"."""
    found: dict[int, Stray] = {}
    for own, other in (_FIELDS, _FIELDS[::-1]):
        jump, quiet_jump = (np.minimum(values, _next(values)) for values in _changes(series, own))
        stays, quiet_stays = _changes(series, other)
        calm = (TIMES * stays <= jump) & (TIMES * quiet_stays <= quiet_jump)
        calm_after = (TIMES * _next(stays) <= jump) & (TIMES * _next(quiet_stays) <= quiet_jump)
        jumps = (jump >= JUMPS) & (quiet_jump >= JUMPS_QUIET)
        inside = jumps & calm & calm_after
        at_a_cut = jumps & (calm != calm_after) & (TIMES * _around(series) <= jump)
        for frame in np.flatnonzero(inside | at_a_cut).tolist():
            if not _is_its_shot(series, frame, bool(calm[frame]), bool(calm_after[frame])):
                kind = "field inside a shot" if inside[frame] else "field at a cut"
                found[frame] = Stray(Span(frame, frame + 1), kind)
    return [found[frame] for frame in sorted(found)]


def _changes(series: FrameSeries, field: str) -> tuple[np.ndarray, np.ndarray]:
    """(frames,) change of a field to each frame, on average and where it is quiet."""
    return series.known(f"motion.{field}", 0.0), series.known(f"motion.{field}_quiet", 0.0)


def _next(values: np.ndarray) -> np.ndarray:
    return shifted(values, 1, 0.0)


def _around(series: FrameSeries) -> np.ndarray:
    """(frames,) the greatest change of a field in the two frames before, and in two from the frame after the next."""
    change = np.maximum(*(_changes(series, field)[0] for field in _FIELDS))
    return np.maximum(largest_near(change, -2, 0), largest_near(change, 2, 4))


def _is_its_shot(series: FrameSeries, frame: int, before: bool, after: bool) -> bool:
    """The field that jumps shows the frames of its shot beside it under another light, or is burnt out: a flash."""
    grid = series.series["motion.grid"].astype(np.float32)
    shot = np.mean([grid[frame + step] for step, there in ((-1, before), (1, after)) if there], axis=0)
    field = np.clip(2 * grid[frame] - shot, 0, 255)  # a frame's grid is the mean of its fields
    if (field >= BURNT_OUT).mean() >= BURNT_SHARE:
        return True
    one, other = field - field.mean(), shot - shot.mean()
    return bool((one * other).sum() >= SAME_PICTURE * max(1.0, float((one**2).sum() * (other**2).sum())) ** 0.5)
