"""``qc demo``: a short season with planted faults, rendered, checked and compared with the truth."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from qc.cli.terminal import Terminal, shown

if TYPE_CHECKING:
    from qc.demo.season import Shown


def register(app: typer.Typer) -> None:
    app.command(name="demo")(demo)


def demo(
    out: Annotated[Path, typer.Option(metavar="DIR", help="Folder for reports and whatever is rendered.")] = Path(
        "reports"
    ),
    full: Annotated[
        bool, typer.Option("--full", help="Only render one full-length 21:30;00 episode into DIR, for timing.")
    ] = False,
    keep: Annotated[bool, typer.Option("--keep", help="Keep the rendered episodes (about 2 GB).")] = False,
) -> int:
    """Render short episodes with planted faults, check them for six outlets, compare with the truth.

    Found, missed and false are told per check. Exit status 0 if every planted fault was found at its
    frames and nothing else was, 1 if not.
    """
    return _full(out) if full else _season(out, keep)


def _season(out: Path, keep: bool) -> int:
    from qc.demo.episodes import SERIES, VERSIONS
    from qc.demo.score_text import score_text, tally_text
    from qc.demo.season import Season
    from qc.demo.tally import tally

    terminal = Terminal()
    began = time.monotonic()
    terminal.say(
        f"{SERIES}: {len(VERSIONS)} files at one tenth of time are rendered, checked,\nand compared with the truth."
    )
    season = Season(out, keep=keep)
    results = []
    for result in season.run():
        results.append(result)
        terminal.say(_row(result))
        terminal.say(score_text(result.version, result.score), end="")
        sys.stdout.flush()
    truth = season.truth()
    right = all(result.score.right for result in results)
    terminal.say(f"\n{tally_text(tally([result.score for result in results]))}", end="")
    said = "Every planted fault was found, and nothing else" if right else "NOT RIGHT: see MISSED and FALSE above"
    terminal.say(f"{said}. {time.monotonic() - began:.0f} s.")
    index = season.index()
    if index:
        terminal.say(f"Reports: open {shown(index)} in a browser.")
    else:
        terminal.warn(f"The reports could not be written to {shown(out)}.")
    if truth:
        terminal.say(f"What was planted, and where: {shown(truth)}")
    return 0 if right else 1


def _row(result: Shown) -> str:
    from qc.report import wording

    verdict = result.checked.verdicts[0]
    word = wording.WORDS[verdict.outcome]
    return f"{word:9} {result.version.episode}  {verdict.profile.name:26} {shown(Path(result.checked.file.name))}"


def _full(out: Path) -> int:
    from qc.demo.full import expected_bytes, full_name, render_full, room_bytes

    terminal = Terminal()
    terminal.say(
        f"{full_name()}: 21:30;00, 1920x1080 interlaced, MPEG-2 4:2:2 at 50 Mb/s, eight tracks. "
        f"About {expected_bytes() / 1e9:.1f} GB, and {room_bytes() / 1e9:.1f} GB more while it is made."
    )
    began = time.monotonic()
    watched = sys.stderr.isatty()

    def on_frame(done: int, total: int) -> None:
        if watched or done % 3000 == 0:
            left = (time.monotonic() - began) * (total - done) / done
            print(
                f"{100 * done / total:3.0f} %, {left / 60:.1f} min left",
                file=sys.stderr,
                end="\r" if watched else "\n",
                flush=True,
            )

    path = render_full(out, on_frame)
    terminal.say(f"{shown(path)}  ({path.stat().st_size / 1e9:.2f} GB, {time.monotonic() - began:.0f} s)")
    terminal.say(f"Now: qc check {shown(path)} --outlet corvane-5")
    return 0
