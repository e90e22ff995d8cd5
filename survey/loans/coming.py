"""What comes into a courier's pass, or leaves it, while the pass is open.

A device pulls what has a number above the last it saw. When an object joins a loan, or a new state
of it is signed, records come into the pass that nobody touched: they are sent again.
"""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.utils import timezone

from survey.access.models import LoanPass
from survey.catalogue.models import Object
from survey.examination.models import (
    Amendment,
    Examination,
    Measurement,
    Observation,
    Photograph,
    Visit,
    Watermark,
)
from survey.loans.models import LoanCheck, LoanedObject, PointCheck
from survey.loans.points import carried_examinations
from survey.sync.registry import Fields
from survey.sync.services import send_again

PARTS: dict[str, Any] = {
    "photograph": Photograph,
    "observation": Observation,
    "measurement": Measurement,
    "watermark": Watermark,
    "amendment": Amendment,
}


def carry_object(loaned: LoanedObject, fields: Fields, author: Any) -> None:
    """An object came on a loan or was taken off, with the states that are carried of it."""
    if not {"object", "loan", "deleted"} & set(fields) or not _is_read(loaned.loan_id):
        return
    send_again("object", Object.objects.filter(pk=loaned.object_id))
    states = Examination.objects.filter(object=loaned.object_id)
    if loaned.deleted_at is None:
        states = carried_examinations(loaned.loan_id).filter(object=loaned.object_id)
    _send(states.values_list("pk", flat=True))


def carry_check(check: LoanCheck, fields: Fields, author: Any) -> None:
    """A check began, with the state that it starts from, or was taken out."""
    if not {"examination", "earlier", "deleted"} & set(fields) or not _is_read(check.loan_id):
        return
    _send([check.examination_id, *([check.earlier_id] if check.earlier_id else [])])


def carry_state(examination: Examination, fields: Fields, author: Any) -> None:
    """A new state of an object was signed, or one was deleted, while it is on loan."""
    if not {"signed_at", "deleted"} & set(fields):
        return
    loans = LoanedObject.objects.filter(object=examination.object_id, deleted_at=None)
    read = [loan for loan in loans.values_list("loan", flat=True) if _is_read(loan)]
    keys = {
        key
        for loan in read
        for key in carried_examinations(loan)
        .filter(object=examination.object_id)
        .values_list("pk", flat=True)
    }
    if read:
        _send(keys | {examination.pk})


def _is_read(loan: UUID) -> bool:
    """Whether some device has opened a pass of it. One that is yet to open begins with all."""
    return LoanPass.objects.filter(
        loan=loan, revoked_at=None, device__isnull=False, expires_at__gt=timezone.now()
    ).exists()


def _send(examinations: Iterable[UUID]) -> None:
    keys = set(examinations)
    states = Examination.objects.filter(pk__in=keys)
    send_again("visit", Visit.objects.filter(examinations__in=keys).distinct())
    send_again("examination", states)
    for name, model in PARTS.items():
        send_again(name, model.objects.filter(examination__in=keys, deleted_at=None))
    points = PointCheck.objects.filter(loan_check__examination__in=keys, deleted_at=None)
    send_again("point_check", points)
