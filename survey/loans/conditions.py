"""What lender and borrower agreed on, in words, and what a check found, held against it.

Readings at a crate are one look at one instrument, whose uncertainty no record holds; so what lies
outside is told by how much, and a person judges.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from survey.loans.models import Loan, LoanCheck, LoanedObject

WITHIN = "Within what was agreed"
NOTHING_AGREED = "Nothing was agreed on this"
NOT_LOOKED = "Not noted"
HOURS, SEALS = "Time in the closed crate", "Seals"
# At these a closed crate is opened.
OPENED = {LoanCheck.Stage.ARRIVAL, LoanCheck.Stage.RETURN}
DAMAGED = {LoanCheck.Glazing.SCRATCHED, LoanCheck.Glazing.CRACKED, LoanCheck.Glazing.BROKEN}


@dataclass(frozen=True)
class Held:
    """One thing that a check looked at.

    agreed, found  in words with their unit; "" when there is none
    judged         how the two stand to each other, in words
    is_outside     whether it is other than agreed
    """

    name: str
    agreed: str
    found: str
    judged: str
    is_outside: bool = False


def agreed_on(loan: Loan) -> list[tuple[str, str]]:
    """(name, words) of every condition that was agreed on."""
    said = [
        ("Light at the object", _most(loan.most_lux, "lx")),
        ("Ultraviolet in that light", _most(loan.most_ultraviolet_uw_lm, "µW/lm")),
        ("Temperature", _range(loan.coolest_c, loan.warmest_c, "°C")),
        ("Relative humidity", _range(loan.driest_percent, loan.dampest_percent, "%")),
        ("Steepest display", _steepest(loan.steepest_display_deg)),
        ("Crate closed before it is opened", _least(loan.hours_to_acclimatise, "h")),
        ("Handling", loan.handling),
        ("Framing", loan.framing),
    ]
    return [(name, words) for name, words in said if words]


def held_against(check: LoanCheck, loaned: LoanedObject | None) -> list[Held]:
    """What a check says of packing or unpacking, each against what was agreed or listed.

    Nothing agreed and nothing noted is left out.
    """
    return [one for one in _all_of(check, loaned) if one.agreed or one.found]


def noted(check: LoanCheck) -> list[tuple[str, str]]:
    """(name, words) of all that is looked at at the check's stage, for those who sign it: what was
    left out is told, too."""
    rows = [
        one
        for one in _all_of(check, None)
        if one.found or check.stage in OPENED or one.name != HOURS
    ]
    return [(one.name, _found(one)) for one in rows]


def _found(one: Held) -> str:
    if one.name == SEALS and one.found:
        return f"{one.found}; {one.judged[:1].lower()}{one.judged[1:]}"
    return one.found or NOT_LOOKED


def _all_of(check: LoanCheck, loaned: LoanedObject | None) -> list[Held]:
    loan = check.loan
    return [
        _crate(check, loaned),
        _seals(check),
        _held(
            HOURS,
            check.hours_acclimatised,
            loan.hours_to_acclimatise,
            None,
            "h",
            ("less", "more"),
            _least(loan.hours_to_acclimatise, "h"),
        ),
        _held(
            "Temperature",
            check.temperature_c,
            loan.coolest_c,
            loan.warmest_c,
            "°C",
            ("cooler", "warmer"),
            _range(loan.coolest_c, loan.warmest_c, "°C"),
        ),
        _held(
            "Relative humidity",
            check.humidity_percent,
            loan.driest_percent,
            loan.dampest_percent,
            "%",
            ("lower", "higher"),
            _range(loan.driest_percent, loan.dampest_percent, "%"),
        ),
        Held("Data logger", "", check.logger, "As noted" if check.logger else NOT_LOOKED),
        _glazing(check, loaned),
    ]


def outside(held: Iterable[Held]) -> list[Held]:
    """Those that are other than agreed."""
    return [one for one in held if one.is_outside]


def _crate(check: LoanCheck, loaned: LoanedObject | None) -> Held:
    listed = loaned.crate if loaned else ""
    if not check.crate or not listed:
        return Held("Crate", listed, check.crate, NOTHING_AGREED if check.crate else NOT_LOOKED)
    is_other = check.crate.strip().casefold() != listed.strip().casefold()
    judged = "Another crate than the list says" if is_other else "As listed"
    return Held("Crate", listed, check.crate, judged, is_other)


def _seals(check: LoanCheck) -> Held:
    judged = {
        LoanCheck.Answer.YES: "Found whole",
        LoanCheck.Answer.NO: "Not found whole",
        LoanCheck.Answer.NOT_SAID: "Not said whether they were whole",
    }[LoanCheck.Answer(check.seals_whole)]
    is_said = check.seals or check.seals_whole
    found = check.seals or ("Their numbers were not noted" if is_said else "")
    return Held(SEALS, "", found, judged, check.seals_whole == LoanCheck.Answer.NO)


def _glazing(check: LoanCheck, loaned: LoanedObject | None) -> Held:
    listed = loaned.glazing if loaned else ""
    state = LoanCheck.Glazing(check.glazing)
    if state == LoanCheck.Glazing.NOT_SAID:
        return Held("Glazing", listed, "", NOT_LOOKED)
    is_outside = state in DAMAGED or (state == LoanCheck.Glazing.NONE and bool(listed))
    if state in DAMAGED:
        judged = "Damaged"
    elif is_outside:
        judged = "Listed as glazed, and is not"
    else:
        judged = "In order"
    return Held("Glazing", listed, state.label, judged, is_outside)


def _held(
    name: str,
    found: float | None,
    low: float | None,
    high: float | None,
    unit: str,
    ways: tuple[str, str],
    agreed: str,
) -> Held:
    words = "" if found is None else f"{found:g} {unit}"
    if found is None:
        return Held(name, agreed, words, NOT_LOOKED)
    if not agreed:
        return Held(name, agreed, words, NOTHING_AGREED)
    if low is not None and found < low:
        return Held(name, agreed, words, f"{low - found:.4g} {unit} {ways[0]} than agreed", True)
    if high is not None and found > high:
        return Held(name, agreed, words, f"{found - high:.4g} {unit} {ways[1]} than agreed", True)
    return Held(name, agreed, words, WITHIN)


def _most(value: float | None, unit: str) -> str:
    return "" if value is None else f"At most {value:g} {unit}"


def _least(value: float | None, unit: str) -> str:
    return "" if value is None else f"At least {value:g} {unit}"


def _range(low: float | None, high: float | None, unit: str) -> str:
    if low is None or high is None:
        return _most(high, unit) or _least(low, unit)
    return f"{low:g} to {high:g} {unit}"


def _steepest(degrees: float | None) -> str:
    return "" if degrees is None else f"At most {degrees:g}° from lying flat"
