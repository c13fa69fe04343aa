"""Profiles come from outside: whatever is in one, the answer is a profile or a message, never a traceback."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from qc.outlets.lint import lint
from qc.outlets.load import LoadedProfile, ProfileError, load_profile
from qc.outlets.schema import Profile
from tests.kit.profiles import GOOD, write_profile


def outcome(path: Path) -> LoadedProfile | str:
    """The profile, or the message; anything else fails the test."""
    try:
        return load_profile(path)
    except ProfileError as error:
        text = str(error)
        assert "Traceback" not in text and "pydantic" not in text.lower()
        assert all(char.isprintable() or char == "\n" for char in text)
        return text


CONTENT = [
    (b"", "nothing of its own"),
    (b"\xff\xfe[\x00o\x00", "byte 0xff on line 1, which is not UTF-8"),
    (b"[outlet]\nname = 'caf\xe9'\n", "byte 0xe9 on line 2, which is not UTF-8"),
    (b"a = 1\n" * 20_000, "more than 65536 bytes"),
    (b"a = " + b"1" * 2_000, "line 1 has more than 1000 characters"),
    (b"a = " + b"[\n" * 9_000, "nested too deep"),
    (b"\x00\x01\x02", "problem"),
    (b"[outlet\nname = 1\n", "[outlet"),
    (b"name", "key = value"),
    (b"a = '''never closed\n" * 3, "problem"),
    (b"a = {b = {c = 1\n", "problem"),
    (b"base = [[[]]]\n", "names in quotes"),
    (b"base = {a = 1}\n", "names in quotes"),
    (b"outlet = 5\n", "[outlet]"),
    (b"[[outlet]]\nname = 'x'\n", "outlet"),
    (b"loudness = []\n", "loudness"),
    (b"[loudness.programme.target.deep.er]\nx = 1\n", "loudness"),
    (b"[outlet]\nname = '\xe2\x80\xae\x1b[31m'\ncode = 'a'\n", "problem"),
]


@pytest.mark.parametrize(("content", "said"), CONTENT, ids=range(len(CONTENT)))
def test_odd_content_is_told(tmp_path: Path, content: bytes, said: str) -> None:
    """Empty, binary, wrong encoding, too large, nested, half written: a message that says which."""
    path = tmp_path / "odd.toml"
    path.write_bytes(content)
    text = outcome(path)
    assert isinstance(text, str) and said in text


def test_a_byte_order_mark_and_windows_lines_are_fine(tmp_path: Path) -> None:
    """What some editors write around a right profile does no harm."""
    path = tmp_path / "test.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert isinstance(outcome(path), LoadedProfile)


def test_a_folder_and_a_pipe_are_no_profiles(tmp_path: Path) -> None:
    """Reading a pipe would wait for ever."""
    (tmp_path / "folder.toml").mkdir()
    os.mkfifo(tmp_path / "pipe.toml")
    for name in ("folder.toml", "pipe.toml"):
        assert "a folder, device or pipe" in str(outcome(tmp_path / name))


def test_escape_sequences_in_keys_and_values_do_not_reach_the_terminal(tmp_path: Path) -> None:
    """A key with an escape sequence or a right-to-left override is shown by its number."""
    text = 'base = ["a\\u001b[31m"]\n["loud\\u202eness"]\n"x\\u001b[2J" = 1\n' + GOOD.replace("TEST", "T\\u0007")
    said = outcome(write_profile(tmp_path, text))
    assert isinstance(said, str)
    assert "\x1b" not in said and "\u202e" not in said and "\\x1b[31m" in said


def test_dotted_keys_without_end_take_no_time(tmp_path: Path) -> None:
    """The parser's work grows with the square of a key's parts: lines are bounded."""
    line = ".".join(["a"] * 480) + " = 1\n"
    path = write_profile(tmp_path, "".join(f"k{n}.{line}" for n in range(60)))
    began = time.perf_counter()
    assert isinstance(outcome(path), str)
    assert time.perf_counter() - began < 10


@pytest.mark.parametrize("number", ["1" * 900, "-1" + "0" * 400, "1e999", "-inf", "nan", "0x" + "f" * 300])
@pytest.mark.parametrize("old", ["-24.0", "exact = 4", "-2.0"])
def test_huge_numbers_are_told(tmp_path: Path, number: str, old: str) -> None:
    """Numbers beyond any float, infinite ones and none at all."""
    new = f"exact = {number}" if old == "exact = 4" else number
    said = outcome(write_profile(tmp_path, GOOD.replace(old, new)))
    if not isinstance(said, LoadedProfile):
        assert "problem" in said and len(said) < 2_000


#: Texts, numbers, lists and tables as TOML can hold them.
TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\r"), max_size=12)
WORDS = st.sampled_from(
    ["must", "off", "00:21:30;00", "10 s", "-1 frame", "1 frame", "LKFS", "dBTP", "dBFS", "single", "MOV", "25",
     "30000/1001", "drop-frame", "01:00:00;00", "AVC", "1920x1080", "silence", "stereo", "frames", ""]
)  # fmt: skip
PLAIN = st.one_of(
    TEXTS, WORDS, st.booleans(), st.integers(-(10**18), 10**18), st.integers(-70, 64), st.floats(), st.datetimes()
)
VALUES = st.recursive(
    PLAIN, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3), max_leaves=5
)


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(char):08x}" for char in value) + '"'
    if isinstance(value, float):
        return repr(value) if "e" not in repr(value) or "." in repr(value) else repr(value).replace("e", ".0e")
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_toml(key)} = {_toml(item)}" for key, item in value.items()) + "}"
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


REQUIREMENTS = [
    f"{section}.{name}"
    for section, field in Profile.model_fields.items()
    if hasattr(field.annotation, "model_fields")
    for name in field.annotation.model_fields  # type: ignore[union-attr]
]
KEYS = ["accept", "exact", "min", "max", "target", "tolerance", "unit", "level", "clause", "at", "required", "number",
        "max_luma_percent", "max_peak_dbfs", "max_level_dbfs", "min_percent", "odd"]  # fmt: skip


@given(
    tables=st.dictionaries(
        st.sampled_from(REQUIREMENTS), st.dictionaries(st.sampled_from(KEYS), VALUES, max_size=4), max_size=5
    )
)
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_value_anywhere_ends_in_a_traceback(tmp_path: Path, tables: dict[str, dict[str, Any]]) -> None:
    """Random values in random requirements: a profile or a message; a profile can be linted as well."""
    lines = ["[outlet]", 'name = "x"', 'code = "x"']
    for name, table in tables.items():
        section, _, requirement = name.partition(".")
        if section == "outlet":
            continue
        lines += [f"[{section}.{requirement}]", *(f"{key} = {_toml(value)}" for key, value in table.items())]
    path = write_profile(tmp_path, "\n".join(lines) + "\n", "x.toml")
    if isinstance(outcome(path), LoadedProfile):
        lint(path)


@given(values=st.dictionaries(st.sampled_from(REQUIREMENTS), VALUES, max_size=6))
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_value_in_place_of_a_table_ends_in_a_traceback(tmp_path: Path, values: dict[str, Any]) -> None:
    """A value where a requirement or setting is wanted."""
    text = "".join(f"{name} = {_toml(value)}\n" for name, value in values.items())
    outcome(write_profile(tmp_path, text, "x.toml"))


@given(text=st.text(st.sampled_from("[]={}\"'#.,\n\\ab1-:; \t\u00e9"), max_size=60))
@example(text='a = "\\')
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_text_ends_in_a_traceback(tmp_path: Path, text: str) -> None:
    """Random punctuation: what the parser cannot read is told by line."""
    assert isinstance(outcome(write_profile(tmp_path, text, "x.toml")), str)


@given(cut=st.integers(0, len(GOOD)), junk=st.text(st.sampled_from("[]=\"'\n,;:1a"), max_size=4))
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_damaged_profile_never_hangs_or_raises(tmp_path: Path, cut: int, junk: str) -> None:
    """The good profile with characters put in anywhere."""
    outcome(write_profile(tmp_path, GOOD[:cut] + junk + GOOD[cut:]))
