"""Names, titles, metadata, waivers and profiles that attack every format: text they are and text they stay.

A real run of ``qc check`` over files with such names, and the same run over the same media with plain names. Every file
that both write is read by parsers of the standard library, whatever papers there are: structure has to be equal.
Sources: HTML Living Standard 13.1; OWASP, CSV Injection; RFC 4180; RFC 8259; XML 1.0, production 2; Unicode UAX #9.
"""

from __future__ import annotations

import os
import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import unquote

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.report.names import safe
from qc.report.templating import MOST_IN_MARGIN, css_text
from tests.kit.command import Done, qc
from tests.kit.papers import Paper, read
from tests.kit.render import MONO_PAIR, episode, run

#: Stands in every attack, so that the text can be looked for; no paper has it by itself.
TOKEN = "Zq7w"
#: A template that computes would print the product.
SUM, PRODUCT = "{{7919*7927}}", "62773913"
_MARKUP = f"\"'><img src=x onerror=alert(1)><script>{TOKEN}<!--{SUM}{{% raw %}}<![CDATA[&lt;&#60;"
_EVENT = "002  AX       V     C        00:00:00:00 00:00:01:00 00:00:00:00 00:00:01:00"


def filled(start: str, ending: str = ".mov") -> str:
    """A name of exactly 255 bytes."""
    room = 255 - len(os.fsencode(ending)) - len(os.fsencode(start))
    return start + "é" * (room // 2) + "x" * (room % 2) + ending


#: Markup, a formula with a cell of its own and lines of an edit list, an override with bytes that are no UTF-8.
NAMES = (
    filled(_MARKUP),
    f"=HYPERLINK(1);=1+1,=2+2\t=3+3 {TOKEN}\n{_EVENT}\n* LOC: 00:00:00:00 RED x.mov",
    f"\u202e{TOKEN}gpj\u2066.\u200f\x1b[31m\x07caf\udce9 ＝1＋1 `$(id)` %2e%2e %00 #?&.mov",
)
PLAIN_NAMES = ("one.mov", "two.mov", "three.mov")
TITLE = f"</title></script></style></textarea><script>alert('{TOKEN}')</script>{SUM}\u202egpj.exe\r\n]]>&amp;"
#: Metadata keys of a MOV and what stands in them.
TAGS = {
    "title": TITLE,
    "comment": f'=cmd|"/c calc"!A1;=1 {TOKEN}',
    "artist": f"@SUM(1) {TOKEN}",
    "album": f"-2+3 {TOKEN}\t=4",
    "description": f"＋1 {TOKEN}",
}

PROFILE = """
[outlet]
name = {name}
code = "{code}"
specification = {text}
revision = {text}
not_covered = [{text}]

[programme]
accounting = "frame-exact"
eom = "exclusive"

[structure.acts]
exact = 2
clause = {text}
[structure.act_length]
exact = "40 frames"
clause = {text}
[structure.break_length]
exact = "20 frames"
note = {text}
[black.inside_acts]
max = "10 frames"
clause = {text}
[timecode.start]
at = "01:00:00;00"
clause = {text}
[picture.raster]
accept = ["1920x1080"]
clause = {text}
[loudness.programme]
target = -23.0
tolerance = 0.5
unit = "LUFS"
clause = {text}
[true_peak.programme]
max = -30.0
unit = "dBTP"
clause = {text}
[audio.channels]
exact = 4
clause = {text}
[silence.inside_acts]
max = "1 s"
"""
ATTACK = f"=1+1;=2+2</td><td onclick=alert(1)>{TOKEN}{SUM}\u202e\u0007\n* LOC: 00:00:00:00 RED x"
#: An outlet's name has to print and is short; its other texts may hold anything.
OUTLET = f"=1+1;=2+2</td><b onclick=alert(1)>{TOKEN}{SUM}"
WAIVER = """
[[waiver]]
outlet = "quay"
finding = "audio.channels"
file_sha256 = "{digest}"
who = {text}
why = {text}
until = 2199-12-31
"""


def toml(text: str) -> str:
    """A TOML string: every character but plain ASCII by its number."""
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\U{ord(c):08X}" for c in text) + '"'


@dataclass(frozen=True)
class Run:
    """What one run said and wrote. papers: name with the media file's part as "file 1" -> where it is."""

    done: Done
    folder: Path
    papers: dict[str, Path]


def checked(folder: Path, media: Path, names: tuple[str, ...], outlet: str, text: str) -> Run:
    """The files of these names, all the same bytes, for two outlets."""
    import hashlib

    (folder / "in").mkdir(parents=True)
    for name in names:
        os.link(media, folder / "in" / name)
    for code in ("quay", "pier"):
        profile = PROFILE.format(name=toml(f"{outlet} {code}"), code=code, text=toml(text))
        (folder / f"{code}.toml").write_text(profile, encoding="utf-8")
    digest = hashlib.sha256(media.read_bytes()).hexdigest()
    (folder / "waivers.toml").write_text(WAIVER.format(digest=digest, text=toml(text)), encoding="utf-8")
    done = qc(
        "check", "--outlet", "quay.toml", "--outlet", "pier.toml", "--out", "out", "--waivers", "waivers.toml",
        "--settle", 0, "--markers", "--json", "out/all.json", "--junit", "out/all.xml",
        "--", *[f"in/{name}" for name in names], cwd=folder,
    )  # fmt: skip
    papers = {}
    for path in sorted((folder / "out").rglob("*")):
        if path.is_file():
            known = str(path.relative_to(folder / "out"))
            for number, name in enumerate(names, 1):
                known = known.replace(safe(name), f"file {number}")
            papers[known] = path
    return Run(done, folder / "out", papers)


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Run, Run]:
    """The attack and the same with plain words."""
    folder = tmp_path_factory.mktemp("hostile")
    film = episode(
        folder / "film.mov", acts=(45, 45), break_frames=18, sounds=MONO_PAIR, timecode="01:00:00;00",
        extra_blacks=[(20, 1)],
    )  # fmt: skip
    found = []
    for kind, names, tags, outlet, text in (
        ("attack", NAMES, TAGS, OUTLET, ATTACK),
        ("plain", PLAIN_NAMES, dict.fromkeys(TAGS, "words"), "Harbour", "words"),
    ):
        media = folder / f"{kind}.mov"
        words = [word for key, value in tags.items() for word in ("-metadata", f"{key}={value}")]
        streams = [
            word
            for number in range(3)
            for word in (f"-metadata:s:{number}", f"handler_name={tags['comment']}", f"-metadata:s:{number}",
                         f"title={tags['title']}")
        ]  # fmt: skip
        run(["-i", str(film.path), "-map", "0:v", "-map", "0:a", "-c", "copy", *words, *streams, "-movflags",
             "+use_metadata_tags", "-timecode", "01:00:00;00", str(media)])  # fmt: skip
        found.append(checked(folder / kind, media, names, outlet, text))
    return found[0], found[1]


