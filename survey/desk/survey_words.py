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
    """``31 % (24 to 39)``, or why there is none."""
    estimate = cell.estimate
    if estimate.value is None or estimate.low is None or estimate.high is None:
        return _why_none(cell)
    if estimate.sureness is Sureness.KNOWN:
        return f"{percent(estimate.value, _decimals(estimate))} %, all seen"
    value, low, high = (
        percent(share, _decimals(estimate))
        for share in (estimate.value, estimate.low, estimate.high)
    )
    return f"{value} % ({low} to {high}){_rough(estimate)}"


def value_in_words(cell: Cell) -> str:
    """The share alone, for where there is no room: ``31 %``, ``too few``."""
    estimate = cell.estimate
    if estimate.value is None:
        return "too few" if estimate.sureness is Sureness.TOO_FEW else "none seen"
    return f"{percent(estimate.value, _decimals(estimate))} %"


def objects_in_words(cell: Cell) -> str:
    """The same as a number of objects: ``about 120 (90 to 150)``."""
    estimate = cell.estimate.times(cell.size)
    if not estimate.has_interval:
        return ""
    return _ranged(estimate, "")


def total_in_words(cell: Cell, unit: str) -> str:
    """``420 h (300 to 540)``, or why there is none. Boxes come in whole ones already."""
    estimate = cell.estimate
    if estimate.value is None:
        return _why_none(cell)
    if not estimate.has_interval:
        return f"{_rounded(estimate.value, 0)} {unit}, {SURENESS[estimate.sureness]}"
    return _ranged(estimate, unit)


def hours_in_words(cell: Cell) -> str:
    return total_in_words(cell, "h")


def boxes_in_words(cell: Cell) -> str:
    return total_in_words(cell, "boxes" if cell.estimate.value != 1 else "box")


def seen_in_words(cell: Cell) -> str:
    """``12 of 40 seen``."""
    return f"{cell.seen} seen" if cell.having is None else f"{cell.having} of {cell.seen} seen"


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
            "their place. The figures take them to be like those that were seen in the same "
            "stratum; that is a guess, and the walk gives the reasons."
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
    if cell.estimate.sureness is Sureness.NONE_SEEN:
        return "none seen"
    if cell.having is None:
        return f"{cell.seen} seen: too few"
    return f"{cell.having} of {cell.seen} seen: too few"


def _decimals(estimate: Estimate) -> int:
    """One where whole points would make a small share none."""
    low, high = estimate.low or 0.0, estimate.high or 0.0
    return 1 if high < 0.1 or 0 < low < 0.005 or 0.995 < high < 1 else 0


def _ranged(estimate: Estimate, unit: str) -> str:
    assert estimate.value is not None and estimate.low is not None and estimate.high is not None
    half = (estimate.high - estimate.low) / 2
    places = max(0, math.floor(math.log10(half)) - 1) if half > 0 else 0
    value = f"{_rounded(estimate.value, places)} {unit}".rstrip()
    if estimate.sureness is Sureness.KNOWN:
        return f"{value}, all seen"
    low, high = _rounded(estimate.low, places), _rounded(estimate.high, places)
    return f"{value} ({low} to {high}){_rough(estimate)}"


def _rounded(number: float, places: int) -> str:
    """To whole ones, tens, hundreds …; a small number keeps a decimal."""
    if places == 0 and number < 10 and number != round(number):
        return f"{number:.1f}"
    return grouped(round(number, -places) + 0.0)


def _rough(estimate: Estimate) -> str:
    return ", rough" if estimate.sureness is Sureness.ROUGH else ""


def _objects(number: int) -> str:
    return f"{grouped(number)} object{_s(number)}"


def _s(number: int) -> str:
    return "" if number == 1 else "s"


def _are(number: int) -> str:
    return "is" if number == 1 else "are"
