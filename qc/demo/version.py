"""One file of the demo as it is planned: the episode, the outlet, and every fault that is planted in it."""

from __future__ import annotations

from dataclasses import dataclass, field

from qc.demo.staging import Staging

ONE_MIX = -23.3  # LUFS: the one mix that serves all six outlets


@dataclass(frozen=True)
class Content:
    """Frames of the episode itself, counted without head and breaks, so that a fault stays with its picture."""

    first: int
    frames: int = 1


#: Where a planted fault stands: in the content, or a part by name: "programme" (first act's first frame to last
#: act's last), "file", "SOM" (first frame of the programme), "act 3", "break 2".
Where = Content | str


@dataclass(frozen=True)
class Expected:
    """One finding that has to come out, and where.

    requirement  id in the profile
    subject      what it applies to, "" for any
    at           where; a finding that names places has to name exactly this one. A finding about the whole
                 programme or the whole file may name none
    value        what is measured there, None not to compare; ``within`` is how far off a number may be
    outcome      "fail", "advisory" or "not measured"
    slack        frames that either end of the place may be off, where not every frame is looked at; else none
    anywhere     the place may be any part of ``at``: one that is shown for all of them
    says         words that the place's note has to hold
    """

    requirement: str
    subject: str = ""
    at: Where = "programme"
    value: float | str | None = None
    within: float = 0.0
    outcome: str = "fail"
    slack: int = 0
    anywhere: bool = False
    says: str = ""


@dataclass(frozen=True)
class Noted:
    """Something that stands in the file on purpose and must not be a finding: a fault that this version does not
    look for yet, or what looks like a fault and is none."""

    what: str
    at: Where = "programme"


@dataclass(frozen=True)
class Version:
    """One file: an episode for an outlet, and every finding that is not a pass.

    later        faults whose truth is kept for the day that they are looked for
    innocent     what looks like a fault and is none
    acts, start  replace the form's own
    staging      what is done to the picture
    """

    episode: int
    outlet: str
    expected: tuple[Expected, ...] = ()
    later: tuple[Noted, ...] = ()
    innocent: tuple[Noted, ...] = ()
    lufs: float = ONE_MIX
    acts: tuple[int, ...] = ()
    start: str = ""
    staging: Staging = field(default_factory=Staging)
