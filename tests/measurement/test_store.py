"""Kept measurements: found again, checked before they are trusted, never in the way."""

from __future__ import annotations

import json
import os
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from qc.measurement import child, store
from qc.measurement.child import measure_file
from qc.measurement.record import LumaBins, Measurement, PictureSeries, SoundSeries
from qc.measurement.store import Store, default_folder
from qc.meters.picture.luma import bin_edges
from tests.kit.render import episode


@pytest.fixture(scope="session")
def measured(media_dir: Path) -> tuple[Path, Measurement]:
    made = episode(media_dir / "kept.mov", acts=(20, 20), raster=(128, 72))
    return made.path, measure_file(made.path, store=None)


@pytest.fixture
def file(measured: tuple[Path, Measurement], tmp_path: Path) -> Path:
    copy = tmp_path / "kept.mov"
    copy.write_bytes(measured[0].read_bytes())
    return copy


@pytest.fixture
def kept(measured: tuple[Path, Measurement], file: Path, tmp_path: Path) -> Store:
    found = Store(tmp_path / "store")
    found.keep(measured[1], file)
    assert found.why == ""
    return found


@pytest.fixture
def no_child(monkeypatch: pytest.MonkeyPatch) -> None:
    """Any child process that is started now ends at once without a result."""
    monkeypatch.setattr(child, "WORKER", ("-c", "raise SystemExit(9)"))


def same(one: Measurement, other: Measurement) -> bool:
    assert one.picture is not None and other.picture is not None
    assert one.sound is not None and other.sound is not None
    return (
        np.array_equal(one.picture.luma, other.picture.luma)
        and np.array_equal(one.sound.energy, other.sound.energy)
        and (one.facts, one.events, one.libraries, one.rate) == (other.facts, other.events, other.libraries, other.rate)
        and one.identity.sha256 == other.identity.sha256
    )


@pytest.mark.usefixtures("no_child")
def test_an_unchanged_file_is_not_decoded_again(kept: Store, file: Path, measured: tuple[Path, Measurement]) -> None:
    """The second measurement starts no child and is the first, facts called all the same."""
    told = []
    again = measure_file(file, store=kept, on_facts=told.append)

    assert same(again, measured[1])
    assert told == [again.facts]


@pytest.mark.usefixtures("no_child")
def test_a_renamed_copy_is_known_by_its_content(kept: Store, file: Path, tmp_path: Path) -> None:
    """Another path with the same bytes is hashed once, then trusted; the record bears the name it has now."""
    moved = tmp_path / "renamed.mov"
    moved.write_bytes(file.read_bytes())
    again = measure_file(moved, store=kept)

    assert again.identity.name == "renamed.mov"
    assert kept.find(moved) is not None


@pytest.mark.usefixtures("no_child")
def test_a_renamed_copy_ends_as_its_own_name_does(kept: Store, file: Path, tmp_path: Path) -> None:
    """What a name says is not kept with the content: neither a wrong ending nor a right one is remembered."""
    for name, agrees in (("copy.mxf", False), ("copy.mov", True), ("again.mxf", False)):
        copy = tmp_path / name
        copy.write_bytes(file.read_bytes())
        for _ in range(2):  # found by its content, then by its path
            assert measure_file(copy, store=kept).facts.extension_agrees is agrees


