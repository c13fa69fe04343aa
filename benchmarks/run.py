"""What a whole check costs, against a bare decode of the same file and against FFmpeg's own filters.

    python benchmarks/run.py                       all forms, 60 and 180 s
    python benchmarks/run.py --forms h264 --sounds stereo --seconds 10 30 --times 1

Two lengths part the fixed cost (start, judging, reports) from the cost per minute of programme.
Files are made once and kept in .cache/bench. Ratios are of CPU in one run on one machine.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent
sys.path[:0] = [str(HERE), str(ROOT)]

from cost import Cost, least_of, line_through, warm  # noqa: E402
from media import FORMS, SOUNDS, made, reference_command  # noqa: E402

#: CPU per minute against the bare decode, and against FFmpeg's filters; wall, fixed CPU in seconds, memory in MB.
CPU_LIMIT = {"h264": 1.35, "prores": 1.2, "mpeg2": 2.1}
REFERENCE_LIMIT = {"h264": 0.5, "prores": 0.5, "mpeg2": 0.25}
#: Decoding MPEG-2 takes less than measuring it, so that wall follows from the CPU.
WALL_LIMIT = {"h264": 1.4, "prores": 1.4, "mpeg2": 2.1}
FIXED_LIMIT, PEAK_LIMIT, SECOND_LIMIT, START_LIMIT = 1.5, 400.0, 1.0, 0.3

QC = (sys.executable, "-c", "import sys; from qc.cli.app import main; sys.exit(main())")
#: Deliverable or not does not matter here.
VERDICTS = (0, 1, 3, 4)


def outlets() -> list[str]:
    names = sorted(path.stem for path in (ROOT / "profiles").glob("*.toml"))
    return [part for name in names for part in ("--outlet", name)]


def check(path: Path, out: Path, asked: list[str] | None = None) -> list[str]:
    return [*QC, "check", str(path), *(asked or outlets()), "--out", str(out), "--quiet"]


def measured(path: Path, sound: str, times: int, reference: bool) -> dict[str, Cost]:
    """Costs of the bare decode, the whole check, a second check from the store for one outlet, and FFmpeg's filters."""
    warm(path)
    env = {"PYTHONPATH": str(ROOT)}
    with tempfile.TemporaryDirectory() as temporary:
        out, store = Path(temporary, "out"), {"AIRWORTHY_STORE": str(Path(temporary, "store"))}
        costs = {
            "bare": least_of(times, [sys.executable, str(HERE / "bare_decode.py"), str(path)]),
            "check": least_of(times, [*check(path, out), "--fresh"], accept=VERDICTS, env={**env, **store}),
            "again": least_of(times, check(path, out, outlets()[:2]), accept=VERDICTS, env={**env, **store}),
        }
        if reference:
            costs["ffmpeg"] = least_of(times, reference_command(path, sound))
    return costs


def report(name: str, form: str, lengths: tuple[int, int], short: dict[str, Cost], long: dict[str, Cost]) -> bool:
    """Print one form; True if every figure is reached."""
    cpu = {key: line_through(short[key].cpu, long[key].cpu, *lengths) for key in short}
    wall = {key: line_through(short[key].wall, long[key].wall, *lengths) for key in short}
    reached = True

    def figure(what: str, value: float, limit: float, unit: str = "") -> None:
        nonlocal reached
        reached &= value <= limit
        print(f"  {what:<58} {value:8.2f}{unit}   at most {limit:g}{unit}{'' if value <= limit else '   OVER'}")

    print(f"\n{name}, {lengths[0]} and {lengths[1]} s")
    print(f"  bare decode: {cpu['bare'].per_minute:.1f} s CPU a minute; whole check: {cpu['check'].per_minute:.1f} s")
    figure("CPU per minute, check over bare decode", cpu["check"].per_minute / cpu["bare"].per_minute, CPU_LIMIT[form])
    figure(
        "wall per minute, check over bare decode", wall["check"].per_minute / wall["bare"].per_minute, WALL_LIMIT[form]
    )
    figure("fixed CPU beyond the bare decode's", cpu["check"].fixed - cpu["bare"].fixed, FIXED_LIMIT, " s")
    if "ffmpeg" in cpu:
        ratio = cpu["check"].per_minute / cpu["ffmpeg"].per_minute
        figure("CPU per minute, check over FFmpeg's filters", ratio, REFERENCE_LIMIT[form])
    figure("peak memory", max(short["check"].peak, long["check"].peak), PEAK_LIMIT, " MB")
    figure("second check of the unchanged file, one outlet, wall", long["again"].wall, SECOND_LIMIT, " s")
    return reached


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--forms", nargs="+", choices=list(FORMS), default=list(FORMS))
    asked.add_argument("--sounds", nargs="+", choices=list(SOUNDS), default=list(SOUNDS))
    asked.add_argument("--seconds", nargs=2, type=int, default=(60, 180), metavar=("SHORT", "LONG"))
    asked.add_argument("--times", type=int, default=2, help="runs of each command; the cheapest counts")
    asked.add_argument("--no-reference", action="store_true", help="leave FFmpeg's filters out")
    asked.add_argument("--cache", type=Path, default=ROOT / ".cache" / "bench")
    asked.add_argument("--json", type=Path, help="write all costs there")
    options = asked.parse_args()
    lengths = (min(options.seconds), max(options.seconds))

    start = least_of(3, [*QC, "--help"], env={"PYTHONPATH": str(ROOT)})
    print(f"qc --help: {start.wall:.2f} s, at most {START_LIMIT} s{'' if start.wall <= START_LIMIT else '   OVER'}")
    reached, kept = start.wall <= START_LIMIT, {}
    for form in options.forms:
        for sound in options.sounds:
            costs = [
                measured(made(options.cache, form, sound, seconds), sound, options.times, not options.no_reference)
                for seconds in lengths
            ]
            kept[f"{form} {sound}"] = [{key: asdict(cost) for key, cost in one.items()} for one in costs]
            reached &= report(f"{form}, {sound}", form, lengths, costs[0], costs[1])
    if options.json:
        options.json.write_text(json.dumps({"seconds": lengths, "costs": kept}, indent=1) + "\n")
    return 0 if reached else 1


if __name__ == "__main__":
    sys.exit(main())
