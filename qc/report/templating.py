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
        bytecode_cache=_kept_templates(),
    )


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
