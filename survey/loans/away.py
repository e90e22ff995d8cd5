"""Which objects are out of the house on a loan."""

from datetime import date
from uuid import UUID

from django.db.models import Exists, OuterRef

from survey.loans.models import Loan, LoanCheck, LoanedObject


def away(today: date) -> dict[UUID, Loan]:
    """By key of the object the loan it is on; one query.

    It is away from the day after the loan began until its last day, or until its check on
    return is signed.
    """
    back = LoanCheck.objects.filter(
        deleted_at=None,
        stage=LoanCheck.Stage.RETURN,
        loan=OuterRef("loan"),
        examination__object=OuterRef("object"),
    ).exclude(statement="")
    lent = LoanedObject.objects.filter(
        ~Exists(back),
        deleted_at=None,
        loan__deleted_at=None,
        loan__direction=Loan.Direction.OUT,
        loan__first_day__lt=today,
        loan__last_day__gte=today,
    )
    return {one.object_id: one.loan for one in lent.select_related("loan")}
