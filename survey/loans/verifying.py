"""Holds what somebody says was signed against its own hashes and against this server's record."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils import timezone

from survey.examination.models import Amendment
from survey.examination.shapes import is_key
from survey.loans.models import LoanCheck, Signature
from survey.loans.signed_files import Signed, signed_of
from survey.loans.stated import differences
from survey.loans.statements import CannotRead, read_statement, sha256_of


@dataclass
class Verdict:
    """What holds, what does not, and what was said later, each in sentences.

    about   what was signed: the check, the object, the loan
    holds   what was found in order
    faults  what is not: with a single one nothing is verified
    later   amendments, which alter nothing of what was signed
    kept    the check, where this server keeps the same words for it
    """

    about: str = ""
    holds: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    later: list[str] = field(default_factory=list)
    kept: LoanCheck | None = None

    @property
    def is_verified(self) -> bool:
        return not self.faults


def verify(signed: Signed) -> Verdict:
    """Nothing is altered, and nothing in the file is taken for true because it is there."""
    verdict = Verdict()
    try:
        said = read_statement(signed.statement)
    except CannotRead as error:
        verdict.faults.append(str(error))
        return verdict
    verdict.about = _about(said)
    _hold_hashes(signed, verdict)
    check = _check_of(said)
    if check is None:
        verdict.faults.append(
            "This server has no such check. Ask the museum that keeps the record, or wait until "
            "the phone that signed it has sent."
        )
        return verdict
    _hold_record(signed, check, verdict)
    verdict.later += [_amendment(one) for one in _amendments(check)]
    return verdict


def verify_check(check: LoanCheck) -> Verdict:
    """What this server holds of a signed check, against itself."""
    return verify(signed_of(check))


def _about(said: dict[str, Any]) -> str:
    item, loan, check = said["object"], said["loan"], said["check"]
    stage = dict(LoanCheck.Stage.choices).get(check.get("stage"), "Some")
    return (
        f"{stage} check of {item.get('accession_number')} {item.get('title')}, on loan "
        f"{loan.get('reference')} {loan.get('title')} from {loan.get('lender')} to "
        f"{loan.get('borrower')}."
    )


def _hold_hashes(signed: Signed, verdict: Verdict) -> None:
    """The hash of the words against that which each signature bears."""
    if not signed.signatures:
        verdict.faults.append("Nobody’s signature is in it.")
    own = sha256_of(signed.statement)
    for one in signed.signatures:
        if one["sha256"] == own:
            verdict.holds.append(
                f"These words give the SHA-256 that stands with this signature: {own}. {_who(one)}."
            )
        else:
            verdict.faults.append(
                f"{_who(one)}, but other words: this signature bears the SHA-256 {one['sha256']}, "
                f"and these words give {own}."
            )


def _hold_record(signed: Signed, check: LoanCheck, verdict: Verdict) -> None:
    """The file against what this server keeps, and that against the record as it is now."""
    if check.deleted_at is not None:
        verdict.faults.append("This check was taken out of the record.")
    if not check.is_signed:
        verdict.faults.append("This server has the check, but not that it was signed.")
        return
    kept = signed_of(check)
    if kept.statement == signed.statement:
        verdict.kept = check
        verdict.holds.append("This server keeps the same words, letter by letter.")
    else:
        verdict.faults.append(
            f"This server keeps other words for this check, with the SHA-256 "
            f"{sha256_of(kept.statement)}."
        )
    for one in signed.signatures:
        if one in kept.signatures:
            verdict.holds.append(
                f"This server keeps the signature of {one['name']}, as it is here."
            )
        else:
            verdict.faults.append(_unlike(one, kept.signatures))
    verdict.later += [
        f"This server keeps a signature besides: {_who(one)}."
        for one in kept.signatures
        if one["sha256"] == sha256_of(signed.statement) and one not in signed.signatures
        if not any(_is_same_hand(one, other) for other in signed.signatures)
    ]
    changed = list(differences(check))
    verdict.faults += [f"The record says otherwise since. {one}" for one in changed]
    if not changed:
        verdict.holds.append("The record says what was signed.")


def _is_same_hand(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether one signature may be a spoiled copy of the other: all but one field alike."""
    return sum(one[name] != other[name] for name in one) <= 1


def _unlike(one: dict[str, Any], kept: list[dict[str, Any]]) -> str:
    """Why a signature is not one of those that this server keeps."""
    for other in kept:
        if _is_same_hand(one, other):
            [name] = [name for name in other if one[name] != other[name]]
            if name == "strokes":
                return f"{_who(one)}, but it was drawn otherwise than this server keeps it."
            return (
                f"{_who(one)}, but this server keeps it otherwise: {_who(other)} "
                f"({'museum' if name == 'of' else name.replace('_', ' ')})."
            )
    return f"{_who(one)}, but this server keeps no such signature below this check."


def _who(one: dict[str, Any]) -> str:
    role = dict(Signature.Role.choices).get(one["role"], one["role"]).lower()
    signed_for = f", for {one['of']}" if one["of"] else ""
    by_name = "" if one["strokes"] else ", by name alone"
    return (
        f"{one['name']} signed as {role}{signed_for}{by_name}, "
        f"{_when(datetime.fromisoformat(one['signed_at']))}"
    )


def _when(at: datetime) -> str:
    """In the museum's time, to the second."""
    return f"{timezone.localtime(at):%-d %B %Y, %H:%M:%S %Z}"


def _check_of(said: dict[str, Any]) -> LoanCheck | None:
    key = said["check"].get("id")
    if not is_key(key):
        return None
    checks = LoanCheck.objects.select_related("loan", "examination__object", "earlier")
    return checks.filter(pk=UUID(key)).first()


def _amendments(check: LoanCheck) -> Iterator[Amendment]:
    yield from Amendment.objects.filter(examination=check.examination_id, deleted_at=None).order_by(
        "signed_at", "id"
    )


def _amendment(one: Amendment) -> str:
    what = f" ({one.field.replace('_', ' ')})" if one.field else ""
    return (
        f"Amended{what} by {one.signed_name}, {_when(one.signed_at)}: {one.reason} "
        "What was signed stays as it was."
    )
