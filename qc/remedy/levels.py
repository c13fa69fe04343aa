"""Picture levels: what to turn, by component and direction, and where to see the worst of it."""

from __future__ import annotations

from qc.remedy.fix import Fix

_NAMES = {"Y": "luma", "R": "red", "G": "green", "B": "blue"}
_CURES = {
    ("Y", True): "lower the gain there, or legalise",
    ("Y", False): "lift the blacks there, or legalise",
    ("R", True): "bring its saturation down there, or legalise",
    ("R", False): "bring the saturation of the colours without red down there, or legalise",
    ("G", False): "bring the saturation of the colours without green down there, or legalise",
    ("B", False): "bring the saturation of the colours without blue down there, or legalise",
}


def component_name(component: str) -> str:
    """The trade's word for "Y", "R", "G" or "B"."""
    return _NAMES[component]


def legalise(component: str, high: bool, limit: float, area: float, worst: str, where: str) -> Fix:
    """One component outside on one side.

    limit  percent of the nominal range that it is beyond
    area   percent of the picture in the worst frame, at the moment ``worst``
    """
    cure = _CURES.get((component, high)) or _CURES["R", high]
    beyond = f"{'above' if high else 'below'} {limit:g} %"
    name = component_name(component).capitalize()
    sentence = f"{name} is {beyond} on {_percent(area)} % of the picture, worst at {worst}: {cure}."
    return Fix("re-grade", None, "", where, sentence)


def _percent(area: float) -> str:
    return f"{area:.1f}" if area < 99.95 else "100"
