"""``qc check`` as a script uses it: exit statuses, documents, plain words. Contract of this tool, no outside source."""

from __future__ import annotations

import json
import subprocess
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from jsonschema import Draft202012Validator

from qc.cli.narrator import Narrator
from qc.cli.terminal import Terminal
from qc.delivery.paperwork import Paperwork
from qc.measurement.child import Progress
from qc.outlets.load import load_profile
from qc.report.document import SCHEMA_FILE
from tests.kit import verdicts
from tests.kit.command import command, environment, qc
from tests.kit.pages import cases
from tests.kit.profiles import write_profile
from tests.kit.render import MONO_PAIR, NTSC, episode
from tests.kit.sheet_page import text_of

OUTLET = """
[outlet]
name = "Quay"
code = "quay"

[picture.frame_rate]
accept = ["30000/1001"]

[audio.channels]
exact = 2
"""
FAILING = OUTLET.replace("Quay", "Pier").replace("quay", "pier").replace("exact = 2", 'exact = 4\nclause = "P.1"')
LOOK = OUTLET.replace("exact = 2", 'exact = 4\nlevel = "should"')
WRONG = OUTLET.replace("exact", "exakt")


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("check") / "clean.mov"
    return episode(path, acts=(20,), break_frames=[], rate=NTSC, sounds=MONO_PAIR).path


@pytest.fixture
def profiles(tmp_path: Path) -> dict[str, Path]:
    texts = {"good": OUTLET, "failing": FAILING, "look": LOOK, "wrong": WRONG}
    return {name: write_profile(tmp_path, text, f"{name}.toml") for name, text in texts.items()}


def test_status_0_1_and_4(clean: Path, profiles: dict[str, Path], tmp_path: Path) -> None:
    """0 deliverable everywhere, 1 one outlet fails, advisories are 0 and with --strict 4; a fail outweighs 4."""
    args = ("check", clean, "--settle", 0, "--quiet")
    assert qc(*args, "--outlet", profiles["good"], cwd=tmp_path).status == 0
    assert qc(*args, "--outlet", profiles["good"], "--outlet", profiles["failing"], cwd=tmp_path).status == 1
    assert qc(*args, "--outlet", profiles["look"], cwd=tmp_path).status == 0
    assert qc(*args, "--outlet", profiles["look"], "--strict", cwd=tmp_path).status == 4
    both = qc(*args, "--outlet", profiles["look"], "--outlet", profiles["failing"], "--strict", cwd=tmp_path)
    assert both.status == 1


def test_a_wrong_profile_stops_everything(clean: Path, profiles: dict[str, Path], tmp_path: Path) -> None:
    """All wrong profiles are told at once, exit 2, nothing is decoded and nothing written."""
    other = write_profile(tmp_path, "[outlet\n", "broken.toml")
    done = qc(
        "check", clean, "--outlet", profiles["good"], "--outlet", profiles["wrong"], "--outlet", other,
        "--outlet", "no-such-outlet", cwd=tmp_path,
    )  # fmt: skip
    assert (done.status, done.out) == (2, "")
    assert "exakt" in done.err and "broken.toml" in done.err and "no-such-outlet" in done.err
    assert not (tmp_path / "reports").exists() and not (tmp_path / "store").exists()


@pytest.mark.parametrize(
    "arguments",
    [("check",), ("check", "x.mov"), ("check", "x.mov", "--outlet"), ("check", "x.mov", "--nothing"), ("nothing",)],
    ids=" ".join,
)
def test_usage_errors_are_2_and_say_where_help_is(arguments: tuple[str, ...], tmp_path: Path) -> None:
    """A wrong command line: exit 2, one sentence, the way to the help; nothing on stdout."""
    done = qc(*arguments, cwd=tmp_path)
    assert (done.status, done.out) == (2, "")
    assert "--help" in done.err and len(done.err.splitlines()) <= 4


def test_a_batch_finishes_and_returns_the_most_serious(clean: Path, profiles: dict[str, Path], tmp_path: Path) -> None:
    """A missing and an unreadable file cost themselves only: exit 3, every file has verdicts and reports for the crew;
    of what could not be read there is none to send on."""
    text = tmp_path / "text.mov"
    text.write_text("not media")
    done = qc(
        "check", tmp_path / "gone.mov", text, clean, "--outlet", profiles["good"], "--outlet", profiles["failing"],
        "--settle", 0, "--quiet", "--json", "all.json", "--junit", "all.xml", cwd=tmp_path,
    )  # fmt: skip
    assert done.status == 3
    document = json.loads((tmp_path / "all.json").read_text())
    outcomes = [(verdict["file"], verdict["code"], verdict["outcome"]) for verdict in document["verdicts"]]
    assert outcomes == [
        ("gone.mov", "quay", "not measured"),
        ("gone.mov", "pier", "not measured"),
        ("text.mov", "quay", "fail"),
        ("text.mov", "pier", "fail"),
        ("clean.mov", "quay", "pass"),
        ("clean.mov", "pier", "fail"),
    ]
    assert len(done.out.splitlines()) == 6
    assert len(list((tmp_path / "reports").glob("*/*.json"))) == 6
    assert len(list((tmp_path / "reports").glob("*/*.for-outlet.html"))) == 2
    assert (tmp_path / "all.xml").read_bytes().startswith(b"<?xml")
    assert not list(tmp_path.rglob("*.part"))


