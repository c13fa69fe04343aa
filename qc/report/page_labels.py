"""How an edition speaks to its reader: the crew is told what to change, the outlet what is out of limits."""

from __future__ import annotations

from dataclasses import dataclass

from qc.report.edition import Edition


@dataclass(frozen=True)
class Labels:
    """Headings and standing sentences of a page.

    neutral  the first section states findings instead of giving instructions, clause first
    """

    kicker: str
    change: str
    change_short: str
    nothing: str
    unmeasured: str
    all_measured: str
    look: str
    not_covered: str
    nothing_named: str
    last_word: str
    neutral: bool


INTERNAL = Labels(
    kicker="Internal report, not to be sent on",
    change="What to change",
    change_short="what to change",
    nothing="Nothing: no requirement failed.",
    unmeasured="What was not measured, and why",
    all_measured="Every requirement of this profile was measured.",
    look="What a person has to look at",
    not_covered="Asked for by the outlet, not checked here",
    nothing_named="The profile names nothing more; the outlet may still ask for it: see its own document.",
    last_word="The outlet's own specification decides; this report is a measurement against the profile named above.",
    neutral=False,
)

OUTLET = Labels(
    kicker="Delivery report",
    change="Out of limits",
    change_short="what is out of limits",
    nothing="Nothing: every requirement that was measured is met, or waived as listed.",
    unmeasured="What was not measured, and why",
    all_measured="Every requirement listed in this report was measured.",
    look="For a person to decide",
    not_covered="Asked for in your document, not checked here",
    nothing_named="No further requirement was listed; see your own document.",
    last_word="Your own specification decides; this report is a measurement against the requirements listed in it.",
    neutral=True,
)


def labels_of(edition: Edition) -> Labels:
    return OUTLET if edition is Edition.OUTLET else INTERNAL
