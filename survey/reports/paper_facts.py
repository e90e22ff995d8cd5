"""The structure of a paper in words and numbers, as read and as a person corrected it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

Result = Mapping[str, Any]

MAKES = {"laid": "Laid", "wove": "Wove", "not measurable": "Not measurable"}


@dataclass(frozen=True)
class Figure:
    """One line of the figures.

    value, rest  the number, and its uncertainty with the unit; of a word ``rest`` is ""
    as_read      what the machine read, in one piece, where a person said otherwise
    """

    name: str
    value: str
    rest: str
    as_read: str


def figures(stands: Result, as_read: Result | None) -> list[Figure]:
    """What counts, with the machine's own beside it where that is another."""
    found = []
    for name, told in FIGURES.items():
        value, rest = told(stands)
        own = _joined(told(as_read)) if as_read is not None else ""
        is_other = own != "" and own != _joined((value, rest))
        if value or is_other:
            found.append(Figure(name, value or "Not told", rest, own if is_other else ""))
    return found


def numbered(number: float, uncertainty: float, unit: str) -> tuple[str, str]:
    """A value with the decimals that its uncertainty allows: ``9.42``, ``± 0.05 lines``."""
    decimals = 2 if uncertainty < 0.1 else 1
    return (
        # Adding nothing makes a rounded −0 a plain 0.
        f"{round(number, decimals) + 0.0:.{decimals}f}".replace("-", "−"),
        f"± {uncertainty:.{decimals}f}{'' if unit == '°' else ' '}{unit}",
    )


def _measured(name: str, unit: str) -> Callable[[Result], tuple[str, str]]:
    def told(result: Result) -> tuple[str, str]:
        one = result.get(name)
        return numbered(one["value"], one["u"], unit) if one else ("", "")

    return told


def _make(result: Result) -> tuple[str, str]:
    return MAKES[result["make"]], ""


def _chains(result: Result) -> tuple[str, str]:
    return (str(len(result["chains"])), "") if result["make"] == "laid" else ("", "")


def _joined(told: tuple[str, str]) -> str:
    return " ".join(part for part in told if part)


FIGURES: dict[str, Callable[[Result], tuple[str, str]]] = {
    "Paper": _make,
    "Laid lines in a centimetre": _measured("laid_per_cm", "lines"),
    "Laid lines in 20 mm": _measured("laid_per_20mm", "lines"),
    "Chain lines": _chains,
    "Between chain lines, mean": _measured("mean_mm", "mm"),
    "Between chain lines, spread": _measured("spread_mm", "mm"),
    "Direction of the chain lines, clockwise from upright": _measured("chain_angle_deg", "°"),
}
