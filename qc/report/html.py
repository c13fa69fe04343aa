"""The HTML report: one self-contained file per media file and outlet.

No script, no network, nothing outside the file; every value is escaped by the template engine and an
undefined one is an error, never an empty cell.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from qc.judge.verdict import Verdict
from qc.report.media_file import MediaFile
from qc.report.page import page
from qc.report.run import RunBlock

if TYPE_CHECKING:
    from jinja2 import Template

TEMPLATES = Path(__file__).parent / "templates"


def report_html(verdict: Verdict, file: MediaFile, run: RunBlock) -> bytes:
    """The page as UTF-8, ending in a newline."""
    return _template().render(page=page(verdict, file, run)).encode()


@lru_cache(maxsize=1)
def _template() -> Template:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return environment.get_template("report.html")
