"""The heads of the demo are what they are called, and pass at the outlets that ask for them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import av
import numpy as np
import pytest

from qc.demo.outlet_forms import FORMS
from qc.demo.render import render, stems_of
from qc.demo.version import Version
from qc.judge import judge
from qc.judge.verdict import Outcome, Verdict
from qc.measurement.child import measure_file
from qc.outlets.load import load_profile


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("heads")


def rendered(folder: Path, outlet: str) -> Path:
    """The head with three seconds of programme."""
    form = replace(FORMS[outlet], acts=(90,))
    return render(Version(201, outlet), folder, stems_of(201), form=form)


def verdict(path: Path, outlet: str) -> Verdict:
    return judge(measure_file(path, store=None), load_profile(outlet))


@pytest.mark.parametrize("outlet", ["meadowline-public-mini", "velmark-kanal-mini"])
def test_heads_pass_where_they_are_asked_for(folder: Path, outlet: str) -> None:
    """Everything of [leader] and the length of the head, through the child process."""
    found = [
        finding
        for finding in verdict(rendered(folder, outlet), outlet).findings
        if finding.requirement.startswith(("leader.", "structure.head"))
    ]
    assert len(found) >= 4
    assert [(finding.subject, finding.reason) for finding in found if finding.outcome is not Outcome.PASS] == []


def test_what_the_head_shows(folder: Path) -> None:
    """Codes of SMPTE RP 219 (10 bits, from memory) in the bars; white only in the flash; black after it."""
    path = folder / f"{FORMS['meadowline-public-mini'].name.format(episode=201)}.mov"
    if not path.exists():
        rendered(folder, "meadowline-public-mini")
    with av.open(str(path)) as container:
        shown = [frame.to_ndarray(format="yuv422p10le") for frame in container.decode(video=0)][:300]
    # One plane under the other: luma, then Cb and Cr in half width.
    luma = np.stack([frame.reshape(-1)[: 320 * 180].reshape(180, 320) for frame in shown]).astype(int)
    assert luma[90, 50, 20] == pytest.approx(414, abs=6)  # 40 % grey
    assert luma[90, 50, 57] == pytest.approx(721, abs=6)  # 75 % white
    assert luma[90, 50, 160] == pytest.approx(534, abs=6)  # 75 % green
    assert luma[90, 50, 262] == pytest.approx(111, abs=6)  # 75 % blue
    assert np.array_equal(luma[0], luma[179]) and not np.array_equal(luma[179], luma[180])
    assert luma[200].max() > 700 > luma[200].mean()  # light letters on a dark slate
    middle = luma[270:300, 90, 160]
    assert [frame for frame, code in enumerate(middle, 270) if code > 200] == [294]
