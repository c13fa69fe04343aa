"""The timing sheet as a page for the outlet's traffic: one sheet of paper, its convention on top.

It leaves the house: it is made from the copy of the verdict that holds nothing internal.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from qc.judge.timing_form import TimingForm
from qc.judge.verdict import ProgrammeTable, Verdict
from qc.report import wording
from qc.report.file_brief import rate_words, size_words
from qc.report.file_words import Described
from qc.report.for_outlet import outlet_copy
from qc.report.media_file import MediaFile
from qc.report.run import RunBlock
from qc.report.sheet_words import Column, Grid, made_by
from qc.report.templating import template
from qc.report.timing_sheet import columns_of, sheet_rows
from qc.report.visible import sentence, visible

#: The same on every row: said once above the table.
_CONSTANT = ("file", "outlet", "counting", "accounting", "EOM is")
_KINDS = {"SOM": "code", "EOM": "code", "duration": "code", "frames": "figure"}
_KINDS |= {"first frame": "figure", "last frame": "figure"}
_TOTALS = ("sum of acts", "sum of breaks", "programme with breaks", "TRT")


@dataclass(frozen=True)
class TimingPage:
    """``reason`` says why there are no acts; then there is no table."""

    title: str
    outlet: str
    document: str
    file: str
    trt: str
    reason: str
    convention: tuple[str, ...]
    table: Grid | None
    facts: tuple[Described, ...]
    made_by: str


def timing_html(verdict: Verdict, file: MediaFile, run: RunBlock) -> bytes:
    """The page as UTF-8."""
    return template("timing.html").render(page=timing_page(verdict, file, run)).encode()


def timing_page(verdict: Verdict, file: MediaFile, run: RunBlock) -> TimingPage:
    copy = outlet_copy(verdict, file, run)
    table, profile = copy.verdict.programme, copy.verdict.profile
    named = visible(copy.verdict.file)
    document = [profile.specification, f"revision {profile.revision}" if profile.revision else ""]
    return TimingPage(
        title=f"Timing sheet: {named} for {visible(profile.name)}",
        outlet=visible(profile.name),
        document=", ".join(visible(part) for part in document if part),
        file=named,
        trt=f"{visible(table.trt)} ({wording.frames(table.trt_frames)})" if table.acts else "",
        reason="" if table.acts else sentence(table.note or "no programme structure was found"),
        convention=convention(table) if table.acts else (),
        table=_table(table) if table.acts else None,
        facts=_facts(copy.file, table),
        made_by=made_by(copy.run),
    )


def convention(table: ProgrammeTable) -> tuple[str, ...]:
    """How labels, ends and lengths are counted, a sentence each."""
    ends = "the frame after its last (exclusive)" if table.eom == "exclusive" else "its last frame (inclusive)"
    if table.accounting == "whole-second outward":
        lengths = (
            "Durations and TRT are whole seconds: the start of each act is rounded down and its end rounded up; "
            "a break is what they leave over. Frames are counted exactly."
        )
    else:
        lengths = "Durations and TRT are counted frame by frame."
    lines = [
        f"Timecode counts {visible(table.counting)}. SOM is the first frame of an act or break, EOM is {ends}.",
        lengths,
    ]
    if table.counting == "drop-frame" and table.accounting != "whole-second outward":
        lines.append("Frames add up; drop-frame labels of durations need not, because they leave out numbers.")
    found = {
        "black and silence in the picture": "Acts and breaks are as found in the picture.",
        "declared timing sheet": "Acts are as declared: the breaks are not visible in the picture.",
        "whole file (single part)": "The programme is a single part.",
    }
    return (*lines, found.get(table.found_by, sentence(f"found by {visible(table.found_by)}")))


def _table(table: ProgrammeTable) -> Grid:
    """The outlet's columns in its order; part and act stand in one, what is the same on every row is left out."""
    form = table.form or TimingForm(columns_of(table))
    both = [name for name in form.columns if name in ("part", "act")]
    names = ["part" if name == both[0] else name for name in form.columns if name not in (*_CONSTANT, *both[1:])]
    rows = list(sheet_rows(replace(table, form=replace(form, columns=tuple(names)))))
    for row in rows:
        if "number" in row or row["part"] == "TRT":
            row["note"] = ""  # "break 2" follows act 2; the other accounting is the other desk's
        if row["accounting"] != table.accounting:
            row["part"] = f"{row['part']}, {row['accounting']}"
    names = [name for name in names if any(row.get(name, "") != "" for row in rows)]
    shown = [name[0].upper() + name[1:] for name in names]
    return Grid(
        caption="Acts, breaks and totals" if table.breaks else "Acts and totals",
        columns=tuple(Column(title, _KINDS.get(name, "")) for name, title in zip(names, shown, strict=True)),
        rows=tuple(tuple(visible(str(row.get(name, ""))) for name in names) for row in rows),
        header=names.index("part"),
        strong=tuple(place for place, row in enumerate(rows) if str(row["part"]).startswith(_TOTALS)),
    )


def _facts(file: MediaFile, table: ProgrammeTable) -> tuple[Described, ...]:
    lines: list[Described] = []
    picture = next((stream for stream in file.facts.pictures if not stream.attached), None) if file.facts else None
    if picture is not None:
        lines.append(("Picture rate", rate_words(picture.frame_rate)))
    if table.acts:
        lines += [
            ("Before the programme", wording.frames(table.head.frames)),
            ("After the programme", wording.frames(table.tail.frames)),
        ]
    lines.append(("Size of the file", size_words(file.size)))
    lines.append(("SHA-256 of the file", visible(file.sha256 or "") or "none: the file could not be read to its end"))
    return tuple(lines)
