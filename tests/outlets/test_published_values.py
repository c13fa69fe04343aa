"""Bases carry published values only. The table beside the tests names document and edition of each."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from qc.outlets.load import list_bases, load_base
from qc.outlets.schema_kinds import NumberLimit

TABLE = Path(__file__).parent.parent / "vectors" / "published-limits.csv"
ROWS = list(csv.DictReader(TABLE.open(encoding="utf-8")))


def _number(text: str) -> float | None:
    return float(text) if text else None


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['base']}-{row['requirement']}")
def test_base_holds_the_published_value(row: dict[str, str]) -> None:
    """Target, tolerance, maximum and unit as in the document and edition that the row names."""
    requirements = dict(load_base(row["base"]).profile.requirements())
    limit = requirements[row["requirement"]]
    assert isinstance(limit, NumberLimit)
    spread = limit.tolerance
    below, above = spread if isinstance(spread, tuple) else (None if spread is None else -spread, spread)
    assert (limit.target, below, above) == (_number(row["target"]), _number(row["below"]), _number(row["above"]))
    assert (limit.max, limit.unit) == (_number(row["max"]), row["unit"])
    year = "".join(char for char in row["edition"].split("(")[-1] if char.isdigit())[:4]
    assert row["document"] in limit.source
    assert year in limit.source or "s1" in row["document"]
    if "from memory" in row["mark"] and "carried" not in limit.source:
        assert "from memory" in limit.source


def test_every_loudness_limit_of_a_base_is_in_the_table() -> None:
    """A new number in a base needs a row with its document, or this fails."""
    known = {(row["base"], row["requirement"]) for row in ROWS}
    for path in list_bases():
        for key, _ in load_base(path).profile.requirements():
            if key.startswith(("loudness.", "true_peak.")):
                assert (path.stem, key) in known


@pytest.mark.parametrize(
    ("base", "luma", "source"),
    [
        ("ebu-r103", (-5, 105), "EBU R 103 v3.0 (2020)"),
        ("ebu-r103-2000", (-1, 103), "EBU R 103 v1.1 (2000), limits from memory; 1 % of the picture as in v3.0 (2020)"),
    ],
)
def test_picture_levels_of_r103(base: str, luma: tuple[int, int], source: str) -> None:
    """EBU R 103 v3.0 (2020): -5 % to 105 % for luma and RGB, 1 % of the picture; the first version (2000, from memory)
    held luma to -1 and 103 %. A should, as it is a recommendation."""
    limit = load_base(base).profile.levels.range
    assert limit is not None
    assert (limit.luma, limit.rgb, limit.area_percent, limit.level) == (luma, (-5, 105), 1.0, "should")
    assert limit.source == source


@pytest.mark.parametrize(("base", "rate"), [("hd-1080i-25", "25"), ("hd-1080i-2997", "30000/1001")])
def test_raster_bases(base: str, rate: str) -> None:
    """ITU-R BT.709-6: 1920x1080, square pixels, these picture rates. Upper field first is common practice."""
    picture = load_base(base).profile.picture
    assert picture.raster and picture.raster.accept == ["1920x1080"]
    assert picture.frame_rate and picture.frame_rate.accept == [rate]
    assert picture.sample_aspect and picture.sample_aspect.accept == ["1:1"]
    assert picture.scan and picture.scan.accept == ["interlaced, top first"]


@pytest.mark.parametrize(("base", "counting"), [("timecode-25", "non-drop-frame"), ("timecode-df", "drop-frame")])
def test_timecode_bases(base: str, counting: str) -> None:
    """SMPTE ST 12-1: drop-frame belongs to 30000/1001; there is none at 25."""
    wanted = load_base(base).profile.timecode.counting
    assert wanted and wanted.accept == [counting] and wanted.source == "SMPTE ST 12-1"


def test_bases_say_where_their_codec_values_come_from() -> None:
    """SMPTE RDD 9 and RDD 36 and RP 2027 by name; what is from memory says so."""
    for base, document in (
        ("mpeg2-422-50-mxf", "RDD 9"),
        ("prores-422-hq-mov", "RDD 36"),
        ("avc-intra-100-mxf", "RP 2027"),
    ):
        picture = load_base(base).profile.picture
        for wanted in (picture.codec, picture.codec_profile, picture.chroma, picture.bit_depth):
            assert wanted is not None and document in wanted.source


def test_every_value_of_a_base_has_its_source() -> None:
    """A document, or that it is common practice: never a number from nowhere."""
    for path in list_bases():
        bare = [key for key, requirement in load_base(path).profile.requirements() if not requirement.source]
        assert not bare, path.stem


def test_720p_as_st_296_has_it() -> None:
    """SMPTE ST 296, system 2: 1280x720, progressive, 60000/1001, square pixels."""
    profile = load_base("hd-720p-5994").profile
    asked = {key: getattr(requirement, "accept", None) for key, requirement in profile.requirements()}
    assert asked == {
        "picture.raster": ["1280x720"],
        "picture.frame_rate": ["60000/1001"],
        "picture.scan": ["progressive"],
        "picture.sample_aspect": ["1:1"],
        "picture.rotation": [0],
        "picture.alpha": ["none"],
        "picture.colour": ["BT.709"],
        "field_order.measured": ["progressive content"],
    }
    assert profile.picture.raster and "ST 296" in profile.picture.raster.source


@pytest.mark.parametrize(
    ("base", "dbfs", "document", "bars"),
    [("head-smpte", -20.0, "SMPTE RP 155", "SMPTE RP 219"), ("head-ebu", -18.0, "EBU R 68", "EBU 100/0/75/0")],
)
def test_line_up_of_the_heads(base: str, dbfs: float, document: str, bars: str) -> None:
    """SMPTE RP 155: -20 dBFS; EBU R 68: -18 dBFS (from memory), a sine by its peak; bars by the name of their pattern.
    1 kHz is common practice."""
    leader = load_base(base).profile.leader
    assert leader.tone_level and leader.tone_frequency and leader.bars and leader.layout
    assert (leader.tone_level.target, leader.tone_level.convention) == (dbfs, "sine peak")
    assert document in leader.tone_level.source
    assert leader.tone_frequency.target == 1000 and "common practice" in leader.tone_frequency.source
    assert leader.bars.accept == [bars]
    assert [element.shows for element in leader.layout.element][:1] == ["bars and tone"]
    assert leader.layout.element[-1].shows == "black"


def test_afd_of_a_full_picture() -> None:
    """SMPTE ST 2016-1: 1000 and 1010 fill a 16:9 raster. It is often not readable: a should."""
    wanted = load_base("afd-full-frame").profile.active_picture.afd
    assert wanted and (wanted.accept, wanted.level, wanted.source) == (["1000", "1010"], "should", "SMPTE ST 2016-1")
