"""What lender and borrower agreed on, in words, and what a check found, held against it.

Readings at a crate are one look at one instrument, whose uncertainty no record holds; so what lies
outside is told by how much, and a person judges.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from survey.loans.models import Loan, LoanCheck, LoanedObject
from survey.vocabulary.phrases import lower_first

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


def packed_before(check: LoanCheck) -> LoanCheck | None:
    """The last signed check of the same object on the same loan that noted numbers of seals."""
    examination = check.examination
    if check.stage == LoanCheck.Stage.OUTGOING:
        return None
    return (
        LoanCheck.objects.filter(
            loan=check.loan_id,
            deleted_at=None,
            examination__object=examination.object_id,
            examination__started_at__lt=examination.started_at,
        )
        .exclude(statement="")
        .exclude(seals="")
        .order_by("-examination__started_at", "-pk")
        .first()
    )


def held_against(
    check: LoanCheck, loaned: LoanedObject | None, packed: LoanCheck | None = None
) -> list[Held]:
    """What a check says of packing or unpacking, each against what was agreed, listed, or noted
    at packing.

    packed  see ``packed_before``

    Nothing agreed and nothing noted is left out.
    """
    return [one for one in _all_of(check, loaned, packed) if one.agreed or one.found]


def noted(check: LoanCheck) -> list[tuple[str, str]]:
    """(name, words) of all that is looked at at the check's stage, for those who sign it: what was
    left out is told, too."""
    return [(one.name, _found(one)) for one in _all_of(check, None, None)]


def _found(one: Held) -> str:
    if one.name == SEALS and one.found:
        return f"{one.found}; {lower_first(one.judged)}"
    return one.found or NOT_LOOKED


def _all_of(check: LoanCheck, loaned: LoanedObject | None, packed: LoanCheck | None) -> list[Held]:
    loan = check.loan
    found = [
        _crate(check, loaned),
        _seals(check, packed),
        _closed(check),
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
    return [one for one in found if one]


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


def _closed(check: LoanCheck) -> Held | None:
    """Nobody can wait for a crate that is not opened."""
    least = check.loan.hours_to_acclimatise
    if check.stage not in OPENED and check.hours_acclimatised is None:
        return None
    return _held(
        HOURS,
        check.hours_acclimatised,
        least,
        None,
        "h",
        ("less", "more"),
        _least(least, "h"),
    )


def _seals(check: LoanCheck, packed: LoanCheck | None) -> Held:
    is_said = bool(check.seals or check.seals_whole)
    at = _noted_at(packed) if packed else ""
    agreed = f"{packed.seals}, noted {at}" if packed else ""
    if packed and not is_said:
        return Held(SEALS, agreed, "", NOT_LOOKED)
    is_broken = check.seals_whole == LoanCheck.Answer.NO
    judged = {
        LoanCheck.Answer.YES: "Found whole",
        LoanCheck.Answer.NO: "Not found whole",
        LoanCheck.Answer.NOT_SAID: "Not said whether they were whole",
    }[LoanCheck.Answer(check.seals_whole)]
    found = check.seals or ("Their numbers were not noted" if is_said else "")
    if packed is None or not check.seals:
        return Held(SEALS, agreed, found, judged, is_broken)
    is_other = _numbers(check.seals) != _numbers(packed.seals)
    held = f"Other seals than {at}: {packed.seals}" if is_other else f"The same seals as {at}"
    # A crate that was opened on the way was sealed anew.
    is_outside = is_other and packed.stage == LoanCheck.Stage.OUTGOING
    judged = f"{held}. {judged}"
    return Held(SEALS, agreed, found, judged, is_outside or is_broken)


def _noted_at(packed: LoanCheck) -> str:
    if packed.stage == LoanCheck.Stage.OUTGOING:
        return "at packing"
    return f"at the {packed.get_stage_display().lower()} check"


def _numbers(seals: str) -> set[str]:
    """Numbers of seals as they are told in a line: ``PE 0521, PE 0522 and PE 0523``."""
    parts = re.split(r"[,;&\n]|\band\b", seals.casefold())
    return {"".join(part.split()) for part in parts} - {""}


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
        return Held(name, agreed, words, f"{_apart(low - found, unit)} {ways[0]} than agreed", True)
    if high is not None and found > high:
        return Held(
            name, agreed, words, f"{_apart(found - high, unit)} {ways[1]} than agreed", True
        )
    return Held(name, agreed, words, WITHIN)


def _apart(by: float, unit: str) -> str:
    """Two per cent beside a per cent are not 2 % of it."""
    words = f"{by:.4g}"
    if unit == "%":
        return f"{words} percentage point{'' if words == '1' else 's'}"
    return f"{words} {unit}"


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
