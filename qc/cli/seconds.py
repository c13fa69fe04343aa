"""A number of seconds on the command line, refused in words of this tool."""

from __future__ import annotations

import typer

_LONGEST = 3600.0


def seconds(text: str | float) -> float:
    """0 to 3600 seconds; a default comes as a number."""
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 <= value <= _LONGEST:  # and not nan
        raise typer.BadParameter(f"{text!r} is no number of seconds from 0 to {_LONGEST:.0f}, such as 2 or 0.5.")
    return value
