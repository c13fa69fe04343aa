"""Requirement and measurement to finding. Opens no media.

The functions load on first use, so that a reader of qc.judge.verdict does not load every judge.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from qc.judge.judging import judge, judge_headers, judge_nothing, judge_unreadable
    from qc.judge.waivers import read_waivers

__all__ = ["judge", "judge_headers", "judge_nothing", "judge_unreadable", "read_waivers"]


def __getattr__(name: str) -> Any:
    if name == "read_waivers":
        from qc.judge.waivers import read_waivers

        return read_waivers
    if name in __all__:
        from qc.judge import judging

        return getattr(judging, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
