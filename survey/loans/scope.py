"""What the device of a courier's pass carries: one loan, and of the rest nothing."""

from collections.abc import Callable
from typing import Any

from django.db.models import Q, QuerySet

from survey.catalogue.models import Object
from survey.loans.points import carried_examinations
from survey.sync.registry import Entity

Rows = QuerySet[Any]


def within_loan(entity: Entity, rows: Rows, scope: dict[str, Any]) -> Rows:
    """Those of the rows that belong to the scope's loan; none of a kind that is not named here."""
    narrow = NARROWED.get(entity.name)
    return narrow(rows, scope["loan"], scope["person"]) if narrow else rows.none()


def _objects(loan: str) -> "QuerySet[Object]":
    return Object.objects.filter(loaned__loan__pk=loan, loaned__deleted_at=None)


def _examinations(rows: Rows, loan: str, person: str) -> Rows:
    own = Q(examiner=person, object__in=_objects(loan))
    return rows.filter(own | Q(pk__in=carried_examinations(loan)))


def _parts(rows: Rows, loan: str, person: str) -> Rows:
    own = Q(examination__examiner=person, examination__object__in=_objects(loan))
    return rows.filter(own | Q(examination__in=carried_examinations(loan)))


def _own_parts(rows: Rows, loan: str, person: str) -> Rows:
    """What is thought of at home, such as recommended work, is not the courier's to read."""
    return rows.filter(examination__examiner=person, examination__object__in=_objects(loan))


def _visits(rows: Rows, loan: str, person: str) -> Rows:
    return rows.filter(
        Q(person=person)
        | Q(pk__in=carried_examinations(loan).filter(loan_check__loan__pk=loan).values("visit"))
    )


NARROWED: dict[str, Callable[[Rows, str, str], Rows]] = {
    "object": lambda rows, loan, _: rows.filter(pk__in=_objects(loan)),
    "loan": lambda rows, loan, _: rows.filter(pk=loan),
    "loaned_object": lambda rows, loan, _: rows.filter(loan=loan),
    "loan_check": lambda rows, loan, _: rows.filter(loan=loan),
    "point_check": lambda rows, loan, _: rows.filter(loan_check__loan=loan),
    "signature": lambda rows, loan, _: rows.filter(loan_check__loan=loan),
    "visit": _visits,
    "examination": _examinations,
    "photograph": _parts,
    "observation": _parts,
    "measurement": _parts,
    "watermark": _parts,
    "amendment": _parts,
    "recommendation": _own_parts,
}
