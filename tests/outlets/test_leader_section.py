"""Section [leader] of a profile: what it takes, and how its mistakes are told. Contract of this tool, no source."""

from __future__ import annotations

from pathlib import Path

import pytest

from qc.outlets.diff import differences
from qc.outlets.load import load_profile
from qc.outlets.problems import Problem, ProfileError
from qc.outlets.wording import limit_words
from tests.kit.profiles import GOOD, write_profile

ELEMENT = "[leader.layout]\n[[leader.layout.element]]\n"


def problems(folder: Path, text: str) -> list[Problem]:
    with pytest.raises(ProfileError) as told:
        load_profile(str(write_profile(folder, GOOD + text)))
    return list(told.value.problems)


@pytest.mark.parametrize(
    ("text", "section", "key", "found", "expected"),
    [
        (f'{ELEMENT}shows = "bar"\n', "leader.layout.element", "shows", '"bar"  (text)', '"bars and tone" or'),
        (f'{ELEMENT}shows = "slate"\ntolerance = "1 frame"\n', "leader.layout.element", "tolerance",
         "a tolerance without exact", "exact beside it"),
        (f'{ELEMENT}shows = "slate"\nexact = 20\n', "leader.layout.element", "exact", "20  (number)", "in quotes"),
        (f'{ELEMENT}shows = "slate"\nexact = "1 s"\nmin = "2 s"\n', "leader.layout.element", "exact",
         "exact and min together", "one form"),
        (f'{ELEMENT}shows = "slate"\nlenght = "1 s"\n', "leader.layout.element", "lenght", "does not have",
         "shows, exact"),
        (f'{ELEMENT}shows = "slate"\nmin = "9 s"\nmax = "2 s"\n', "leader.layout.element", "min", "over max",
         "at or under"),
        ("[leader.layout]\n", "leader.layout", "element", "nothing", "shows"),
        ('[leader.bars]\naccept = ["SMPTE RP219"]\n', "leader.bars", "accept", "RP219", "SMPTE RP 219"),
        ('[leader.tone_level]\ntarget = -20\ntolerance = 1\nunit = "dBFS"\n', "leader.tone_level", "convention",
         "nothing", '"sine peak" or "RMS"'),
        ('[leader.tone_level]\ntarget = 20\ntolerance = 1\nunit = "dBFS"\nconvention = "RMS"\n', "leader.tone_level",
         "target", "20  (number)", "minus sign"),
        ('[leader.tone_frequency]\ntarget = 1\ntolerance = 1\nunit = "kHz"\n', "leader.tone_frequency", "unit", '"kHz"',
         '"Hz"'),
        ('[leader.blip]\nwanted = "required"\n', "leader.blip", "wanted", "without its place", 'before = "2 s"'),
        ('[leader.blip]\nwanted = "forbidden"\nbefore = "2 s"\n', "leader.blip", "before", '"forbidden" with before',
         '"required"'),
        ('[leader.run_out]\naccept = ["colour"]\n', "leader.run_out", "accept", '"colour"', '"black" and "hold"'),
    ],
)  # fmt: skip
def test_mistakes_are_told(tmp_path: Path, text: str, section: str, key: str, found: str, expected: str) -> None:
    """Where, what was found, what is expected."""
    (problem,) = problems(tmp_path, text)
    assert (problem.section, problem.key) == (section, key)
    assert found in problem.found and (expected in problem.expected or expected in problem.meant)


def test_elements_have_to_fill_the_head(tmp_path: Path) -> None:
    """One minute and ten seconds of elements in a head of 100 s: no file could meet both."""
    lines = 'shows = "bars"\nexact = "60 s"\n[[leader.layout.element]]\nshows = "black"\nexact = "10 s"\n'
    head = '[structure.head]\nexact = "00:01:40;00"\n'
    (problem,) = problems(tmp_path, head + ELEMENT + lines)
    assert "2098 frames together, with a head of 2998 frames" in problem.found


def test_a_label_that_does_not_exist(tmp_path: Path) -> None:
    """Lengths inside elements and of the blip are read by the picture rate: there is no frame 31 at 29.97."""
    text = (
        f'{ELEMENT}shows = "bars"\nexact = "00:00:01;31"\n[leader.blip]\nwanted = "required"\nbefore = "00:00:02;31"\n'
    )
    assert [problem.key for problem in problems(tmp_path, text)] == ["exact", "before"]


def test_words(tmp_path: Path) -> None:
    """As a person says it."""
    text = (
        f'{ELEMENT}shows = "bars and tone"\nexact = "60 s"\ntolerance = "1 frame"\n'
        '[[leader.layout.element]]\nshows = "slate"\n'
        '[[leader.layout.element]]\nshows = "clock"\nmin = "5 s"\nmax = "20 s"\n'
        '[leader.blip]\nwanted = "required"\nbefore = "2 s"\nmax_late_ms = 40\n'
        '[leader.run_out]\naccept = ["black", "hold"]\nmax_peak_dbfs = -60.0\n'
    )
    profile = load_profile(str(write_profile(tmp_path, GOOD + text))).profile
    said = {key: limit_words(key, requirement) for key, requirement in profile.requirements()}
    assert said["leader.layout"] == "bars and tone 60 s +/- 1 frame, slate, clock 5 s to 20 s"
    assert said["leader.blip"] == "2 s before SOM; sound at most 40 ms late"
    assert said["leader.run_out"] == "black or the last picture held, peaks at most -60.0 dBFS"


def test_a_base_s_list_is_replaced_whole(tmp_path: Path) -> None:
    """A profile that lists its own elements has these and no other; the clause stays."""
    write_profile(
        tmp_path, f'{GOOD}[leader.layout]\nclause = "3"\n[[leader.layout.element]]\nshows = "bars"\n', "a.toml"
    )
    own = '[outlet]\nname = "B"\ncode = "b"\n[[leader.layout.element]]\nshows = "slate"\n'
    inherited = load_profile(str(write_profile(tmp_path, f'base = ["a"]\n{own}', "b.toml"))).profile
    layout = inherited.leader.layout
    assert layout is not None and layout.clause == "3" and [element.shows for element in layout.element] == ["slate"]
    keys = {
        found.key: (found.left, found.right)
        for found in differences(load_profile(str(tmp_path / "a.toml")).profile, inherited)
    }
    assert keys == {"leader.layout": ("bars", "slate")}
