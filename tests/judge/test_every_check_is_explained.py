"""The catalogue covers the schema, the judges cover the catalogue, and qc explain prints it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args, get_origin

import pytest
from typer.testing import CliRunner

from qc.cli.app import app, run
from qc.judge.catalogue import CHECKS, Check, check_of
from qc.judge.judging import HEADER_JUDGES, JUDGES
from qc.outlets.schema import Profile
from qc.outlets.schema_kinds import Requirement


def requirements() -> set[str]:
    """Every requirement id that a profile can hold, from the schema itself."""

    def inner(annotation: Any) -> Iterator[type]:
        if isinstance(annotation, type):
            yield annotation
        for part in get_args(annotation) if get_origin(annotation) else ():
            yield from inner(part)

    found = set()
    for section, field in Profile.model_fields.items():
        model = next(inner(field.annotation))
        for name, own in model.model_fields.items():
            if any(issubclass(kind, Requirement) for kind in inner(own.annotation)):
                found.add(f"{section}.{name}")
    return found


def test_the_schema_has_the_requirements_that_are_known_here() -> None:
    """The reader of the schema above sees lists and options, too."""
    assert {"structure.act", "structure.element", "loudness.programme", "timecode.start"} <= requirements()
    assert not {"structure.group", "audio.group", "black.pixel_percent"} & requirements()


def test_every_requirement_belongs_to_one_check() -> None:
    """No requirement without an explanation, none twice, none that no profile can ask for."""
    listed = [requirement for check in CHECKS.values() for requirement in check.requirements]
    assert sorted(listed) == sorted(set(listed))
    assert set(listed) == requirements()
    assert all(check_of(requirement)[1] for requirement in listed)


def test_every_requirement_has_a_judge() -> None:
    """A requirement nobody judges would vanish silently."""
    assert set(JUDGES) == requirements()
    assert {"wrapper.kind", "picture.raster", "timecode.counting", "audio.channels"} <= set(HEADER_JUDGES)


@pytest.mark.parametrize("check", CHECKS.values(), ids=lambda check: check.name)
def test_every_check_is_explained_at_80_columns(check: Check) -> None:
    """What, how, over which span, which limits; each in words."""
    assert check.title and check.measures and check.how and check.span and check.limits
    result = CliRunner().invoke(app, ["explain", check.name])
    assert result.exit_code == 0
    assert check.title in result.output
    assert max(len(line) for line in result.output.splitlines()) <= 80
    for requirement in check.requirements:
        assert f"[{requirement}]" in result.output


def test_explain_lists_all_checks() -> None:
    """Without a name."""
    output = CliRunner().invoke(app, ["explain"]).output
    assert all(f"  {name} " in output for name in CHECKS)


@pytest.mark.parametrize(
    ("asked", "title"),
    [
        ("True Peak", "True peak (true-peak)"),
        ("true_peak.programme", "True peak"),
        ("structure.act.3", "Length of each"),
    ],
)
def test_a_check_is_found_by_its_findings_too(asked: str, title: str) -> None:
    """By name in any writing, or by the id of a finding in a report."""
    assert title in CliRunner().invoke(app, ["explain", asked]).output


def test_an_unknown_check_suggests_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    """Exit status 2, and control characters do not reach the terminal."""
    assert run(["explain", "true-pek"]) == 2
    assert "Did you mean true-peak" in capsys.readouterr().err
    assert run(["explain", "\x1b[31mx"]) == 2
    assert "\x1b" not in capsys.readouterr().err


def test_standards_name_their_edition() -> None:
    """A document that a value is computed by has its year, version or clause beside it."""
    for check in (CHECKS[name] for name in ("loudness", "short-term", "loudness-range", "true-peak")):
        assert all(any(character.isdigit() for character in text.split("(")[-1]) for text in check.standards)
