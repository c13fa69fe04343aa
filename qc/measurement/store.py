"""Measurements kept on disk, so that a second check of an unchanged file decodes nothing.

A record is a folder's pair of files, header (JSON) and series (npz), both written under a temporary
name and renamed, the header last: a record without a header does not exist. An index entry per
path remembers size, modification time and inode; while those hold, the record is trusted. If only
the content's fingerprint matches, the whole file is hashed and compared first.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Callable
from dataclasses import asdict, replace
from importlib import metadata
from pathlib import Path
from typing import Any

from qc import __version__
from qc.measurement.fingerprint import FileStamp, fingerprint, full_sha256
from qc.measurement.header import Header, HeaderError, from_dict, to_dict
from qc.measurement.record import METERS_VERSION, FileIdentity, Measurement
from qc.measurement.series_file import SeriesError, read_series, write_series
from qc.media.file_ending import ending_agrees

FORM = 1
#: Bytes of records kept; the longest unused go first.
MOST_BYTES = 8 << 30
_STILLS = ".stills"


def default_folder() -> Path:
    """AIRWORTHY_STORE, else the user's cache folder."""
    chosen = os.environ.get("AIRWORTHY_STORE")
    if chosen:
        return Path(chosen)
    cache = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    return (Path(cache) if cache else Path.home() / ".cache") / "airworthy"


