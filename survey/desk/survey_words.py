"""Says in words what a survey tells, and how sure that is."""

import math

from survey.collection.estimates import Estimate, Sureness
from survey.collection.models import CollectionSurvey
from survey.collection.results import Cell, Results
from survey.desk.exposure_words import grouped

WHOLE = "The whole store"
SURENESS = {
    Sureness.KNOWN: "all seen",
    Sureness.ESTIMATED: "",
    Sureness.ROUGH: "rough",
    Sureness.NO_SPREAD: "no interval: all that were seen are alike",
    Sureness.TOO_FEW: "too few seen",
    Sureness.NONE_SEEN: "none seen",
}


def percent(share: float, decimals: int = 0) -> str:
    return f"{100 * share:.{decimals}f}"


def share_in_words(cell: Cell) -> str:
    """``31 % (24 to 39), rough``, or why there is none."""
    return _together(share_value(cell), share_between(cell), cell)


def share_value(cell: Cell) -> str:
    """The share alone: ``31 %``, ``too few``, ``none seen``."""
    estimate = cell.estimate
    if estimate.value is None:
        return _why_none(cell)
    return f"{percent(estimate.value, _decimals(estimate))} %"


def share_between(cell: Cell) -> str:
    """Its interval: ``24 to 39``; "" without one."""
    estimate = cell.estimate
    if not _is_open(estimate):
        return ""
    assert estimate.low is not None and estimate.high is not None
    low, high = (percent(share, _decimals(estimate)) for share in (estimate.low, estimate.high))
    return f"{low} to {high}"


def objects_in_words(cell: Cell) -> str:
    """A share as a number of objects: ``720 (620 to 820)``; "" where there is none."""
    estimate = cell.estimate.times(cell.size)
    if not estimate.has_interval:
        return ""
    counted = Cell(estimate, cell.size, cell.seen, cell.having)
    return _together(_total_value(counted, ""), total_between(counted), counted)


def total_between(cell: Cell) -> str:
    """The interval of a total: ``300 to 540``; "" without one."""
    estimate = cell.estimate
    if not _is_open(estimate):
        return ""
    assert estimate.low is not None and estimate.high is not None
    low, high = (_rounded(number, _places(estimate)) for number in (estimate.low, estimate.high))
    return f"{low} to {high}"


def hours_in_words(cell: Cell) -> str:
    """``420 h (300 to 540), rough``, or why there is none."""
    return _together(hours_value(cell), total_between(cell), cell)


def hours_value(cell: Cell) -> str:
    return _total_value(cell, "h")


def boxes_in_words(cell: Cell) -> str:
    return _together(boxes_value(cell), total_between(cell), cell)


def boxes_value(cell: Cell) -> str:
    return _total_value(cell, "box" if cell.estimate.value == 1 else "boxes")


def sureness_in_words(cell: Cell) -> str:
    """``rough``, ``all seen``; "" where the value itself says why there is no estimate."""
    return "" if cell.estimate.value is None else SURENESS[cell.estimate.sureness]


def drawn_from(survey: CollectionSurvey) -> str:
    """What the survey is about: ``Paper store, Paper studio, divided by room``."""
    said = [survey.branch.name if survey.branch else WHOLE]
    if survey.studio:
        said.append(f"{survey.get_studio_display()} studio")
    if survey.divided_by:
        said.append(f"divided by {survey.get_divided_by_display().lower()}")
    return ", ".join(said)


def cautions(found: Results) -> list[str]:
    """What whoever reads the figures must know first."""
    said = []
    if found.waiting:
        said.append(
            f"{_objects(found.waiting)} of {found.drawn} {_are(found.waiting)} not examined and "
            "signed yet. A walk follows the shelves, so what is left lies together: until it is "
            "done, these figures speak for the shelves that were walked."
        )
    if found.missing:
        said.append(
            f"{_objects(found.missing)} of {found.drawn} could not be examined. No other took "
            "their place. The figures suppose that they are like those that were seen in the same "
            "part of the store; the walk gives the reasons, for you to judge that."
        )
    if found.not_reached and found.seen:
        named = ", ".join(found.not_reached)
        said.append(f"Nothing was seen of: {named}. The figures speak for the others only.")
    if found.unpriced:
        said.append(
            f"{found.unpriced} recommendation{_s(found.unpriced)} of work "
            f"{'name' if found.unpriced > 1 else 'names'} no hours and "
            f"{'count' if found.unpriced > 1 else 'counts'} as none: the hours are too low."
        )
    if found.hours.overall.estimate.sureness is Sureness.ROUGH:
        said.append(
            "The hours are lopsided: many objects need none, a few need many. Read the interval "
            "of their total as too narrow."
        )
    if found.survey.away:
        said.append(
            f"{_objects(found.survey.away)} stood nowhere in the tree of places when the sample "
            "was drawn: away, or not placed yet. No figure speaks for them."
        )
    return said


def _why_none(cell: Cell) -> str:
    return "none seen" if cell.estimate.sureness is Sureness.NONE_SEEN else "too few"


def _together(value: str, between: str, cell: Cell) -> str:
    remark = sureness_in_words(cell)
    return f"{value}{f' ({between})' if between else ''}{f', {remark}' if remark else ''}"


def _is_open(estimate: Estimate) -> bool:
    """Whether there is an interval that is more than the value itself."""
    return estimate.has_interval and estimate.sureness is not Sureness.KNOWN


def _decimals(estimate: Estimate) -> int:
    """One where whole points would make a small share none."""
    low, high = estimate.low or 0.0, estimate.high or 0.0
    return 1 if high < 0.1 or 0 < low < 0.005 or 0.995 < high < 1 else 0


def _total_value(cell: Cell, unit: str) -> str:
    if cell.estimate.value is None:
        return _why_none(cell)
    return f"{_rounded(cell.estimate.value, _places(cell.estimate))} {unit}".rstrip()


def _places(estimate: Estimate) -> int:
    """How many figures before the point are rounded away: two are kept of the interval's half."""
    if not estimate.has_interval:
        return 0
    assert estimate.low is not None and estimate.high is not None
    half = (estimate.high - estimate.low) / 2
    return max(0, math.floor(math.log10(half)) - 1) if half > 0 else 0


def _rounded(number: float, places: int) -> str:
    """To whole ones, tens, hundreds …; a small number keeps a decimal."""
    if places == 0 and number < 10 and number != round(number):
        return f"{number:.1f}"
    return grouped(round(number, -places) + 0.0)


def _objects(number: int) -> str:
    return f"{grouped(number)} object{_s(number)}"


def _s(number: int) -> str:
    return "" if number == 1 else "s"


def _are(number: int) -> str:
    return "is" if number == 1 else "are"
