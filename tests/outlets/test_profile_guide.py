"""The guide to profiles knows every table and key, and its example works."""

from __future__ import annotations

import re
from pathlib import Path

from qc.outlets.expected import models_of
from qc.outlets.lint import lint
from qc.outlets.load import list_bases
from qc.outlets.schema import Profile
from qc.outlets.schema_kinds import Requirement
from qc.outlets.vocabulary import WORDS
from tests.kit.profiles import write_profile

GUIDE = (Path(__file__).resolve().parent.parent.parent / "profiles" / "README.md").read_text(encoding="utf-8")


def test_every_table_and_key_is_explained() -> None:
    """A requirement that the guide does not name would be found by nobody."""
    missing = []
    for section, field in Profile.model_fields.items():
        (model,) = models_of(field.annotation)
        for name, inner in model.model_fields.items():
            tables = list(models_of(inner.annotation))
            named = f"[{section}.{name}]" in GUIDE if tables else f"`{name}`" in GUIDE
            missing += [] if named else [f"{section}.{name}"]
            for table in tables:
                keys = set(table.model_fields) - set(Requirement.model_fields) - {"exact", "min", "max", "target"}
                missing += [f"{section}.{name}.{key}" for key in keys if not re.search(rf"`{key}\b", GUIDE)]
    assert missing == []
    assert all(f"`{key}`" in GUIDE for key in Requirement.model_fields)


def test_the_guide_names_no_table_that_does_not_exist() -> None:
    """A table of the guide that the schema refuses would send authors into errors."""
    for section, name in re.findall(r"`\[+(\w+)\.(\w+)\]+`", GUIDE.replace("[section.name]", "")):
        (model,) = models_of(Profile.model_fields[section].annotation)
        assert name in model.model_fields


def test_the_example_is_a_good_profile(tmp_path: Path) -> None:
    """What people copy loads, and nothing about it is odd but the channel groups it leaves to the file."""
    example = re.search(r"```toml\n(.*?)```", GUIDE, re.DOTALL)
    assert example
    _, warnings = lint(write_profile(tmp_path, example[1], "my-station.toml"))
    assert [warning.where for warning in warnings] == ["audio.group"]


def test_every_base_is_in_the_guide() -> None:
    """By its name and its first line, as qc profiles list shows it."""
    listed = re.findall(r"^\| `([\w-]+)` \| (.+) \|$", GUIDE.split("## Everything")[0], re.MULTILINE)
    bases = list_bases()
    assert [name for name, _ in listed] == [path.stem for path in bases]
    for (_, title), path in zip(listed, bases, strict=True):
        assert path.read_text(encoding="utf-8").startswith(f"# {title}")


def test_words_of_short_choices_are_all_in_the_guide() -> None:
    """Choices of few words are listed whole."""
    for key in ("picture.scan", "timecode.counting", "structure.parts", "structure.act_starts", "audio.arrangement"):
        assert all(f"`{word}`" in GUIDE for word in WORDS[key])