class Store:
    """Records in one folder; ``why`` says in a sentence what was wrong with the last one asked for or kept.

    Never raises for what it finds there: a record that is damaged, of another version or not of
    this file is as good as none. Safe with several runs at once: the last complete record wins.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder if folder is not None else default_folder()
        self.why = ""

    def find(self, path: Path) -> Measurement | None:
        """The kept measurement of this very content, or None; then ``why`` may say why not."""
        self.why = ""
        try:
            stamp = FileStamp.of(path)
            if not path.is_file():
                return None
            entry = self._entry(path)
            if entry is not None and entry.get("stamp") == asdict(stamp):
                found = self._read(str(entry.get("record")), path)
                if found is not None:
                    return found
            mark = fingerprint(path)
            if not self._header_path(record_name(mark)).exists():
                return None
            found = self._read(record_name(mark), path)
            if found is None:
                return None
            if full_sha256(path) != found.identity.sha256:
                self.why = f"{path.name}: a kept measurement looks alike but is of another file; measured again"
                return None
            if FileStamp.of(path) != stamp:
                return None
            self._write_entry(path, stamp, record_name(mark))
            return found
        except OSError as error:
            self.why = f"{path.name}: the kept measurement cannot be read ({error.strerror}); measured again"
            return None

    def keep(self, measurement: Measurement, path: Path | None = None) -> None:
        """Keep a complete measurement; with the path it was made from, it is found again at once."""
        self.why = ""
        identity = measurement.identity
        if not measurement.complete or identity.sha256 is None:
            return
        name = record_name(identity.fingerprint)
        try:
            self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            series = self.replace(
                self._series_path(name), lambda part: write_series(part, measurement.sound, measurement.picture)
            )
            header = {
                "form": FORM,
                "written_by": versions(),
                "series_bytes": series,
                "header": to_dict(Header.of(measurement)),
            }
            self.replace(self._header_path(name), lambda part: part.write_text(json.dumps(header), encoding="utf-8"))
            if path is not None:
                stamp = FileStamp.of(path)
                if stamp.size == identity.size:
                    self._write_entry(path, stamp, name)
            self._make_room(name)
        except OSError as error:
            self.why = f"the measurement of {identity.name} could not be kept in {self.folder} ({error.strerror})"

    # -- records -----------------------------------------------------------------------------------

    def _read(self, name: str, path: Path) -> Measurement | None:
        """A record by its name, if it is whole and of this version; the name the file has now."""
        header_path, series_path = self._header_path(name), self._series_path(name)
        try:
            kept = json.loads(header_path.read_text(encoding="utf-8"))
            if not isinstance(kept, dict) or kept.get("form") != FORM or kept.get("written_by") != versions():
                self.why = f"{path.name}: the kept measurement was made by another version; measured again"
                return None
            header = from_dict(Header, kept.get("header"))
            if series_path.stat().st_size != kept.get("series_bytes"):
                raise SeriesError("the series has another size than its header says")
            sound, picture = read_series(series_path)
        except FileNotFoundError:
            return None
        except (HeaderError, SeriesError, ValueError, RecursionError) as error:
            self.why = f"{path.name}: the kept measurement is damaged ({error}); measured again"
            return None
        os.utime(header_path)  # in use: the last to be thrown out
        plain = {field: getattr(header, field) for field in Header.__dataclass_fields__}
        # Kept with the content, but said of the name
        plain["identity"] = replace(header.identity, name=path.name)
        plain["facts"] = replace(header.facts, extension_agrees=ending_agrees(header.facts.wrapper, path.name))
        return Header(**plain).with_series(sound, picture)

    def _header_path(self, name: str) -> Path:
        return self.folder / f"{name}.json"

    def _series_path(self, name: str) -> Path:
        return self.folder / f"{name}.npz"

    def stills_path(self, identity: FileIdentity) -> Path:
        """Where the stills of a file are kept; the file goes when its record goes."""
        return self.folder / f"{record_name(identity.fingerprint)}{_STILLS}"

    def replace(self, target: Path, write: Callable[[Path], Any]) -> int:
        """Write beside the target, then rename over it; returns the size. Raises OSError."""
        handle, name = tempfile.mkstemp(prefix="part-", suffix=target.suffix, dir=self.folder)
        os.close(handle)
        part = Path(name)
        try:
            write(part)
            size = part.stat().st_size
            os.replace(part, target)
            return size
        finally:
            part.unlink(missing_ok=True)

    def _make_room(self, newest: str) -> None:
        """Throw out the longest unused records beyond MOST_BYTES."""
        records = []
        for header in self.folder.glob("record-*.json"):
            series = header.with_suffix(".npz")
            if series.exists():
                stills = header.with_suffix(_STILLS)
                size = series.stat().st_size + (stills.stat().st_size if stills.exists() else 0)
                records.append((header.stat().st_mtime_ns, size, header, series))
        total = sum(size for _, size, _, _ in records)
        for _, size, header, series in sorted(records):
            if total <= MOST_BYTES:
                return
            if header.stem != newest:
                header.unlink(missing_ok=True)
                series.unlink(missing_ok=True)
                header.with_suffix(_STILLS).unlink(missing_ok=True)
                total -= size

    # -- index -------------------------------------------------------------------------------------

    def _entry_path(self, path: Path) -> Path:
        key = os.fsencode(os.path.abspath(path))
        return self.folder / f"path-{hashlib.sha256(key).hexdigest()[:32]}.json"

    def _entry(self, path: Path) -> dict[str, Any] | None:
        try:
            entry = json.loads(self._entry_path(path).read_text(encoding="utf-8"))
        except (OSError, ValueError, RecursionError):
            return None
        name = entry.get("record") if isinstance(entry, dict) else None
        return entry if isinstance(name, str) and _is_record_name(name) else None

    def _write_entry(self, path: Path, stamp: FileStamp, name: str) -> None:
        entry = {"stamp": asdict(stamp), "record": name}
        self.replace(self._entry_path(path), lambda part: part.write_text(json.dumps(entry), encoding="utf-8"))


def versions() -> dict[str, str]:
    """What a record must have been made with to be used again."""
    return {"tool": __version__, "meters": str(METERS_VERSION), "av": metadata.version("av")}


def record_name(mark: str) -> str:
    """File name stem of the record of a fingerprint."""
    return f"record-{mark[:40]}"


def _is_record_name(name: str) -> bool:
    return name.startswith("record-") and name.removeprefix("record-").isalnum()
