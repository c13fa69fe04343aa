"""The templates of every page: one engine, everything escaped, an undefined value an error.

No page holds a script or fetches anything; ``templates/`` has them all, style sheets included.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import Environment, Template

TEMPLATES = Path(__file__).parent / "templates"


@lru_cache(maxsize=16)
def template(name: str) -> Template:
    """A page by its file name ("index.html"); read once a process."""
    return _environment().get_template(name)


@lru_cache(maxsize=1)
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
