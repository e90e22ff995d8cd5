"""What a courier's pass carries and may write: of one loan, and of all the rest nothing."""

from collections.abc import Callable, Mapping
from typing import Any

from django.db.models import Q, QuerySet

from survey.catalogue.models import Object
from survey.examination.models import Visit
from survey.loans.points import carried_examinations
from survey.sync.registry import Entity

Rows = QuerySet[Any]
Narrow = Callable[[Rows, str, str], Rows]


def within_loan(entity: Entity, rows: Rows, scope: dict[str, Any]) -> Rows:
    """Those of the rows that belong to the scope's loan; none of a kind that is not named here."""
    return _narrowed(CARRIED, entity, rows, scope)


def own_within_loan(entity: Entity, rows: Rows, scope: dict[str, Any]) -> Rows:
    """Those that whoever holds the pass made on the loan. All else of it they only read."""
    return _narrowed(OWN, entity, rows, scope)


def _narrowed(
    narrows: Mapping[str, Narrow], entity: Entity, rows: Rows, scope: dict[str, Any]
) -> Rows:
    narrow = narrows.get(entity.name)
    return narrow(rows, scope["loan"], scope["person"]) if narrow else rows.none()


def _objects(loan: str) -> "QuerySet[Object]":
    return Object.objects.filter(loaned__loan__pk=loan, loaned__deleted_at=None)


def _is_own(path: str, loan: str, person: str) -> Q:
    """Examinations that the person made, on a visit of theirs, of an object of the loan; ``path``
    leads to the examination."""
    return Q(
        **{
            f"{path}examiner": person,
            f"{path}visit__person": person,
            f"{path}object__in": _objects(loan),
        }
    )


def _own_by(path: str) -> Narrow:
    return lambda rows, loan, person: rows.filter(_is_own(path, loan, person))


def _own_checks_by(path: str) -> Narrow:
    """Of the checks of this loan, by their examination; ``path`` leads to the check."""
    return lambda rows, loan, person: rows.filter(
        _is_own(f"{path}examination__", loan, person), **{f"{path}loan": loan}
    )


def _examinations(rows: Rows, loan: str, person: str) -> Rows:
    return rows.filter(_is_own("", loan, person) | Q(pk__in=carried_examinations(loan)))


def _parts(rows: Rows, loan: str, person: str) -> Rows:
    return rows.filter(
        _is_own("examination__", loan, person) | Q(examination__in=carried_examinations(loan))
    )


def _visits(rows: Rows, loan: str, person: str) -> Rows:
    """Their own, and those made to check the loan; a round through the store is not part of it."""
    checked = carried_examinations(loan).filter(loan_check__loan__pk=loan).values("visit")
    return rows.filter(Q(person=person) | Q(pk__in=checked, purpose=Visit.Purpose.LOAN_CHECK))


CARRIED: dict[str, Narrow] = {
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
    # What is thought of at home is not the courier's to read.
    "recommendation": _own_by("examination__"),
}
OWN: dict[str, Narrow] = {
    "loan_check": _own_checks_by(""),
    "point_check": _own_checks_by("loan_check__"),
    "signature": _own_checks_by("loan_check__"),
    "visit": lambda rows, _, person: rows.filter(person=person),
    "examination": _own_by(""),
    **dict.fromkeys(
        ("photograph", "observation", "measurement", "watermark", "amendment", "recommendation"),
        _own_by("examination__"),
    ),
}