def test_the_attack_is_judged_like_anything_else(runs: tuple[Run, Run]) -> None:
    """Same status, same number of papers of the same names and kinds; the longest name has 255 bytes."""
    attack, plain = runs
    assert len(os.fsencode(NAMES[0])) == 255
    assert attack.done.status == plain.done.status == 1, attack.done.words
    assert sorted(attack.papers) == sorted(plain.papers)
    kinds = {path.suffix for path in attack.papers.values()}
    assert kinds >= {".html", ".csv", ".xml", ".json", ".edl", ".otio"}
    assert len(attack.papers) >= 3 * 2 * 4 + 2


def test_no_paper_has_another_structure_for_it(runs: tuple[Run, Run]) -> None:
    """Elements, attributes, scripts, styles, rows, cells, events and keys are those of the run with plain words."""
    attack, plain = runs
    for name, path in attack.papers.items():
        assert read(path).structure == read(plain.papers[name]).structure, name


def test_every_paper_still_names_its_file(runs: tuple[Run, Run]) -> None:
    """The attack is shown, not dropped: whoever reads a paper about a file finds its name."""
    attack, _ = runs
    for name, path in attack.papers.items():
        assert any(TOKEN in text for text in read(path).texts), name


def test_nothing_is_computed(runs: tuple[Run, Run]) -> None:
    """Template marks stay template marks."""
    attack, _ = runs
    for name, path in attack.papers.items():
        assert PRODUCT not in path.read_bytes().decode(), name
    assert PRODUCT not in attack.done.words


