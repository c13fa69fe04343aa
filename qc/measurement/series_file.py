"""The series of one measurement as an npz file, uncompressed: read back in a fraction of a second."""

from __future__ import annotations

import zipfile
from fractions import Fraction
from pathlib import Path

import numpy as np

from qc.measurement.record import LumaBins, PictureSeries, SoundSeries

_SOUND = {
    "energy": np.float32,
    "plain": np.float32,
    "sample_peak": np.float32,
    "true_peak": np.float32,
    "full_scale_runs": np.uint16,
    "extent": np.int64,
    "samples": np.int64,
    "invalid_samples": np.int64,
    "used_bits": np.int16,
}
_PICTURE = {
    "luma": np.uint32,
    "counted": np.uint32,
    "darkest": np.uint16,
    "brightest": np.uint16,
    "time": np.int64,
}


#: Further series of the meters, kept under their own names.
_EXTRA = "picture+"
_SOUND_EXTRA = "sound+"


class SeriesError(ValueError):
    """A series file that is damaged or of another form."""


def write_series(path: Path, sound: SoundSeries | None, picture: PictureSeries | None) -> None:
    """Write both series, whichever there are. Raises OSError."""
    arrays: dict[str, np.ndarray] = {}
    if sound is not None:
        arrays |= {f"sound.{name}": getattr(sound, name) for name in _SOUND}
        arrays |= {f"{_SOUND_EXTRA}{name}": array for name, array in sound.extra.items()}
    if picture is not None:
        arrays |= {f"picture.{name}": getattr(picture, name) for name in _PICTURE}
        arrays |= {f"{_EXTRA}{name}": array for name, array in picture.extra.items()}
        base, bins = picture.time_base, picture.bins
        arrays["picture.time_base"] = np.array([base.numerator, base.denominator], np.int64)
        arrays["picture.bins"] = np.array([bins.depth, bins.full_range], np.int64)
        arrays["picture.edges"] = bins.edges
    with open(path, "wb") as file:
        np.savez(file, **arrays)  # type: ignore[arg-type]


def read_series(path: Path) -> tuple[SoundSeries | None, PictureSeries | None]:
    """Read both series back. Raises SeriesError or OSError."""
    try:
        with np.load(path, allow_pickle=False) as kept:
            arrays = {name: kept[name] for name in kept.files}
        return _sound(arrays), _picture(arrays)
    except (ValueError, KeyError, IndexError, EOFError, zipfile.BadZipFile, NotImplementedError) as error:
        raise SeriesError(f"the series cannot be read ({type(error).__name__})") from None


def _sound(arrays: dict[str, np.ndarray]) -> SoundSeries | None:
    if "sound.energy" not in arrays:
        return None
    parts = {name: _checked(arrays, f"sound.{name}", kind) for name, kind in _SOUND.items()}
    series = SoundSeries(extra=_extra(arrays, _SOUND_EXTRA), **parts)
    rows, channels = series.energy.shape
    for name in ("plain", "sample_peak", "true_peak", "full_scale_runs"):
        _expect(getattr(series, name).shape == (rows, channels))
    _expect(series.extent.shape == (channels, 2))
    _expect(all(getattr(series, name).shape == (channels,) for name in ("samples", "invalid_samples", "used_bits")))
    return series


def _picture(arrays: dict[str, np.ndarray]) -> PictureSeries | None:
    if "picture.luma" not in arrays:
        return None
    above, below = (int(value) for value in arrays["picture.time_base"])
    depth, full_range = (int(value) for value in arrays["picture.bins"])
    edges = _checked(arrays, "picture.edges", np.int32)
    _expect(below > 0 and depth in (8, 10))
    parts = {name: _checked(arrays, f"picture.{name}", kind) for name, kind in _PICTURE.items()}
    frames = len(parts["luma"])
    _expect(parts["luma"].shape == (frames, len(edges) - 1))
    _expect(all(parts[name].shape == (frames,) for name in parts if name != "luma"))
    return PictureSeries(
        bins=LumaBins(depth, edges, bool(full_range)),
        time_base=Fraction(above, below),
        extra=_extra(arrays, _EXTRA),
        **parts,
    )


def _extra(arrays: dict[str, np.ndarray], mark: str) -> dict[str, np.ndarray]:
    return {name.removeprefix(mark): array for name, array in arrays.items() if name.startswith(mark)}


def _checked(arrays: dict[str, np.ndarray], name: str, kind: type) -> np.ndarray:
    array = arrays[name]
    _expect(array.dtype == kind)
    return array


def _expect(holds: bool) -> None:
    if not holds:
        raise ValueError("shape or type")
