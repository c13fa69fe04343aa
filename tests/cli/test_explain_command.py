"""``qc explain`` finds what is printed anywhere else, and offers only what is near. Contract of this tool."""

from __future__ import annotations

import pytest

from qc.cli.explain import UnknownCheck, found
from qc.judge.catalogue import CHECKS


def test_every_name_title_and_id_is_found() -> None:
    """Name and title of a check, id and title of each of its requirements, as reports and profiles have them."""
    for check in CHECKS.values():
        for said in (check.name, check.title, *check.requirements, *check.requirements.values()):
            assert found(said).name == check.name
            assert found(f" [{said.upper()}] ").name == check.name


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("Frozen picture", "freeze"),
        ("freeze.inside_acts", "freeze"),
        ("active_picture", "active-picture"),
        ("Picture levels, blue, high", "picture-levels"),
        ("structure.act.3", "act-length"),
    ],
)
def test_what_findings_and_profiles_say_is_found(said: str, name: str) -> None:
    """A title with its subject, an id, an item of a list."""
    assert found(said).name == name


@pytest.mark.parametrize(
    ("said", "near"),
    [("freez", "freeze"), ("silense", "silence"), ("loud", "loudness"), ("Stuck pixel", "stuck-pixels")],
)
def test_a_misspelt_name_is_offered(said: str, near: str) -> None:
    """A letter too few, one that is wrong, a beginning."""
    with pytest.raises(UnknownCheck) as caught:
        found(said)
    assert str(caught.value) == f"no check is called {said!r}. Did you mean {near}? Or see them all with qc explain."


@pytest.mark.parametrize("said", ["nonsense", "x", "lo", "colour of money", ".", "\x1b[31m"])
def test_nothing_is_offered_that_is_not_near(said: str) -> None:
    """Only the way to the list."""
    with pytest.raises(UnknownCheck) as caught:
        found(said)
    assert "mean" not in str(caught.value) and str(caught.value).endswith(". See them all with qc explain.")
