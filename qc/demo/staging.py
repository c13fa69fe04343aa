"""What is done to the picture of one version on purpose, and in which frames of its content.

Content frames are those of the episode itself, without head and breaks.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Dip:
    """Frames that are darkened.

    level  brightness of each frame, 0 black to 1 untouched
    """

    first: int
    level: tuple[float, ...]


@dataclass(frozen=True)
class Shot:
    """Frames that show a picture of their own instead of the usual ones; ``kind`` is a key of qc.demo.shots.KINDS."""

    kind: str
    first: int
    frames: int


@dataclass(frozen=True)
class Light:
    """Frames that are lit up for a moment.

    kind    "arc": a welding arc, over a good third of the screen; "photo": a photographer's flash, all over it
    level   of each frame, 0 untouched to 1
    """

    kind: str
    first: int
    level: tuple[float, ...]


@dataclass(frozen=True)
class Staging:
    """shots         instead of the usual scenes
    dips, lights  see there
    leftover      frames that show a shot which does not belong there
    repeats       frames that show the frame before them once more; the next goes on where it should
    converted     (first, frames) of stretches brought from 25 frames a second to 30 by showing every fifth twice
    bottom_first  the lower field is the earlier one, whatever the file says
    dim           brightness of the usual scenes, 1 as they are
    hot_pixel     column and row of a pixel that the camera shows white
    """

    shots: tuple[Shot, ...] = ()
    dips: tuple[Dip, ...] = ()
    lights: tuple[Light, ...] = ()
    leftover: tuple[int, ...] = ()
    repeats: tuple[int, ...] = ()
    converted: tuple[tuple[int, int], ...] = ()
    bottom_first: bool = False
    dim: float = 1.0
    hot_pixel: tuple[int, int] | None = None

    def sources(self) -> dict[int, int]:
        """Content frame -> the frame that is shown in its place, where it is another one."""
        shown = {frame: frame - 1 for frame in self.repeats}
        for first, frames in self.converted:
            shown |= {first + step: first + step * 5 // 6 for step in range(frames)}
        return {frame: source for frame, source in shown.items() if frame != source}


def flashes(kind: str, first: int, count: int, frames: int, lit: int = 2) -> tuple[Light, ...]:
    """So many flashes within so many frames, evenly, each of ``lit`` frames."""
    return tuple(Light(kind, first + step * frames // count, (1.0,) * lit) for step in range(count))
