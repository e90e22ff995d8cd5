"""The points of a check: what was known of the object before, to be looked at one by one."""

from typing import Any
from uuid import UUID

from django.db.models import OuterRef, Q, QuerySet, Subquery

from survey.examination.models import Examination, Observation
from survey.loans.models import LoanCheck, LoanedObject, PointCheck


def known_points(check: LoanCheck) -> "QuerySet[Observation]":
    """What a check has to go through: the observations of the earlier state, and, where that was
    a check itself, those that it could not see or left open. By key."""
    if check.earlier_id is None:
        return Observation.objects.none()
    unseen = _unseen([check.earlier_id])
    return (
        Observation.objects.filter(
            Q(examination=check.earlier_id) | Q(pk__in=unseen.values("observation")),
            deleted_at=None,
        )
        .select_related("term")
        .order_by("id")
    )


def _unseen(examinations: "list[UUID] | QuerySet[Any]") -> "QuerySet[PointCheck]":
    """What checks, told by their examinations, could not see or left open."""
    return PointCheck.objects.filter(
        loan_check__examination__in=examinations,
        loan_check__deleted_at=None,
        deleted_at=None,
        answer__in=(PointCheck.Answer.NOT_VISIBLE, PointCheck.Answer.NOT_SAID),
    )


def open_points(check: LoanCheck) -> list[Observation]:
    """Known points that have neither an answer nor a reason why they are left open.

    "Same" needs no words; what changed, or could not be seen, does.
    """
    settled = PointCheck.objects.filter(loan_check=check, deleted_at=None).filter(
        Q(answer=PointCheck.Answer.SAME) | ~Q(reason="")
    )
    return list(known_points(check).exclude(pk__in=settled.values("observation")))


def last_signed(item: UUID) -> Examination | None:
    """The state of an object that the next check starts from: the last one signed."""
    return _signed().filter(object=item).first()


def _signed() -> "QuerySet[Examination]":
    """Signed states, the last first."""
    signed = Examination.objects.filter(signed_at__isnull=False, deleted_at=None)
    return signed.order_by("-started_at", "-id")


def carried_examinations(loan: UUID | str) -> "QuerySet[Examination]":
    """What a courier of the loan is shown: its checks, the states they start from, the last signed
    state of each of its objects, and those in which lies what that state could not see.

    One query, however many objects: it is asked again for each kind of record of a pull.
    """
    loaned = LoanedObject.objects.filter(loan__pk=loan, deleted_at=None)
    of_object = _signed().filter(object=OuterRef("object"))
    latest = loaned.values_list(Subquery(of_object.values("pk")[:1]))
    unseen = _unseen(latest).values("observation__examination")
    return Examination.objects.filter(object__in=loaned.values("object")).filter(
        Q(loan_check__loan=loan) | Q(checks_after__loan=loan) | Q(pk__in=latest) | Q(pk__in=unseen)
    )
