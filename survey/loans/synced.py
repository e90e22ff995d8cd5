"""What tablets carry of loans and checks, and what they may no longer change."""

from collections.abc import Iterator
from typing import Any

from survey.catalogue.wire import writable
from survey.examination.models import Examination
from survey.examination.shapes import is_key
from survey.examination.synced import in_scope_by
from survey.loans.coming import carry_check, carry_object, carry_state
from survey.loans.models import LoanCheck, Signature
from survey.loans.scope import own_within_loan, within_loan
from survey.loans.serializers import (
    LoanCheckSerializer,
    LoanedObjectSerializer,
    LoanSerializer,
    PointCheckSerializer,
    SignatureSerializer,
)
from survey.loans.stated import differences
from survey.sync.registry import (
    Entity,
    Fields,
    register,
    register_check,
    register_follower,
    register_guard,
    register_narrowing,
)

SIGNED = "This check is signed, so it stays as it is. What is found later is an amendment."


def forbid_when_signed(row: LoanCheck | None, fields: Fields, person: Any) -> dict[str, str]:
    if row is None or not row.is_signed:
        return {}
    return dict.fromkeys(fields, SIGNED)


def forbid_when_its_check_is_signed(row: Any, fields: Fields, person: Any) -> dict[str, str]:
    keys = {row.loan_check_id} if row is not None else set()
    sent = getattr(fields.get("loan_check"), "pk", fields.get("loan_check"))
    if is_key(str(sent)):
        keys.add(sent)
    signed = LoanCheck.objects.filter(pk__in=keys).exclude(statement="").exists()
    return dict.fromkeys(fields, SIGNED) if signed else {}


def forbid_rewriting(row: Signature | None, fields: Fields, person: Any) -> dict[str, str]:
    return {} if row is None else {"": "A signature stays as it was given."}


def sign_the_check_first(row: Examination | None, fields: Fields, person: Any) -> dict[str, str]:
    """The examination of a check is signed with the check, or its points would be passed over."""
    if row is None or not fields.get("signed_at"):
        return {}
    if LoanCheck.objects.filter(examination=row, deleted_at=None, statement="").exists():
        return {"signed_at": "This is a check on a loan: sign the check, and this goes with it."}
    return {}


def altered_after_signing() -> Iterator[str]:
    """A sentence for each signed check whose record says something else by now."""
    signed = LoanCheck.objects.exclude(statement="").select_related(
        "loan", "examination__object", "earlier"
    )
    for check in signed.iterator(chunk_size=100):
        for difference in differences(check):
            yield f"Check {check.pk} of {check.examination.object.accession_number}: {difference}"


register(Entity("loan", LoanSerializer))
register(
    Entity(
        "loaned_object",
        LoanedObjectSerializer,
        in_scope=in_scope_by("object__location"),
        follow=carry_object,
    )
)
register(
    Entity(
        "loan_check",
        LoanCheckSerializer,
        writable(LoanCheckSerializer),
        in_scope=in_scope_by("examination__object__location"),
        forbid=forbid_when_signed,
        follow=carry_check,
    )
)
register(
    Entity(
        "point_check",
        PointCheckSerializer,
        writable(PointCheckSerializer),
        in_scope=in_scope_by("loan_check__examination__object__location"),
        forbid=forbid_when_its_check_is_signed,
    )
)
register(
    Entity(
        "signature",
        SignatureSerializer,
        writable(SignatureSerializer),
        in_scope=in_scope_by("loan_check__examination__object__location"),
        forbid=forbid_rewriting,
    )
)
register_narrowing("loan", within_loan, own_within_loan)
register_guard("examination", sign_the_check_first)
register_follower("examination", carry_state)
register_check(altered_after_signing)
