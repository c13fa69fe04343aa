"""Bases merged into a profile: left to right, key by key, the profile last, every value's file known."""

from __future__ import annotations

from pathlib import Path

import pytest

from qc.outlets.load import LoadedProfile, ProfileError, load_profile
from tests.kit.profiles import GOOD, write_profile


def loaded(folder: Path, profile: str, **bases: str) -> LoadedProfile:
    for name, text in bases.items():
        write_profile(folder, text, f"base/{name}.toml")
    return load_profile(write_profile(folder, profile))


OUTLET = '[outlet]\nname = "T"\ncode = "test"\n'
LOUD = '[loudness.programme]\ntarget = -23.0\ntolerance = 1.0\nunit = "LUFS"\nsource = "S"\nnote = "N"\n'


def test_later_files_win_key_by_key(tmp_path: Path) -> None:
    """The second base changes the target, the profile the tolerance; the unit stays the first base's."""
    found = loaded(
        tmp_path,
        f'base = ["one", "two"]\n{OUTLET}[loudness.programme]\ntolerance = 0.5\nclause = "9"\n',
        one=LOUD,
        two="[loudness.programme]\ntarget = -24.0\n",  # its tolerance follows in the profile
    )
    limit = found.profile.loudness.programme
    assert limit and (limit.target, limit.tolerance, limit.unit, limit.clause) == (-24.0, 0.5, "LUFS", "9")
    assert {key.rsplit(".", 1)[1]: file for key, file in found.origins.items() if "loudness.programme." in key} == {
        "target": "base/two.toml",
        "tolerance": "test.toml",
        "unit": "base/one.toml",
        "clause": "test.toml",
    }
    assert found.chain == ("base/one.toml", "base/two.toml", "test.toml")


def test_a_changed_value_loses_the_source_that_spoke_of_the_old_one(tmp_path: Path) -> None:
    """An outlet's own -22 must not be shown as the standard's; a restated -23 keeps its source."""
    base = 'base = ["one"]\n'
    changed = loaded(tmp_path, f"{base}{OUTLET}[loudness.programme]\ntarget = -22.0\ntolerance = 1.0\n", one=LOUD)
    same = loaded(tmp_path, f'{base}{OUTLET}[loudness.programme]\ntarget = -23.0\nclause = "1"\n', one=LOUD)
    assert changed.profile.loudness.programme and same.profile.loudness.programme
    assert (changed.profile.loudness.programme.source, changed.profile.loudness.programme.note) == ("", "")
    assert (same.profile.loudness.programme.source, same.profile.loudness.programme.note) == ("S", "N")


def test_another_form_takes_the_place_of_the_inherited_form(tmp_path: Path) -> None:
    """min and max after target and tolerance, and the other way round, are no contradiction when inherited."""
    window = loaded(tmp_path, f'base = ["one"]\n{OUTLET}[loudness.programme]\nmin = -24.0\nmax = -22.0\n', one=LOUD)
    limit = window.profile.loudness.programme
    assert limit and (limit.target, limit.tolerance, limit.min, limit.max) == (None, None, -24.0, -22.0)
    assert "loudness.programme.target" not in window.origins
    trt = '[duration.trt]\nmin = "10 s"\nmax = "20 s"\n'
    exact = loaded(tmp_path, f'base = ["one"]\n{OUTLET}[duration.trt]\nexact = "15 s"\n', one=trt)
    length = exact.profile.duration.trt
    assert length and (length.exact, length.min, length.max) == ("15 s", None, None)


@pytest.mark.parametrize(
    ("said", "tolerance"),
    [
        ("max = -5.4", None),  # its own value: judged as written
        ("max = -5.4\ntolerance = 0.3", 0.3),
        ("max = -1.0", 0.3),  # the base's value again
        ('level = "should"', 0.3),
        ("tolerance = 0.1", 0.1),
    ],
)
def test_a_tolerance_goes_with_the_value_it_belongs_to(tmp_path: Path, said: str, tolerance: float | None) -> None:
    """EBU R 128 v5 (2023) grants 0.3 dB to its own -1 dBTP; an outlet's ceiling is not widened by it."""
    found = loaded(tmp_path, f'base = ["ebu-r128"]\n{OUTLET}[true_peak.programme]\n{said}\n')
    limit = found.profile.true_peak.programme
    assert limit and limit.tolerance == tolerance
    assert ("true_peak.programme.tolerance" in found.origins) is (tolerance is not None)


def test_a_target_without_its_own_tolerance_is_told(tmp_path: Path) -> None:
    """The +/-1.0 LU of EBU R 128 v5 (2023) was granted to -23.0 LUFS: nobody granted it to another target."""
    with pytest.raises(ProfileError) as caught:
        loaded(tmp_path, f'base = ["ebu-r128"]\n{OUTLET}[loudness.programme]\ntarget = -24.0\n')
    (problem,) = caught.value.problems
    assert (problem.section, problem.key) == ("loudness.programme", "target")
    assert problem.found == "target -24.0 without a tolerance"


def test_a_length_of_its_own_is_exact(tmp_path: Path) -> None:
    """Running time and the place of the sync blip: the base's second and frame were for the base's length."""
    found = loaded(
        tmp_path,
        f'base = ["one"]\n{OUTLET}[duration.trt]\nexact = "20 s"\n[leader.blip]\nbefore = "1 s"\n',
        one='[duration.trt]\nexact = "15 s"\ntolerance = "1 s"\n'
        '[leader.blip]\nwanted = "required"\nbefore = "2 s"\ntolerance = "1 frame"\n',
    )
    length, blip = found.profile.duration.trt, found.profile.leader.blip
    assert length and (length.exact, length.tolerance) == ("20 s", None)
    assert blip and (blip.before, blip.tolerance) == ("1 s", None)