def test_fresh_measures_again(kept: Store, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """``fresh`` asks the decoder though the store knows the file."""
    monkeypatch.setattr(child, "WORKER", ("-c", "raise SystemExit(9)"))
    with pytest.raises(child.CannotMeasure):
        measure_file(file, store=kept, fresh=True)


def test_one_byte_changed_where_no_sample_looks_is_another_file(
    measured: tuple[Path, Measurement], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fingerprint only finds; the checksum of the whole file decides."""
    monkeypatch.setattr("qc.measurement.fingerprint.SAMPLE_BYTES", 64)
    path = tmp_path / "kept.mov"
    path.write_bytes(measured[0].read_bytes())
    kept = Store(tmp_path / "store")
    kept.keep(measure_file(path, store=None), path)
    mark = store.fingerprint(path)
    # the child samples with its own sizes: file the record under this process's fingerprint
    record = measure_file(path, store=None)
    kept.keep(replace(record, identity=replace(record.identity, fingerprint=mark)))
    other = bytearray(path.read_bytes())
    at = next(at for at in range(1000, len(other), 997) if store.fingerprint(_written(tmp_path, other, at)) == mark)
    changed = _written(tmp_path, other, at)

    assert kept.find(changed) is None
    assert "another file" in kept.why


def _written(folder: Path, content: bytearray, at: int) -> Path:
    changed = bytearray(content)
    changed[at] ^= 0xFF
    path = folder / "changed.mov"
    path.write_bytes(changed)
    return path


def test_a_changed_time_alone_is_checked_and_trusted_again(kept: Store, file: Path) -> None:
    """A touched file with the same bytes is hashed and its record still used."""
    os.utime(file, ns=(1, 1))

    assert kept.find(file) is not None


@pytest.mark.parametrize("damage", ["empty", "cut", "garbage", "swapped"])
@pytest.mark.parametrize("part", ["record-*.json", "record-*.npz", "path-*.json"])
def test_a_damaged_store_is_ignored_with_a_reason(kept: Store, file: Path, part: str, damage: str) -> None:
    """Whatever lies there, no crash: either the record is whole, or it is not used and says why."""
    for path in kept.folder.glob(part):
        content = path.read_bytes()
        path.write_bytes(
            {
                "empty": b"",
                "cut": content[: len(content) // 2],
                "garbage": b"\xff\x00" * 500,
                "swapped": b"[1, 2]" if path.suffix == ".json" else content[::-1],
            }[damage]
        )
    found = kept.find(file)

    if part == "path-*.json":
        assert found is not None
    else:
        assert (found is None and "damaged" in kept.why) or "version" in kept.why


def test_a_flipped_bit_in_the_series_is_noticed(kept: Store, file: Path) -> None:
    """The series carry checksums (CRC-32 of the zip container)."""
    (series,) = kept.folder.glob("record-*.npz")
    content = bytearray(series.read_bytes())
    content[len(content) // 2] ^= 1
    series.write_bytes(content)

    assert kept.find(file) is None
    assert "damaged" in kept.why


def test_a_record_of_another_version_is_ignored_with_a_reason(
    kept: Store, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another meter, tool or decoder version measures anew."""
    monkeypatch.setattr(store, "METERS_VERSION", 10**6)

    assert kept.find(file) is None
    assert "another version" in kept.why


def test_only_complete_measurements_are_kept(measured: tuple[Path, Measurement], tmp_path: Path) -> None:
    """A partial record would be a pass of something unmeasured later."""
    empty = Store(tmp_path / "store")
    empty.keep(replace(measured[1], complete=False, incomplete_because="early end"), measured[0])

    assert not (tmp_path / "store").exists()


def test_a_folder_that_cannot_be_written_stops_nothing(
    file: Path, measured: tuple[Path, Measurement], tmp_path: Path
) -> None:
    """The measurement is still given; the note says what could not be kept."""
    blocked = tmp_path / "blocked"
    blocked.write_text("a file, not a folder")
    notes: list[str] = []
    found = measure_file(file, store=Store(blocked / "store"), on_note=notes.append)

    assert same(found, measured[1])
    assert any("could not be kept" in note for note in notes)


def test_nothing_half_written_is_left(kept: Store) -> None:
    """After keeping, only whole files lie in the folder."""
    assert {path.name.split("-")[0] for path in kept.folder.iterdir()} == {"record", "path"}


def test_a_record_of_a_full_episode_is_read_in_a_moment(
    measured: tuple[Path, Measurement], file: Path, tmp_path: Path
) -> None:
    """38,662 pictures at 10 bits and 8 channels of 21:30 are read back in under 0.3 s of CPU."""
    frames, rows, channels = 38_662, 129_000, 8
    edges = bin_edges(10)
    numbers = np.zeros((frames, len(edges) - 1), np.uint32)
    flat = np.zeros((rows, channels), np.float32)
    each = np.zeros(channels, np.int64)
    picture = PictureSeries(
        numbers, LumaBins(10, edges, False), np.ones(frames, np.uint32), np.zeros(frames, np.uint16),
        np.zeros(frames, np.uint16), np.arange(frames, dtype=np.int64), measured[1].picture.time_base,  # type: ignore[union-attr]
    )  # fmt: skip
    sound = SoundSeries(
        flat, flat, flat, flat, flat.astype(np.uint16), np.zeros((channels, 2), np.int64), each, each,
        each.astype(np.int16),
    )  # fmt: skip
    long = Store(tmp_path / "long")
    long.keep(replace(measured[1], picture=picture, sound=sound), file)
    began = time.process_time()
    found = long.find(file)

    assert found is not None and found.picture is not None and found.picture.frames == frames
    assert time.process_time() - began < 0.3


def test_old_records_make_room(
    kept: Store, measured: tuple[Path, Measurement], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beyond the bound the longest unused record goes, never the one just kept."""
    monkeypatch.setattr(store, "MOST_BYTES", 1)
    other = replace(measured[1], identity=replace(measured[1].identity, fingerprint="ab" * 32))
    kept.keep(other)

    assert [path.name for path in kept.folder.glob("record-*.json")] == [f"record-{'ab' * 20}.json"]


def test_the_default_folder_follows_the_environment(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """AIRWORTHY_STORE decides; otherwise the user's cache folder."""
    monkeypatch.setenv("AIRWORTHY_STORE", str(tmp_path / "here"))
    assert default_folder() == tmp_path / "here"

    monkeypatch.delenv("AIRWORTHY_STORE")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert default_folder() == tmp_path / "airworthy"


def test_a_header_is_plain_json(kept: Store) -> None:
    """What is kept can be read by anybody."""
    (header,) = kept.folder.glob("record-*.json")

    assert json.loads(header.read_text())["header"]["identity"]["name"] == "kept.mov"
