"""The HTML report: one self-contained file per media file and outlet, in two editions.

No script, no network, nothing outside the file but links to papers beside it; every value is escaped by the
template engine and an undefined one is an error, never an empty cell.
"""

from __future__ import annotations

from collections.abc import Sequence

from qc.judge.verdict import Verdict
from qc.report.edition import Edition
from qc.report.media_file import MediaFile
from qc.report.overview import Link
from qc.report.page import page
from qc.report.run import RunBlock
from qc.report.still import Stills
from qc.report.templating import template


def report_html(
    verdict: Verdict,
    file: MediaFile,
    run: RunBlock,
    *,
    edition: Edition = Edition.INTERNAL,
    stills: Stills | None = None,
    links: Sequence[Link] = (),
) -> bytes:
    """The page as UTF-8, ending in a newline.

    stills  pictures beside findings, by frame
    links   other papers of the same file, relative to this page; the outlet's edition goes without them
    """
    return template("report.html").render(page=page(verdict, file, run, edition, stills, links)).encode()
