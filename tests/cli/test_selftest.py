"""``qc selftest``: the published signals on the user's machine."""

from __future__ import annotations

import re

import pytest

from qc.cli.app import run


@pytest.fixture(scope="module")
def table() -> tuple[int, str]:
    import contextlib
    import io

    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        status = run(["selftest"])
    return status, said.getvalue()


def test_it_passes_and_lists_every_signal(table: tuple[int, str]) -> None:
    """EBU Tech 3341 signals 1-6 and 9-23, Tech 3342 signals 1-4, BS.1770 calibration, each with its reading."""
    status, said = table
    assert status == 0
    for source, numbers in (("Tech 3341", [*range(1, 7), *range(9, 24)]), ("Tech 3342", range(1, 5))):
        for number in numbers:
            assert any(line.startswith(f"{source} {number:>5}  ") for line in said.splitlines()), (source, number)
    assert "BS.1770-5" in said
    assert "passes the listed test signals" in said


def test_it_claims_no_more_than_it_shows(table: tuple[int, str]) -> None:
    """Passing minimum signals is no certificate; the table fits 80 columns."""
    _, said = table
    assert not any(claim in said.lower() for claim in ("certif", "ebu mode", "complian"))
    assert max(map(len, said.splitlines())) <= 80


def test_its_columns_stand_in_line(table: tuple[int, str]) -> None:
    """Right edges of what it must read, the tolerance and what it read are those of the head in every row."""
    _, said = table
    head, *rows = [line for line in said.splitlines() if line.startswith(("source", "BS.", "Tech"))]
    assert len(rows) == 30
    for title in ("is", "tolerance", "measured"):
        edge = re.search(rf"\b{title}\b", head).end()  # type: ignore[union-attr]
        assert all(row[edge - 1] != " " and row[edge : edge + 1] in ("", " ") for row in rows), title


def test_a_meter_that_reads_wrong_is_told(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """0.2 LU off in the formula: readings lie outside, exit status 1."""
    import qc.selftest.run as selftest
    from qc.figures import loudness

    monkeypatch.setattr(loudness, "OFFSET", -0.491)
    monkeypatch.setattr(selftest, "SIGNALS", selftest.SIGNALS[1:3])
    assert run(["selftest"]) == 1
    said = capsys.readouterr().out
    assert "6 of 6 readings lie outside their tolerance." in said
    assert said.count(" OUT") == 6
    assert "passes" not in said


def test_a_rate_for_which_the_signals_are_not_meant(capsys: pytest.CaptureFixture[str]) -> None:
    """Exit status 2 and the rates that can be had."""
    assert run(["selftest", "--rate", "8000"]) == 2
    said = capsys.readouterr()
    assert "8000" in said.err
    assert "48000" in said.err
