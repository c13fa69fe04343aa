"""Some frames of a demo file, rendered as the whole file would be and decoded again by FFmpeg's libraries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import av
import numpy as np

from qc.demo.episodes import VERSIONS
from qc.demo.layout import layout
from qc.demo.outlet_forms import FORMS
from qc.demo.picture import Pictures, Stretch
from qc.demo.render import MINI
from qc.demo.version import Version
from qc.timing.spans import Span
from tests.kit.render import render


@dataclass(frozen=True)
class Excerpt:
    """luma (frames, height, width), cb and cr (frames, height, width / 2): float32 codes of 8 bits; ``first`` is the
    number of the first frame in the whole file."""

    path: Path
    first: int
    luma: np.ndarray
    cb: np.ndarray
    cr: np.ndarray

    def of(self, span: Span) -> Excerpt:
        """The frames of the file that lie in the span."""
        own = slice(span.first - self.first, span.end - self.first)
        return replace(self, first=span.first, luma=self.luma[own], cb=self.cb[own], cr=self.cr[own])

    def rgb(self) -> np.ndarray:
        """(3, frames, height, width) R', G', B' with white at 1, by the inverse matrix of ITU-R BT.709-6."""
        luma = (self.luma - 16) / 219
        cb, cr = ((plane.repeat(2, axis=2) - 128) / 224 for plane in (self.cb, self.cr))
        return np.stack([luma + 1.5748 * cr, luma - 0.18732 * cb - 0.46812 * cr, luma + 1.8556 * cb])

    def light(self) -> np.ndarray:
        """(frames, height, width) cd/m2 by the formula of ITU-R BT.1886 with white at 200 (ITU-R BT.1702-3)."""
        return 200 * np.maximum((self.luma - 16) / 219, 0) ** 2.4


def version_of(episode: int, outlet: str | None = None) -> Version:
    return next(one for one in VERSIONS if one.episode == episode and outlet in (None, one.outlet))


def excerpt(version: Version, span: Span, folder: Path) -> Excerpt:
    """Frames of the file in its own codec. A coded picture is not the one that was drawn, to a code or two."""
    form = FORMS[version.outlet]
    path = folder / f"{version.episode}-{version.outlet}-{span.first}-{span.end}{form.codec.ending}"
    codec = [word for name, value in form.codec.options.items() for word in (f"-{name}", str(value))]
    source = ["-f", "rawvideo", "-pix_fmt", "yuv422p", "-s", f"{MINI.width}x{MINI.height}", "-r", str(form.rate)]
    render(
        path,
        [*source, "-i", "pipe:", "-vf", "setfield=tff", *codec, "-pix_fmt", form.codec.pixels],
        feed=drawn(version, span),
    )
    planes: Sequence[list[np.ndarray]] = ([], [], [])
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            codes = frame.reformat(format="yuv422p10le")
            for kept, plane in zip(planes, codes.planes, strict=True):
                rows = np.frombuffer(plane, np.uint16).reshape(plane.height, -1)[:, : plane.width]
                kept.append(rows.astype(np.float32) / 4)
    return Excerpt(path, span.first, *(np.stack(kept) for kept in planes))


def drawn(version: Version, span: Span) -> Iterator[bytes]:
    """The same frames before they are coded."""
    plan = layout(FORMS[version.outlet], version)
    clock = replace(plan.clock, start=plan.clock.start + span.first)
    pieces, at = [], 0
    for stretch in plan.stretches:
        first, end = max(at, span.first), min(at + stretch.frames, span.end)
        if first < end:
            pieces.append(Stretch(stretch.kind, end - first, stretch.first + first - at))
        at += stretch.frames
    return Pictures(MINI, version.episode, clock, version.staging).all(tuple(pieces))
