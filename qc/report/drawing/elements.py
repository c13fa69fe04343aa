"""Elements of a drawing: attributes and text from outside are made visible and escaped, always."""

from __future__ import annotations

from markupsafe import Markup, escape

from qc.report.visible import visible

#: Longest text of an element; a sentence about many places is long.
_LONGEST = 20_000

#: Shapes without anything inside, written short; HTML allows that inside a drawing only.
_SHAPES = ("rect", "line", "path", "circle")


def element(name: str, *children: str | Markup, **attributes: object) -> Markup:
    """``<name attribute="value">children</name>``; a name's underscores are hyphens, one at its end is dropped.

    An attribute of None is left out. Text is escaped, Markup goes in as it is. Element and attribute names are ours.
    """
    said = [f"<{name}"]
    for key, value in attributes.items():
        if value is not None:
            # A path is made of our own numbers and may be long.
            written = value if key == "d" or isinstance(value, int | float) else escape(visible(str(value), _LONGEST))
            said.append(f' {key.rstrip("_").replace("_", "-")}="{written}"')
    if not children and name in _SHAPES:
        return Markup("".join([*said, "/>"]))
    said.append(">")
    said += [str(child if isinstance(child, Markup) else escape(visible(child, _LONGEST))) for child in children]
    said.append(f"</{name}>")
    return Markup("".join(said))


def together(*parts: Markup) -> Markup:
    """Elements one after the other."""
    return Markup("".join(str(part) for part in parts))


def plain(value: float, decimals: int = 1) -> str:
    """A coordinate: fixed decimals without trailing noughts, never "-0"."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def percent(part: float, whole: float) -> str:
    """How far along a drawing something is; three decimals are a hundredth of a pixel on any page."""
    return f"{plain(100 * part / whole, 3)}%"
