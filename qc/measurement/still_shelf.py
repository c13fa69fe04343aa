"""Stills kept beside the record of their file, so that a second check decodes nothing.

One file for each record, thrown out with it. A still is used again only for the same content (SHA-256 of
the media file), frame and label, made by the same versions; a shelf that is damaged is as good as none.
"""

from __future__ import annotations

import base64
import contextlib
import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import Any

from qc.measurement.record import FileIdentity
from qc.measurement.store import Store, versions
from qc.measurement.wanted_still import TakenStill, WantedStill

FORM = 1
#: Stills of one file that are kept; those of the latest check stay.
MOST_KEPT = 96
#: No shelf is larger than this.
_MOST_BYTES = 16 << 20


class StillShelf:
    """The kept stills of one file; never raises for what it finds there."""

    def __init__(self, store: Store, identity: FileIdentity) -> None:
        self._store, self._sha256 = store, identity.sha256
        self._path = store.stills_path(identity)

    def find(self, wanted: Iterable[WantedStill]) -> dict[int, TakenStill]:
        """Those of the wanted ones that are kept, by frame."""
        kept = self._entries()
        found = {}
        for still in wanted:
            entry = kept.get(_key(still))
            taken = _still(entry, still.frame) if entry is not None else None
            if taken is not None:
                found[still.frame] = taken
        return found

    def keep(self, stills: Mapping[WantedStill, TakenStill]) -> None:
        """Adds stills; nothing is kept where the record itself is not."""
        if self._sha256 is None or not stills or not self._path.with_suffix(".json").exists():
            return
        entries = {_key(wanted): _entry(taken) for wanted, taken in stills.items()}
        for key, entry in self._entries().items():
            if len(entries) < MOST_KEPT:
                entries.setdefault(key, entry)
        plain = {"form": FORM, "written_by": versions(), "sha256": self._sha256, "stills": entries}
        with contextlib.suppress(OSError):  # a full disk costs time at the next check, nothing else
            self._store.replace(self._path, lambda part: part.write_text(json.dumps(plain), encoding="utf-8"))

    def _entries(self) -> dict[str, dict[str, Any]]:
        try:
            if self._path.stat().st_size > _MOST_BYTES:
                return {}
            plain = json.loads(self._path.read_text(encoding="utf-8"))
        except (OSError, ValueError, RecursionError):
            return {}
        if not isinstance(plain, dict) or plain.get("form") != FORM or plain.get("written_by") != versions():
            return {}
        stills = plain.get("stills")
        if self._sha256 is None or plain.get("sha256") != self._sha256 or not isinstance(stills, dict):
            return {}
        return {key: entry for key, entry in stills.items() if isinstance(entry, dict)}


def _key(still: WantedStill) -> str:
    return json.dumps([still.frame, still.label])


def _entry(still: TakenStill) -> dict[str, Any]:
    if still.jpeg is None:
        return {"reason": still.reason}
    jpeg = base64.b64encode(still.jpeg).decode("ascii")
    return {"jpeg": jpeg, "sum": _sum(jpeg), "width": still.width, "height": still.height}


def _still(entry: dict[str, Any], frame: int) -> TakenStill | None:
    """None if the entry is damaged."""
    reason, jpeg = entry.get("reason"), entry.get("jpeg")
    if isinstance(reason, str) and reason:
        return TakenStill(frame, None, reason=reason)
    width, height = entry.get("width"), entry.get("height")
    if not isinstance(jpeg, str) or not isinstance(width, int) or not isinstance(height, int):
        return None
    if entry.get("sum") != _sum(jpeg):
        return None
    try:
        return TakenStill(frame, base64.b64decode(jpeg, validate=True), width, height)
    except ValueError:
        return None


def _sum(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]
