"""What one outlet asks and another does not, or asks otherwise."""

from __future__ import annotations

from dataclasses import dataclass

from qc.outlets.schema import Profile
from qc.outlets.wording import group_words, limit_words, settings


@dataclass(frozen=True)
class Difference:
    """One thing that two profiles ask differently, in words; "" if one does not ask for it."""

    key: str
    left: str
    right: str


def differences(left: Profile, right: Profile) -> tuple[Difference, ...]:
    """Requirements, settings and channel groups that differ, in the order of the schema.

    Names, clauses and sources are references, not demands: they are not compared.
    """
    ours, theirs = asked(left), asked(right)
    order = {section: place for place, section in enumerate(Profile.model_fields)}
    keys = sorted(dict.fromkeys([*ours, *theirs]), key=lambda key: order[key.split(".")[0]])
    return tuple(
        Difference(key, ours.get(key, ""), theirs.get(key, "")) for key in keys if ours.get(key) != theirs.get(key)
    )


def asked(profile: Profile) -> dict[str, str]:
    """Everything that a profile asks for, by id, in words; a should says so."""
    words = {key: value for key, _, value in settings(profile)}
    for key, requirement in profile.requirements():
        words[key] = limit_words(key, requirement) + (" (should)" if requirement.level == "should" else "")
    for group in profile.audio.group:
        words[f"audio.group.{group.name}"] = group_words(group)
    return words
