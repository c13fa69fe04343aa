"""Damaged pictures are in no measurement of the picture: what rests on the others says how many there are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from qc.judge.case import Case
from qc.judge.verdict import Finding, Outcome

#: Checks of what the pictures show that do not say so themselves.
_OF_PICTURES = (
    *("active_picture.", "field_order.", "stuck_pixels.", "cadence.", "freeze.", "frames."),
    *("levels.black", "levels.clipping", "levels.scaling"),
)


def with_unseen_pictures(case: Case, found: Finding) -> Finding:
    """The finding, its reason with the number of pictures in the programme that nobody looked at."""
    picture = case.measurement.picture
    if picture is None or found.outcome is Outcome.NOT_MEASURED or not found.requirement.startswith(_OF_PICTURES):
        return found
    unseen = sum(int(np.count_nonzero(picture.counted[span.first : span.end] == 0)) for span in case.shown)
    if not unseen:
        return found
    words = f"{unseen} damaged picture{'' if unseen == 1 else 's'} not looked at"
    return replace(found, reason=f"{found.reason}; {words}" if found.reason else words)
