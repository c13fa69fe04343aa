"""How the files of one run are called, so that two of the same name stay apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path


def names_in_run(files: Sequence[Path]) -> dict[Path, str]:
    """File name, with as many of its folders before it as it takes to be the only one of the run."""
    names = {path: path.name for path in files}
    for depth in range(2, 1 + max((len(path.parts) for path in files), default=0)):
        count = Counter(names.values())
        if all(number == 1 for number in count.values()):
            break
        names = {path: "/".join(path.parts[-depth:]) if count[name] > 1 else name for path, name in names.items()}
    return names
