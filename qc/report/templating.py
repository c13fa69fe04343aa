"""The templates of every page: one engine, everything escaped, an undefined value an error.

No page holds a script or fetches anything; ``templates/`` has them all, style sheets included. Compiled templates
are kept where measurements are kept, each under a hash of its source: compiling them took a seventh of a second check.
"""

from __future__ import annotations

import contextlib
import os
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from qc.measurement.store import default_folder

if TYPE_CHECKING:
    from jinja2 import BytecodeCache, Environment, Template
    from markupsafe import Markup

TEMPLATES = Path(__file__).parent / "templates"

#: Characters that the margin of a printed page has room for, beside the number of the page.
MOST_IN_MARGIN = 90


@lru_cache(maxsize=16)
def template(name: str) -> Template:
    """A page by its file name ("index.html"); read once a process."""
    return _environment().get_template(name)


@lru_cache(maxsize=1)
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        bytecode_cache=_kept_templates(),
    )
    environment.filters["css_text"] = css_text
    return environment


def css_text(text: str) -> Markup:
    """Any text inside a quoted string of a style sheet, cut in its middle if it is long.

    All but letters, digits and spaces of ASCII are written by number, so no text ends the string or the sheet.
    Source: CSS Syntax Level 3, 4.3.7 (escaped code points).
    """
    from markupsafe import Markup

    half = MOST_IN_MARGIN // 2
    short = text if len(text) <= MOST_IN_MARGIN else f"{text[:half]}…{text[-half:]}"
    plain = (char if char.isascii() and (char.isalnum() or char == " ") else f"\\{ord(char):X} " for char in short)
    return Markup("".join(plain))


def _kept_templates() -> BytecodeCache | None:
    """Where compiled templates are kept; None where nothing can be written."""
    from jinja2 import FileSystemBytecodeCache
    from jinja2.bccache import Bucket

    class Kept(FileSystemBytecodeCache):
        def dump_bytecode(self, bucket: Bucket) -> None:
            with contextlib.suppress(OSError):  # a full disk costs the time of compiling, nothing else
                super().dump_bytecode(bucket)

    folder = default_folder() / "templates"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError:
        return None
    return Kept(str(folder)) if os.access(folder, os.W_OK) else None
