"""Made timelines, and a drawing read back: elements, places in percent, paths in numbers."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from typing import Any

import numpy as np

from qc.judge.timeline import Curve, GroupCurves, Part, Timeline
from qc.timing.spans import Span
from tests.kit.verdicts import CLOCK

FRAMES = 38661
RATE = 30000 / 1001
STEPS = 12901

ACTS = (Span(300, 9600), Span(9900, 19300), Span(19600, 29600), Span(29900, 38361))


def noise(seed: int = 1, middle: float = -24.0, spread: float = 6.0) -> np.ndarray:
    """(STEPS,) levels with no two neighbours alike: the largest drawing there can be."""
    return np.random.default_rng(seed).normal(middle, spread, STEPS).astype(np.float32)


def parts() -> tuple[Part, ...]:
    """Head, four acts with breaks of 300 frames, tail."""
    edges = [("head", "head", Span(0, 300))]
    for number, act in enumerate(ACTS, 1):
        edges.append(("act", f"act {number}", act))
        if number < len(ACTS):
            edges.append(("break", f"break {number}", Span(act.end, ACTS[number].first)))
    edges.append(("tail", "tail", Span(ACTS[-1].end, FRAMES)))
    return tuple(
        Part(kind, name, span, CLOCK.at(span.first), CLOCK.counting.duration(span.frames)) for kind, name, span in edges
    )


def timeline(**more: Any) -> Timeline:
    """A half hour of noise for an outlet that asks for -24 +/- 2 LKFS and -2 dBTP."""
    short = Curve("short-term loudness", noise(), "LKFS", -26.0, -24.0, -22.0)
    peak = Curve("true peak", noise(2, -8.0, 3.0), "dBTP", high=-2.0, most=-2.0)
    momentary = Curve("momentary loudness", noise(3), "LKFS", -26.0, -24.0, -22.0, most=-16.0)
    values: dict[str, Any] = {
        "frames": FRAMES,
        "rate": RATE,
        "marks": tuple((frame, CLOCK.at(frame)) for frame in (*range(0, FRAMES - 1800, 3600), FRAMES - 1)),
        "parts": parts(),
        "black": tuple(Span(part.span.first, part.span.end) for part in parts() if part.kind == "break"),
        "silence": (Span(9600, 9900), Span(25000, 25090)),
        "short_term": short,
        "momentary": momentary,
        "true_peak": peak,
        "group": "stereo mix",
        "clock": CLOCK,
        "groups": (GroupCurves("stereo mix", (1, 2), short, momentary, peak),),
        "levels": {
            1: Curve("level of channel 1", noise(4, -30.0), "dBFS", low=-60.0),
            2: Curve("level of channel 2", noise(5, -30.0), "dBFS", low=-60.0),
        },
    }
    return Timeline(**(values | more))


def read(drawing: str) -> ET.Element:
    """The drawing as a tree; fails unless it is well-formed XML."""
    return ET.fromstring(drawing)


def of_class(root: ET.Element, name: str) -> list[ET.Element]:
    return [element for element in root.iter() if name in (element.get("class") or "").split()]


def share(element: ET.Element, attribute: str) -> float:
    """A percentage as a share."""
    text = element.get(attribute) or ""
    assert text.endswith("%"), f"{attribute}={text!r}"
    return float(text[:-1]) / 100


def upper_edge(path: str, columns: int) -> np.ndarray:
    """The upper edge of an outline in pixels, (columns,), nan where it has a gap."""
    heights = np.full(columns, np.nan)
    for first, steps in re.findall(r"M(\d+),([^M]*)Z", path):
        at, height = int(first), None
        for command, number in re.findall(r"([VH]?)(-?[\d.]+)", steps):
            if command == "H":
                if int(number) <= at:
                    break
                heights[at : int(number)] = height
                at = int(number)
            else:
                height = float(number)
    return heights


def ids(root: ET.Element) -> list[str]:
    return [element.get("id") or "" for element in root.iter() if element.get("id")]
