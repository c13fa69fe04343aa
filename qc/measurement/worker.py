"""The child process: probes or measures one file or takes stills of it, speaks JSON lines on standard output.

``python -m qc.measurement.worker`` reads one request (a JSON line) from standard input and says
    {"facts": {...}}                                       as soon as the headers are read
    {"progress": {"frames", "seconds", "share"}}           a few times a second while it gets on
    {"result": {...}}                                      the header of the record; series are in the file asked for
    {"still": {...}}                                       one still, or why there is none
    {"error": {"what", "where", "remedy"}}                 in words for the user
Nothing else is written there: libraries that print find nobody.
"""

from __future__ import annotations

import json
import os
import sys
import traceback
from fractions import Fraction
from pathlib import Path
from typing import IO, Any


def main() -> int:
    channel = _own_channel()
    request = json.loads(sys.stdin.readline())
    _bound_memory(request.get("memory_bytes"))
    try:
        _serve(request, channel)
    except MemoryError:
        _say(channel, {"error": {"what": "needs more memory than the run allows", "where": "", "remedy": ""}})
        return 3
    except BrokenPipeError:
        return 3  # the parent is gone
    except Exception as error:
        from qc.errors import UserError

        if isinstance(error, UserError):
            what, where, remedy = error.what, error.where, error.remedy
        else:
            what, where, remedy = f"measuring failed inside the tool: {_fault(error)}", "", "please report this"
        _say(channel, {"error": {"what": what, "where": where, "remedy": remedy}})
        return 3
    return 0


def _serve(request: dict[str, Any], channel: IO[str]) -> None:
    if request["task"] == "stills":
        from qc.measurement.still_task import take

        take(request, lambda message: _say(channel, message))
        _say(channel, {"result": {}})
        return
    from qc.measurement.header import to_dict
    from qc.media.probe import probe

    path = Path(request["path"])
    before = _state(path)
    facts = probe(path)
    _say(channel, {"facts": to_dict(facts)})
    if request["task"] == "probe":
        return

    from qc import __version__
    from qc.errors import CannotMeasure
    from qc.measurement.fingerprint import fingerprint
    from qc.measurement.header import Header
    from qc.measurement.one_pass import measure
    from qc.measurement.record import METERS_VERSION, FileIdentity
    from qc.measurement.series_file import write_series

    mark = fingerprint(path)
    longest = Fraction(request["longest"]) if request.get("longest") else None

    def pulse(frames: int, seconds: Fraction, share: float) -> None:
        _say(channel, {"progress": {"frames": frames, "seconds": float(seconds), "share": share}})

    done = measure(path, facts, longest, pulse, before)
    try:
        write_series(Path(request["series"]), done.sound, done.picture)
    except OSError as error:
        raise CannotMeasure(
            f"the figures found no room in the folder for temporary files ({error.strerror or error})",
            where=path.name,
            remedy="make room there, or name another folder in TMPDIR",
        ) from None
    header = Header(
        identity=FileIdentity(path.name, done.size, done.sha256, mark),
        facts=facts,
        events=done.events,
        complete=not done.because,
        incomplete_because=done.because,
        tool_version=__version__,
        meters_version=METERS_VERSION,
        libraries=libraries(),
    )
    _say(channel, {"result": to_dict(header)})


def _state(path: Path) -> os.stat_result | None:
    try:
        return path.stat()
    except OSError:
        return None  # the probe says what is wrong with it


def libraries() -> dict[str, str]:
    """Versions of what the figures depend on."""
    import av
    import cv2
    import numpy

    found = {"av": av.__version__, "numpy": numpy.__version__, "opencv": cv2.__version__}
    found |= {name: ".".join(map(str, number)) for name, number in av.library_versions.items() if name in _LIBAV}
    return dict(sorted(found.items()))


_LIBAV = ("libavcodec", "libavformat", "libavutil", "libswscale")


def _fault(error: Exception) -> str:
    """One line for a report of a fault of ours: no traceback reaches a user."""
    step = traceback.extract_tb(error.__traceback__)[-1]
    return f"{type(error).__name__} in {Path(step.filename).name}, line {step.lineno}: {str(error)[:120]}"


def _own_channel() -> IO[str]:
    """Standard output for us alone; whatever else writes to it or to standard error is dropped."""
    channel = os.fdopen(os.dup(1), "w", encoding="utf-8", errors="surrogatepass")
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    os.close(nowhere)
    return channel


def _bound_memory(most: int | None) -> None:
    """Bound the data segment where the system can: an allocation beyond fails instead of taking the machine down."""
    try:
        import resource
    except ImportError:  # not on this system
        return
    if most:
        try:
            resource.setrlimit(resource.RLIMIT_DATA, (most, most))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        except (ValueError, OSError):
            return


def _say(channel: IO[str], message: dict[str, Any]) -> None:
    channel.write(json.dumps(message) + "\n")
    channel.flush()


if __name__ == "__main__":
    sys.exit(main())
