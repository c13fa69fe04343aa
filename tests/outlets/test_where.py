"""Lines of keys, which the standard library's parser does not give."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.outlets.load import list_bases, list_profiles
from qc.outlets.where import key_lines

TEXT = '''\
# a comment with [brackets] and = signs
base = [
  "one",      # the first
  "two",
]

[a.b]
x = "text with # and [ and ="
y = """
[not.a.header]
z = 1
"""
'q"k' = 'raw \\'

[[list.item]]
n = 1
[[list.item]]
n = 2
t = { u = 1, v = [1, 2] }
d.e = 3
'''


def test_lines_of_keys_tables_and_list_items() -> None:
    """Comments, long texts, quoted keys, lists over lines, lists of tables, tables in a line."""
    lines = key_lines(TEXT)
    assert tomllib.loads(TEXT)
    assert {path: lines[path] for path in [("base",), ("base", 1), ("a", "b"), ("a", "b", "x"), ("a", "b", "y")]} == {
        ("base",): 2,
        ("base", 1): 4,
        ("a", "b"): 7,
        ("a", "b", "x"): 8,
        ("a", "b", "y"): 9,
    }
    assert lines[("a", "b", 'q"k')] == 13
    assert lines[("list", "item", 0, "n")] == 16
    assert lines[("list", "item", 1, "n")] == 18
    assert lines[("list", "item", 1, "t", "v")] == 19
    assert lines[("list", "item", 1, "d", "e")] == 20
    assert not any("not" in path for path in lines)


def _paths(value: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    found = [path] if path else []
    if isinstance(value, dict):
        return found + [inner for key, item in value.items() for inner in _paths(item, (*path, key))]
    if isinstance(value, list) and any(isinstance(item, dict) for item in value):
        return found + [inner for place, item in enumerate(value) for inner in _paths(item, (*path, place))]
    return found


@pytest.mark.parametrize("path", [*list_profiles(), *list_bases()], ids=lambda path: path.stem)
def test_every_key_of_a_shipped_profile_has_its_line(path: Path) -> None:
    """Every key that the parser finds has a line, and the key stands on that line."""
    text = path.read_text(encoding="utf-8")
    rows, lines = text.split("\n"), key_lines(text)
    for key in _paths(tomllib.loads(text)):
        assert key in lines
        name = next(step for step in reversed(key) if isinstance(step, str))
        assert name in rows[lines[key] - 1]


@given(st.text(st.sampled_from("[]={}\"'#.,\n\\ab1 "), max_size=80))
def test_the_scan_never_raises(text: str) -> None:
    """It reads texts that the parser refused, too."""
    assert all(line >= 1 for line in key_lines(text).values())