def test_what_to_do_runs_on_after_what_is_wrong(profiles: dict[str, Path], tmp_path: Path) -> None:
    """Two halves of one sentence: no capital after the semicolon."""
    empty = tmp_path / "empty.mov"
    empty.touch()
    done = qc("check", empty, "--settle", 0, "--outlet", profiles["good"], cwd=tmp_path)
    assert "the file is empty (0 bytes); export or copy it again" in " ".join(done.out.split())


def test_json_on_stdout_is_the_whole_contract(clean: Path, profiles: dict[str, Path], tmp_path: Path) -> None:
    """``--json -`` prints one document and nothing else; the same again but for the block "run"; by its schema."""
    args = ("check", clean, "--outlet", profiles["good"], "--outlet", profiles["failing"], "--settle", 0, "--json", "-")
    first, again = qc(*args, cwd=tmp_path), qc(*args, cwd=tmp_path)
    one, two = first.document, again.document

    assert first.status == again.status == 1
    assert list(one) == ["schema", "files", "verdicts", "run"]
    Draft202012Validator(json.loads(SCHEMA_FILE.read_text())).validate(one)
    failing = one["verdicts"][1]
    assert (failing["outlet"], failing["outcome"]) == ("Pier", "fail")
    finding = next(item for item in failing["findings"] if item["requirement"] == "audio.channels")
    assert {"requirement", "outcome", "measured", "limit", "unit", "fix"} <= set(finding)
    assert finding["clause"] == "P.1" and finding["fix"]["sentence"].endswith(".")
    for document in (one, two):
        assert str(tmp_path) not in json.dumps(document)
        del document["run"]
    assert json.dumps(one) == json.dumps(two)


def test_words_are_plain_in_a_pipe(clean: Path, profiles: dict[str, Path], tmp_path: Path) -> None:
    """The verdict, then where the report is; no colour, no progress line."""
    done = qc(
        "check", clean, "--outlet", profiles["failing"], "--settle", 0, cwd=tmp_path, NO_COLOR="", FORCE_COLOR="1"
    )
    assert done.status == 1 and done.err == ""
    assert "\x1b" not in done.words and "\r" not in done.words
    assert done.out.index("FAIL  Pier") < done.out.index("report: reports")


