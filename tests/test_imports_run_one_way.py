"""The rooms stand on one another and never look up. Every import in qc/ is read, those inside functions too."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

#: Top to bottom: a room may import rooms that stand on a lower line, and itself. Rooms on one line are strangers.
ROOMS: tuple[tuple[str, ...], ...] = (
    ("cli",),
    ("demo", "selftest"),
    ("delivery",),
    ("report",),
    ("judge",),
    ("remedy",),
    ("programme", "outlets"),
    ("figures",),
    ("measurement",),
    ("meters",),
    ("media",),
    ("timing",),
    ("errors",),
)

#: Plain records that any room may use.
RECORDS = ("qc.media.facts", "qc.measurement.record", "qc.timing", "qc.errors")

#: The room's own name plain, for `import qc` and the version in it.
EVERYWHERE = ("qc",)

#: What is let through on purpose: (importing file, imported module) with the reason.
ALLOWED: dict[tuple[str, str], str] = {
    ("qc/measurement/worker.py", "av"): "the child process, which decodes, states the decoder's version",
}

DECODER = ("av",)
DECODER_ROOMS = ("media", "demo", "selftest")
HEAVY = ("av", "cv2", "scipy", "pyloudnorm")


def _files() -> list[Path]:
    return sorted((ROOT / "qc").rglob("*.py"))


def _room(module: str) -> str | None:
    parts = module.split(".")
    return parts[1] if parts[0] == "qc" and len(parts) > 1 else None


def _level(room: str) -> int:
    for level, rooms in enumerate(ROOMS):
        if room in rooms:
            return level
    raise AssertionError(f"qc/{room} has no place in the order of rooms: add it to ROOMS")


def _imports(path: Path) -> list[tuple[int, str]]:
    """(line, full module name) of every import, wherever it stands; `from qc import x` counts as qc.x."""
    package = path.relative_to(ROOT).with_suffix("").parts[:-1]
    found: list[tuple[int, str]] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"), str(path))):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: len(package) - node.level + 1]) if node.level else ""
            module = ".".join(part for part in (base, node.module or "") if part)
            inside = ROOT.joinpath(*module.split(".")).is_dir()
            found += [(node.lineno, f"{module}.{alias.name}" if inside else module) for alias in node.names]
        elif isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if name in ("import_module", "__import__") and isinstance(node.args[0].value, str):
                found.append((node.lineno, node.args[0].value))
    return found


def _is(module: str, names: tuple[str, ...]) -> bool:
    return any(module == name or module.startswith(f"{name}.") for name in names)


def _own_room(path: Path) -> str | None:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return parts[1] if len(parts) > 1 and parts[1] not in ("__init__", "__main__") else None


def upward_imports(path: Path) -> list[str]:
    """Imports of one file that go up or sideways."""
    room = _own_room(path)
    if room is None:
        return []
    wrong = []
    for line, module in _imports(path):
        target = _room(module)
        here = path.relative_to(ROOT).as_posix()
        if target is None or target == room or target == "__version__" or _is(module, RECORDS):
            continue
        if _level(target) <= _level(room) and (here, module) not in ALLOWED:
            wrong.append(f"{here}:{line} imports {module}, which stands above or beside {room}")
    return wrong


def test_imports_run_one_way() -> None:
    """cli over demo over delivery over report over judge over remedy over programme and outlets over figures ..."""
    assert len(_files()) > 20
    assert [line for path in _files() for line in upward_imports(path)] == []


def test_the_test_sees_an_upward_import(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An import inside a function, a relative one and one by name are all seen; a record is let through."""
    monkeypatch.setattr(sys.modules[__name__], "ROOT", tmp_path)
    room = tmp_path / "qc" / "figures"
    room.mkdir(parents=True)
    path = room / "bad.py"
    path.write_text(
        "from qc.media.facts import FileFacts\n"
        "def f():\n    from qc.judge.verdict import Verdict\n"
        "def g():\n    from ..outlets import schema\n"
        "import importlib\nimportlib.import_module('qc.report.html')\n",
        encoding="utf-8",
    )
    assert [line.split(" imports ")[1].split(",")[0] for line in upward_imports(path)] == [
        "qc.judge.verdict",
        "qc.outlets.schema" if (tmp_path / "qc" / "outlets").is_dir() else "qc.outlets",
        "qc.report.html",
    ]


def test_meters_know_no_outlet_and_the_decoder_stays_in_its_room() -> None:
    """av is imported in qc/media (and by what renders); judge, remedy and report reach neither probe nor reader."""
    wrong = []
    for path in _files():
        room = _own_room(path)
        for line, module in _imports(path):
            name = path.relative_to(ROOT).as_posix()
            here = f"{name}:{line} imports {module}"
            if (name, module) in ALLOWED:
                continue
            if _is(module, DECODER) and room not in DECODER_ROOMS:
                wrong.append(here)
            if room in ("judge", "remedy", "report") and _room(module) == "media" and not _is(module, RECORDS):
                wrong.append(here)
            if room in ("judge", "remedy", "programme", "outlets") and _is(module, HEAVY):
                wrong.append(here)
    assert wrong == []


def test_every_exception_is_still_needed() -> None:
    """An exception whose import is gone goes too."""
    assert all(any(module == name for _, name in _imports(ROOT / file)) for file, module in ALLOWED)


@pytest.mark.parametrize("rooms", ["judge", "report"])
def test_judging_and_reporting_load_no_decoder(rooms: str) -> None:
    """Importing every file of the room loads neither av nor cv2 nor scipy: a second check of a file stays fast."""
    names = [
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for path in sorted((ROOT / "qc" / rooms).rglob("*.py"))
    ]
    code = (
        "import importlib, sys\n"
        f"for name in {names!r}: importlib.import_module(name)\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules])\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "[]"
