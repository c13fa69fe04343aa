"""A profile by name or by path; the nearest name where there is none."""

from __future__ import annotations

from pathlib import Path

import pytest

from qc.outlets.load import ProfileError, UnknownProfile, load_base, load_profile
from tests.kit.profiles import write_profile


@pytest.mark.parametrize("name", ["corvane-5", "CORVANE-5", " Corvane-5 "])
def test_a_name_in_any_case(name: str) -> None:
    """People type names as they like."""
    assert load_profile(name).file == "profiles/corvane-5.toml"


def test_a_path(tmp_path: Path) -> None:
    """As text or Path; the file's ending says that it is a path."""
    path = write_profile(tmp_path)
    assert load_profile(path).profile == load_profile(str(path)).profile


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("corvane", "no outlet profile is called 'corvane'. Did you mean corvane-5?"),
        ("Tidewold One", "no outlet profile is called 'Tidewold One'. Did you mean tidewold-one?"),
        ("zzz", "no outlet profile is called 'zzz'. See qc profiles list, or give the path of a .toml file."),
        ("ebu-r128", "ebu-r128 is a base, not an outlet. Inherit from it in a profile: base = [...]."),
        ("", "a profile's name cannot be empty or hold a zero byte. See qc profiles list."),
        (
            "nowhere/x.toml",
            "there is no profile nowhere/x.toml. Give the path of a .toml file, or a name from qc profiles list.",
        ),
    ],
)
def test_a_name_that_nothing_has(asked: str, said: str) -> None:
    """What is wrong and the nearest name; status 2."""
    with pytest.raises(UnknownProfile) as caught:
        load_profile(asked)
    assert str(caught.value) == said
    assert caught.value.exit_status == 2


def test_a_path_that_is_nearly_right(tmp_path: Path) -> None:
    """The nearest file of that folder."""
    write_profile(tmp_path, name="station.toml")
    with pytest.raises(UnknownProfile, match=r"Did you mean station\.toml\?"):
        load_profile(tmp_path / "sation.toml")


@pytest.mark.parametrize("name", ["x\0y", "a" * 5000 + ".toml", "-rf.toml", "\u202e.toml", "\ud800.toml"])
def test_hostile_names(name: str) -> None:
    """Zero bytes, endless names, options, direction marks, bytes that are no text: a message."""
    with pytest.raises(ProfileError) as caught:
        load_profile(name)
    assert str(caught.value).isprintable()


def test_a_base_on_its_own() -> None:
    """A base can be looked at; it is no outlet."""
    assert load_base("op-59").profile.loudness.programme is not None
    assert load_base("op-59").file == "profiles/base/op-59.toml"