def test_a_list_takes_the_place_of_the_inherited_list(tmp_path: Path) -> None:
    """Accepted values and channel groups are not added to the inherited ones."""
    group = '[[audio.group]]\nname = "{}"\nchannels = [{}]\nlayout = "mono"\n'
    found = loaded(
        tmp_path,
        f'base = ["one"]\n{OUTLET}[picture.codec]\naccept = ["AVC"]\n' + group.format("b", 2),
        one='[picture.codec]\naccept = ["ProRes", "VC-3"]\n' + group.format("a", 1),
    )
    assert found.profile.picture.codec and found.profile.picture.codec.accept == ["AVC"]
    assert [item.name for item in found.profile.audio.group] == ["b"]
    assert found.origins["audio.group"] == "test.toml"


def test_off_takes_an_inherited_requirement_away(tmp_path: Path) -> None:
    """Nothing is judged by it, and the file that says so is known."""
    found = loaded(tmp_path, f'base = ["one"]\n{OUTLET}[loudness.programme]\nlevel = "off"\n', one=LOUD)
    assert found.profile.loudness.programme is None
    assert found.removed == {"loudness.programme": "test.toml"}
    assert "loudness.programme" not in dict(found.profile.requirements())


def test_a_later_file_can_ask_again(tmp_path: Path) -> None:
    """Off in a base, must in the profile: the inherited values count again."""
    found = loaded(
        tmp_path,
        f'base = ["one", "two"]\n{OUTLET}[loudness.programme]\nlevel = "must"\n',
        one=LOUD,
        two='[loudness.programme]\nlevel = "off"\n',
    )
    assert found.profile.loudness.programme and found.profile.loudness.programme.target == -23.0
    assert found.removed == {}


def test_a_base_of_a_base_comes_first(tmp_path: Path) -> None:
    """Depth first: what is nearest to the outlet counts last."""
    write_profile(tmp_path, LOUD, "base/deep.toml")
    found = loaded(
        tmp_path,
        f'base = "near"\n{OUTLET}',
        near='base = ["deep"]\n[loudness.programme]\ntarget = -20.0\ntolerance = 1.0\n',
    )
    assert found.profile.loudness.programme and found.profile.loudness.programme.target == -20.0
    assert found.chain == ("base/deep.toml", "base/near.toml", "test.toml")


def test_an_outlet_that_inherits_from_an_outlet_needs_its_own_name(tmp_path: Path) -> None:
    """Two outlets of one code would overwrite each other's reports."""
    with pytest.raises(ProfileError) as caught:
        load_profile(write_profile(tmp_path, 'base = ["kerrawind"]\n'))
    assert [(problem.section, problem.key) for problem in caught.value.problems] == [
        ("outlet", "name"),
        ("outlet", "code"),
    ]


def test_the_hash_covers_every_file(tmp_path: Path) -> None:
    """A changed base changes the hash; the folder's place on disk does not."""
    first = loaded(tmp_path / "a", f'base = ["one"]\n{OUTLET}', one=LOUD)
    same = loaded(tmp_path / "b", f'base = ["one"]\n{OUTLET}', one=LOUD)
    other = loaded(tmp_path / "c", f'base = ["one"]\n{OUTLET}', one=LOUD + "# a word\n")
    assert first.sha256 == same.sha256 != other.sha256
    assert len(first.sha256) == 64


def test_origins_name_no_folder_of_this_machine(tmp_path: Path) -> None:
    """Reports are the same on every machine: files are named from the profile's folder or the shipped one."""
    found = loaded(tmp_path, f'base = ["one", "op-59"]\n{OUTLET}', one=LOUD)
    assert found.file == "test.toml"
    assert set(found.chain) == {"base/one.toml", "profiles/base/op-59.toml", "test.toml"}
    assert all(str(tmp_path) not in file for file in found.origins.values())


@pytest.mark.parametrize("name", ["../one", "/etc/passwd", "..", "a/b/c", "base\\\\one", "C:one", "", "-x", "a" * 200])
def test_a_base_cannot_lead_out_of_its_folder(tmp_path: Path, name: str) -> None:
    """Only plain names: nothing outside the profile's folder and the shipped profiles is read."""
    write_profile(tmp_path, LOUD, "one.toml")
    with pytest.raises(ProfileError) as caught:
        load_profile(write_profile(tmp_path, f'base = ["{name}"]\n{GOOD}', "inner/test.toml"))
    (problem,) = caught.value.problems
    assert problem.key == "base"
    assert problem.expected == "the plain name of a profile in this folder or its base/ folder"


def test_a_link_cannot_lead_out_of_its_folder(tmp_path: Path) -> None:
    """A base that is a link to a file elsewhere counts as missing."""
    outside = write_profile(tmp_path, LOUD, "outside/one.toml")
    path = write_profile(tmp_path, f'base = ["one"]\n{GOOD}', "inner/test.toml")
    (path.parent / "one.toml").symlink_to(outside)
    with pytest.raises(ProfileError, match="does not exist"):
        load_profile(path)


def test_many_bases_that_multiply_are_refused(tmp_path: Path) -> None:
    """Thirty files that each inherit twice from the next would be read a thousand million times."""
    for number in range(30):
        write_profile(tmp_path, f'base = ["b{number + 1}", "b{number + 1}"]\n', f"b{number}.toml")
    write_profile(tmp_path, "", "b30.toml")
    with pytest.raises(ProfileError, match="more than 40 files"):
        load_profile(write_profile(tmp_path, f'base = ["b0"]\n{GOOD}'))
