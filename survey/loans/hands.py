"""Who signs a check at each of its stages, and whose signature is still wanting.

One hands the object over, another takes it: at the outgoing check the lender's own staff and the
courier, at the others the courier, or whoever of the lender stands there, and the receiver.
``frontend/components/loan/words.js`` says the same.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from survey.loans.models import LoanCheck, Signature

Role = Signature.Role
HOUSE = {Role.CONSERVATOR, Role.REGISTRAR}


@dataclass(frozen=True)
class HalfSigned:
    """``by``: *Signed by the courier only*; ``lacks``: *the receiver has not signed*."""

    by: str
    lacks: str

    @property
    def sentence(self) -> str:
        return f"{self.by}; {self.lacks}."


def half_signed(check: LoanCheck) -> HalfSigned | None:
    """Of a check below which only one side's signatures stand; None where both are there, or none
    has arrived."""
    rows = [one for one in check.signatures.all() if one.deleted_at is None]
    return half_signed_by(check.stage, (one.role for one in rows))


def half_signed_by(stage: str, given: Iterable[str]) -> HalfSigned | None:
    stands = set(given)
    roles = [role for role in Role if role in stands]
    wanting = _wanting(stage, set(roles))
    if not roles or wanting is None:
        return None
    names = " and ".join(f"the {role.label.lower()}" for role in roles)
    return HalfSigned(f"Signed by {names} only", f"the {wanting.label.lower()} has not signed")


def _wanting(stage: str, roles: set[Signature.Role]) -> Signature.Role | None:
    if len(roles) > 1 and Role.RECEIVER in roles:
        return None
    if stage != LoanCheck.Stage.OUTGOING:
        return Role.COURIER if roles == {Role.RECEIVER} else Role.RECEIVER
    if not roles & HOUSE:
        return Role.CONSERVATOR
    return None if Role.COURIER in roles else Role.COURIER
