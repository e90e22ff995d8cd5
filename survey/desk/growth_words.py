"""Says in words how much longer or larger a thing is than it was. Never what that means."""

from collections.abc import Mapping, Sequence
from typing import Any

from survey.reports.words import valued

UNITS = {"line": "mm", "area": "mm²"}
# (more, less): how a line or an area differs.
MORE = {"line": ("longer", "shorter"), "area": ("larger", "smaller")}
NAMES = {"line": "Length", "area": "Area"}
# A difference within so many standard uncertainties is told as none that could be measured.
WITHIN = 2.0


def growth_in_words(growth: Mapping[str, Any]) -> str:
    """``Earlier 12.4 ± 0.3 mm, later 18.1 ± 0.4 mm: 5.7 ± 0.4 mm longer.``; or why it could not
    be measured."""
    if "change" not in growth:
        return str(growth["sentence"])
    kind, unit = growth["kind"], UNITS[growth["kind"]]
    change, uncertainty = growth["change"]
    how = MORE[kind][change < 0]
    by = f"{valued(abs(change), uncertainty, unit)} {how}"
    if not growth["is_whole"]:
        return (
            f"{by[0].upper()}{by[1:]}. Where its older part begins is not outlined, so how "
            "long it is in all is not told."
        )
    later = f"later {_told(growth['later'], unit)}"
    if growth["earlier"] is None:
        return f"Not seen in the earlier photograph, {later}."
    both = f"Earlier {_told(growth['earlier'], unit)}, {later}"
    if abs(change) < WITHIN * uncertainty:
        return f"{both}: {by}, which is within twice the uncertainty."
    return f"{both}: {by}."


def _told(measured: Sequence[float], unit: str) -> str:
    value, uncertainty = measured
    return valued(value, uncertainty, unit)


def difference_in_words(told: Mapping[str, Any]) -> str:
    """How far the photographs differ at a place: ``32 ± 1 mm long, 32 ± 10 mm²``; "" where they
    do not. It is not how large the thing is that is seen there."""
    if "strength" not in told:
        return ""
    size = f"{told['area_mm2']:.0f} ± {max(1, round(told['area_u_mm2']))} mm²"
    if told["length_mm"] is None:
        return size
    return f"{told['length_mm']:.0f} ± {max(1, round(told['length_u_mm']))} mm long, {size}"


def measurement_of(growth: Mapping[str, Any] | None, term: str) -> dict[str, Any] | None:
    """The fields of a measurement that the later photograph gives; None where there is none.

    term  what was observed
    """
    if not growth or not growth.get("is_whole") or growth["later"][0] <= 0:
        return None
    value, uncertainty = growth["later"]
    kind = growth["kind"]
    return {
        "what": f"{NAMES[kind]} of {term.lower()}"[:80],
        "value": round(value, 1),
        "uncertainty": round(uncertainty, 2),
        "unit": {"line": "mm", "area": "mm2"}[kind],
        "points": growth["points"],
    }