def hidden(text: str) -> set[str]:
    """Controls and marks of direction, which no reader can see (Unicode categories Cc and Cf, UAX #9)."""
    return {c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")} - {"\n", "\r", "\u00ad"}


def test_what_people_read_holds_nothing_hidden(runs: tuple[Run, Run]) -> None:
    """No control, escape sequence or mark of direction in pages, tables, lists and on the terminal.

    JSON and OTIO keep a name exactly as it is, for programs.
    """
    attack, _ = runs
    for name, path in attack.papers.items():
        if path.suffix not in (".json", ".otio"):
            assert not hidden(path.read_bytes().decode()), name
    assert not hidden(attack.done.words) and "\r" not in attack.done.words
    assert f"<U+202E>{TOKEN}" in attack.done.out


def test_programs_get_the_name_as_it_is(runs: tuple[Run, Run]) -> None:
    """The JSON document of a run holds each name exactly; only bytes that are no UTF-8 are shown by number."""
    attack, _ = runs
    texts = read(attack.papers["all.json"]).texts
    for name in NAMES:
        assert name.replace("\udce9", "<U+DCE9>") in texts


_FORMULA = re.compile(r"\s*[=+\-@＝＋－＠]")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")


def test_no_cell_is_a_formula_whatever_splits_the_row(runs: tuple[Run, Run]) -> None:
    """No cell starts like a formula, nor does one in a program that splits at semicolons or tabs instead."""
    attack, _ = runs
    tables = [path for path in attack.papers.values() if path.suffix == ".csv"]
    for path in tables:
        cells = [cell for row in read(path).rows for cell in row]
        cells += [part for line in path.read_text().splitlines() for part in re.split(r"[;\t]", line)[1:]]
        for cell in cells:
            assert not _FORMULA.match(cell) or _NUMBER.fullmatch(cell), (path.name, cell)
    assert len(tables) >= 6


def test_links_lead_to_papers_of_the_run_and_nothing_else(runs: tuple[Run, Run]) -> None:
    """Every address is a place on the page, a picture inside it or a file that is there."""
    attack, _ = runs
    for name, path in attack.papers.items():
        for link in read(path).links:
            if link.startswith(("#", "data:image/")):
                continue
            target = (path.parent / unquote(link.split("#")[0])).resolve()
            assert target.is_file() and target.is_relative_to(attack.folder.resolve()), (name, link)
            assert not re.match(r"[a-zA-Z][a-zA-Z0-9+.-]*:|//", link), (name, link)


def test_no_attribute_of_a_page_runs_anything(runs: tuple[Run, Run]) -> None:
    """No event attribute, no address but those above, no frame or form, in any page."""
    attack, _ = runs
    pages = [path for path in attack.papers.values() if path.suffix == ".html"]
    for path in pages:
        for part in read(path).structure:
            if isinstance(part, tuple) and len(part) == 2 and isinstance(part[1], tuple):
                tag, attributes = part
                assert tag not in ("iframe", "object", "embed", "form", "base", "link"), path.name
                assert not [name for name in attributes if name.startswith("on")], path.name
    assert pages


def test_files_on_disk_have_plain_names(runs: tuple[Run, Run]) -> None:
    """No paper or folder has a name with anything hidden, a leading dash or dot, or more than 255 bytes."""
    attack, _ = runs
    for path in attack.folder.rglob("*"):
        assert path.name.isprintable() and path.name[0] not in "-." and len(os.fsencode(path.name)) <= 255
        assert not set(path.name) & set("/\\\"'`$();&|<>*?: \t")


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.html", "<p>{}</p>"),
        ("a.csv", "a,{}\r\n"),
        ("a.xml", "<a>{}</a>"),
        ("a.edl", "TITLE: x\r\n{}\r\n"),
    ],
)
def test_these_tests_would_notice(tmp_path: Path, name: str, content: str) -> None:
    """Text that is written without escaping changes the structure that is compared here."""
    attacks = {".html": "<b>", ".csv": "b,c", ".xml": "<b/>", ".edl": _EVENT}
    seen: list[Paper] = []
    for text in ("words", attacks[Path(name).suffix]):
        (tmp_path / name).write_text(content.format(text), newline="")
        seen.append(read(tmp_path / name))
    assert seen[0].structure != seen[1].structure


@given(st.text(max_size=200))
def test_text_in_a_style_sheet_stays_text(text):
    """Whatever a name holds, the string in the margin of printed pages cannot end: letters, digits, spaces and code
    points by number, which read back as the text. Source: CSS Syntax Level 3, 4.3.7."""
    written = str(css_text(text))

    assert re.fullmatch(r"(?:[A-Za-z0-9 ]|\\[0-9A-F]{1,6} )*", written)
    read = re.sub(r"\\([0-9A-F]{1,6}) ", lambda match: chr(int(match[1], 16)), written)
    assert read == text if len(text) <= MOST_IN_MARGIN else len(read) == MOST_IN_MARGIN + 1
