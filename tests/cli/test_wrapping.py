"""Messages stay within the terminal and break no name or number. Contract of this tool, no outside source."""

from __future__ import annotations

import fcntl
import os
import struct
import termios
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.cli.wrapping import WIDTH, width_of, wrapped
from tests.kit.command import qc
from tests.kit.profiles import write_profile

LONG = "a folder/with spaces/that goes on and on for a while/so that it would be broken/EP 04 final.mov"


def test_a_long_line_goes_on_below_with_a_hanging_indent() -> None:
    """At 80 columns; lines that fit, and their own indent, stay as they are."""
    text = "EP04.mov: this is not a media file: its content looks like text. Deliver the exported programme itself."
    assert wrapped(f"one\n  two\n{text}\n   {text}") == (
        "one\n  two\n"
        "EP04.mov: this is not a media file: its content looks like text. Deliver the\n  exported programme itself.\n"
        "   EP04.mov: this is not a media file: its content looks like text. Deliver the\n"
        "     exported programme itself."
    )


def test_names_and_numbers_are_whole() -> None:
    """A path with spaces, a quoted word and a number with its sign and point each stand on one line."""
    text = f"{LONG}: the mix reads -23.45 LUFS; no outlet is called 'head station two' and -1.25 dBTP is over -2.00"
    for width in range(40, 100):
        lines = wrapped(text, width, [LONG]).split("\n")
        for whole in (LONG, "-23.45", "'head station two'", "-1.25", "-2.00"):
            assert any(whole in line for line in lines)
        assert all(len(line) <= width for line in lines if LONG not in line)


@given(
    st.text(st.characters(exclude_categories=("Cs", "Co", "Cc", "Z"), include_characters=" \n")), st.integers(40, 99)
)
def test_no_word_is_lost(text: str, width: int) -> None:
    """The words of every line in their order, whatever is in it; no line without a place to break gets longer."""
    told = wrapped(text, width)
    assert told.split() == text.split()
    assert all(len(line) <= max(width, len(line.strip())) for line in told.split("\n") if line.strip(" ").count(" "))


def test_the_width_is_that_of_the_terminal(tmp_path: Path) -> None:
    """A pseudo-terminal of 132 columns, one that does not know its width (0), and a file."""
    parent, child = os.openpty()
    with os.fdopen(child, "w") as terminal:
        fcntl.ioctl(child, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 132, 0, 0))
        assert width_of(terminal) == 132
        fcntl.ioctl(child, termios.TIOCSWINSZ, struct.pack("HHHH", 0, 0, 0, 0))
        assert width_of(terminal) == WIDTH == 80
    os.close(parent)
    with (tmp_path / "file").open("w") as stream:
        assert width_of(stream) == 80


@pytest.mark.parametrize(
    "arguments",
    [
        ("probe", "text.mov"),
        ("measure", "text.mov", "--settle", "0"),
        ("check", "text.mov", "--settle", "0", "--outlet", "test.toml", "--out", "file", "--quiet"),
        ("check", "text.mov", "--settle", "0", "--outlet", "no-such-outlet-anywhere-in-the-whole-world-at-all"),
        ("check", "text.mov", "--settle", "0", "--outlet", "test.toml", "--waivers", "waivers.toml"),
        ("explain", "nothing-that-anybody-would-ever-have-called-a-check"),
        ("probe", "text.mov", "--an-option-that-is-not-there-and-goes-on-and-on", "--another-one"),
    ],
    ids=lambda arguments: " ".join(arguments[:1] + arguments[-1:]),
)
def test_errors_keep_to_80_columns(arguments: tuple[str, ...], tmp_path: Path) -> None:
    """Text under a media name, folder that is a file, unknown names, waivers with many problems."""
    (tmp_path / "text.mov").write_text("Dear all, the programme follows on Monday.")
    (tmp_path / "file").touch()
    (tmp_path / "waivers.toml").write_text('[[waiver]]\nfinding = "freeze.inside"\nwho = ""\nwhz = 1\n' * 2)
    write_profile(tmp_path)
    done = qc(*arguments, cwd=tmp_path)
    assert done.status in (2, 3) and done.err
    assert max(map(len, done.err.splitlines())) <= 80


def test_problems_of_waivers_stand_each_on_a_line_of_its_own(tmp_path: Path) -> None:
    """Counted at the top, then one after the other."""
    (tmp_path / "a.mov").touch()
    (tmp_path / "waivers.toml").write_text(
        '[[waiver]]\noutlet = "test"\nfinding = "freeze.inside"\nfile = "a.mov"\nwho = "A. Person"\nwhy = "x"\n'
    )
    write_profile(tmp_path)
    done = qc("check", "a.mov", "--outlet", "test.toml", "--waivers", "waivers.toml", cwd=tmp_path)
    assert done.status == 2
    assert done.err == (
        "waivers.toml has 2 problems; nothing was waived and nothing was checked.\n\n"
        "  [[waiver]] 1, until: missing\n"
        "  [[waiver]] 1, finding: 'freeze.inside' is no finding, meant\n    freeze.inside_acts?\n"
    )