@pytest.mark.parametrize("waits", [True, False])
def test_headers_are_told_once_there_is_a_pass_to_wait_for(
    waits: bool, profiles: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before the verdict while the file is decoded; a file that is known has its verdict at once, and nothing twice.
    Of one that cannot be read in the end, what the headers said is all there is."""
    checked, loaded = cases()["every outcome"], load_profile(profiles["failing"].as_posix())
    for case in (checked, replace(checked, trouble="the decoder died")):
        narrator = Narrator(Terminal(), Paperwork(tmp_path), lambda checked: verdicts.RUN, total=1, quiet=False)
        narrator.headers(loaded, (verdicts.FINDINGS[4],))
        early = capsys.readouterr().out
        if waits:
            narrator.progress(Progress(fraction=0.1, frames=10, fps=250.0, seconds_left=3.0))
            narrator.progress(Progress(fraction=0.2, frames=20, fps=250.0, seconds_left=3.0))
        shown = capsys.readouterr().out
        narrator.ends(case)
        late = capsys.readouterr().out

        assert early == ""
        assert shown.count("headers, Pier") == (1 if waits else 0)
        assert ("headers, Pier" in late) == (not waits and bool(case.trouble))
        assert "Start of programme" in late or case.trouble


def test_an_interrupted_run_has_an_index_of_what_was_finished(tmp_path: Path) -> None:
    """The reports that are kept lead to it; it says how many files are not on it."""
    first = next(iter(cases().values()))
    narrator = Narrator(Terminal(), Paperwork(tmp_path), lambda checked: verdicts.RUN, total=3, quiet=True)
    with pytest.raises(KeyboardInterrupt), narrator:
        narrator.ends(first)
        raise KeyboardInterrupt

    text = text_of((tmp_path / "index.html").read_bytes())
    assert first.file.name in text and "The run was interrupted: 2 more files not checked." in text


def test_the_cautions_are_said_once_a_run(clean: Path, profiles: dict[str, Path], tmp_path: Path) -> None:
    """What the tool does not test, and who decides, stands at the end, however many outlets there are."""
    outlets = ("--outlet", profiles["good"], "--outlet", profiles["look"])
    done = qc("check", clean, *outlets, "--settle", 0, cwd=tmp_path)
    assert done.out.count("Flashing is screened only") == 1
    assert "the station's own specification counts" in " ".join(done.out.split())


@pytest.mark.parametrize("document", [(), ("--json", "-")], ids=["words", "json"])
def test_a_closed_pipe_changes_no_status(
    document: tuple[str, ...], clean: Path, profiles: dict[str, Path], tmp_path: Path
) -> None:
    """``qc check ... | head -1``: every report is written, the status is the verdict's, stderr has no complaint."""
    for outlet, status in (("good", 0), ("failing", 1)):
        arguments = ("check", clean, "--outlet", profiles[outlet], "--settle", 0, "--out", outlet, *document)
        child = subprocess.Popen(
            command(*arguments),
            cwd=tmp_path,
            env=environment(AIRWORTHY_STORE=str(tmp_path / "store")),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        assert child.stdout and child.stderr
        child.stdout.close()
        said = child.stderr.read()
        assert child.wait(60) == status and b"rror" not in said
        assert (tmp_path / outlet / "index.html").exists()


def test_two_documents_go_to_two_places(clean: Path, profiles: dict[str, Path], tmp_path: Path) -> None:
    """JSON and JUnit in one stream or file can be read by nothing: exit 2 before the pass. JUnit alone may be piped."""
    args = ("check", clean, "--outlet", profiles["good"], "--settle", 0)
    for place, words in (("-", "both go to standard output"), ("all", "both go to one file")):
        done = qc(*args, "--json", place, "--junit", place, cwd=tmp_path)
        assert (done.status, done.out) == (2, "") and words in done.said
    assert not (tmp_path / "store").exists()
    done = qc(*args, "--junit", "-", cwd=tmp_path)
    assert done.status == 0 and ElementTree.fromstring(done.out).tag == "testsuites"


def test_an_option_without_its_value_names_the_right_help(tmp_path: Path) -> None:
    """The help of the command that was typed; a wrong value is refused in words of this tool."""
    for typed in (("check", "x.mov", "--json"), ("probe", "x.mov", "--json")):
        assert f"See: qc {typed[0]} --help" in qc(*typed, cwd=tmp_path).err
    assert "See: qc profiles lint --help" in qc("profiles", "lint", cwd=tmp_path).err
    for value in ("abc", "-1", "nan", "3601"):
        done = qc("check", "x.mov", "--outlet", "corvane-5", "--settle", value, cwd=tmp_path)
        assert done.status == 2
        assert f"'{value}' is no number of seconds from 0 to 3600, such as 2 or 0.5." in done.said


def test_one_line_tells_what_failed_from_what_was_not_measured(
    clean: Path, profiles: dict[str, Path], tmp_path: Path
) -> None:
    """Titles in two lists; files of one name with their folder, in what is wrong with them too."""
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "same.mov").touch()
    done = qc("check", "a", "b", "--outlet", profiles["good"], "--settle", 0, "--quiet", cwd=tmp_path)
    tail = "failed: Complete and decodable  not measured: Picture rate; Audio channels"
    assert done.out.splitlines() == [
        f"FAIL  {name}  Quay  1 fail, 2 not measured  {tail}" for name in ("a/same.mov", "b/same.mov")
    ]
    assert "a/same.mov: the file is empty" in done.said and "b/same.mov: the file is empty" in done.said
    done = qc("check", clean, "--outlet", profiles["failing"], "--settle", 0, "--quiet", cwd=tmp_path)
    assert done.out.endswith("  failed: Audio channels, sound\n")


def test_a_sheet_belongs_to_one_file(clean: Path, profiles: dict[str, Path], tmp_path: Path) -> None:
    """One sheet for two files would judge one of them by the other's acts: exit 2 before decoding."""
    other = tmp_path / "other.mov"
    other.write_bytes(clean.read_bytes())
    sheet = tmp_path / "sheet.csv"
    sheet.write_text("act,SOM,EOM\n")
    done = qc("check", clean, other, "--outlet", profiles["good"], "--sheet", sheet, cwd=tmp_path)
    assert done.status == 2 and "one file" in done.err


def test_a_wrong_sheet_is_refused_before_the_pass(clean: Path, profiles: dict[str, Path], tmp_path: Path) -> None:
    """Its labels are read with the counting of the headers: exit 2, nothing measured, no report."""
    sheet = tmp_path / "sheet.csv"
    sheet.write_text("act,SOM,EOM\n1,99:00:00:00,01:00:05:00\n")
    done = qc("check", clean, "--outlet", profiles["good"], "--sheet", sheet, "--settle", 0, cwd=tmp_path)
    assert done.status == 2 and "sheet.csv has 1 problem" in done.err and "%" not in done.words
    assert not (tmp_path / "reports").exists() and not list((tmp_path / "store").rglob("*.npz"))


def test_files_of_one_name_stay_apart(clean: Path, profiles: dict[str, Path], tmp_path: Path) -> None:
    """Two folders, one name: named with their folder in the document, reports of their own."""
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "same.mov").write_bytes(clean.read_bytes())
    done = qc(
        "check", "a", "b", "--outlet", profiles["good"], "--settle", 0, "--json", "-", cwd=tmp_path,
    )  # fmt: skip
    assert [verdict["file"] for verdict in done.document["verdicts"]] == ["a/same.mov", "b/same.mov"]
    assert len(list((tmp_path / "reports").glob("*/*.for-outlet.html"))) == 2
