"""What changes a loan at the desk: its days and conditions, and the objects that go with it.

Everything goes through ``record_change``, so tablets receive it, and through ``note``, so that
the audit trail tells who did it. All raise PermissionDenied for couriers, and Refused with a
sentence by field when something cannot be done; then nothing was altered.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, time
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone

from survey.access.models import LoanPass, Person
from survey.access.passes import make_pass, set_end, withdraw_pass
from survey.access.services import note
from survey.catalogue.models import Object
from survey.loans.days import days_in_words
from survey.loans.models import Loan, LoanCheck, LoanedObject
from survey.sync import log
from survey.sync.services import Refused, record_change

DAYS = ("first_day", "last_day")


class Overlaps(Refused):
    """An object is on another loan on some of these days. A person may say that this is meant."""


def check_may_arrange(person: Person) -> None:
    """Raises PermissionDenied for couriers."""
    if person.is_courier:
        raise PermissionDenied("Conservators and the head of department arrange loans.")


def make_loan(person: Person, **fields: Any) -> Loan:
    """``fields`` are those of the loan, by their wire names."""
    check_may_arrange(person)
    with transaction.atomic():
        loan: Loan = record_change("loan", None, fields, person)
        note(person, "loan made", str(loan))
    return loan


def edit_loan(
    loan: Loan, person: Person, changed: Mapping[str, Any], *, is_meant: bool = False
) -> None:
    """Change some fields of a loan. Its passes end with it, wherever its end is moved to.

    is_meant  the person said that objects are to be on two loans at once

    Raises Overlaps besides.
    """
    check_may_arrange(person)
    with transaction.atomic():
        log.lock()
        record_change("loan", loan, changed, person)
        if set(DAYS) & set(changed) and not is_meant:
            _refuse_overlaps(loan, [one.object for one in living_objects(loan)])
        if "last_day" in changed:
            set_end(loan.pk, end_of(loan))
        note(person, "loan changed", str(loan), {"fields": sorted(changed)})


def remove_loan(loan: Loan, person: Person) -> None:
    """Take out a loan that never was. One that has checks stays."""
    check_may_arrange(person)
    with transaction.atomic():
        log.lock()
        if number := living_checks(loan).count():
            raise Refused({"": f"{_checks(number)} on this loan, so it stays."})
        for one in living_objects(loan):
            record_change("loaned_object", one, {"deleted": True}, person)
        for held in LoanPass.objects.filter(loan=loan.pk, revoked_at=None):
            withdraw_pass(held, person)
        record_change("loan", loan, {"deleted": True}, person)
        note(person, "loan removed", str(loan))


def add_objects(
    loan: Loan, items: Iterable[Object], person: Person, *, crate: str = "", is_meant: bool = False
) -> list[LoanedObject]:
    """Put objects at the end of a loan's list: all of them, or none.

    is_meant  the person said that an object is to be on two loans at once

    Raises Overlaps besides.
    """
    check_may_arrange(person)
    items = list(items)
    with transaction.atomic():
        log.lock()
        there = list(living_objects(loan))
        twice = {one.object_id for one in there} & {item.pk for item in items}
        if twice:
            named = ", ".join(item.accession_number for item in items if item.pk in twice)
            raise Refused({"": f"Already on this loan: {named}."})
        if not is_meant:
            _refuse_overlaps(loan, items)
        last = max((one.order for one in there), default=0)
        added = [
            record_change(
                "loaned_object",
                None,
                {"loan": loan, "object": item, "crate": crate, "order": order},
                person,
            )
            for order, item in enumerate(items, last + 1)
        ]
        for item in items:
            note(person, "object put on loan", f"{item.accession_number}, {loan}")
    return added


def edit_object(loaned: LoanedObject, person: Person, changed: Mapping[str, Any]) -> None:
    """Change how an object travels: its crate, frame, glazing, or place in the list."""
    check_may_arrange(person)
    with transaction.atomic():
        record_change("loaned_object", loaned, changed, person)
        note(
            person,
            "loaned object changed",
            f"{loaned.object.accession_number}, {loaned.loan}",
            dict(changed),
        )


def remove_object(loaned: LoanedObject, person: Person) -> None:
    """Take an object off a loan. One that was checked on it stays on its list."""
    check_may_arrange(person)
    number = loaned.object.accession_number
    with transaction.atomic():
        log.lock()
        checked = living_checks(loaned.loan).filter(examination__object=loaned.object_id).count()
        if checked:
            raise Refused({"": f"{_checks(checked)} of {number} on this loan, so it stays on it."})
        record_change("loaned_object", loaned, {"deleted": True}, person)
        note(person, "object taken off loan", f"{number}, {loaned.loan}")


def give_pass(loan: Loan, holder: str, person: Person) -> tuple[LoanPass, str]:
    """A pass that opens this loan until its end. Returns it with its token, kept nowhere else."""
    check_may_arrange(person)
    if loan.last_day < timezone.localdate():
        raise Refused(
            {
                "": f"This loan ended on {loan.last_day:%-d %B %Y}, and a pass ends with its loan. "
                "Change the last day first, if it goes on."
            }
        )
    return make_pass(loan.pk, str(loan), holder, end_of(loan), person)


def take_pass_back(held: LoanPass, person: Person) -> None:
    """Withdraw a pass: nothing opens with it from now on."""
    check_may_arrange(person)
    withdraw_pass(held, person)


def end_of(loan: Loan) -> datetime:
    """The last moment of a loan's last day, by the server's time zone."""
    return timezone.make_aware(datetime.combine(loan.last_day, time.max))


def living_objects(loan: Loan) -> Any:
    """What goes with a loan, in the order of its list."""
    return (
        LoanedObject.objects.filter(loan=loan, deleted_at=None)
        .select_related("object", "loan")
        .order_by("order", "id")
    )


def living_checks(loan: Loan) -> Any:
    return LoanCheck.objects.filter(loan=loan, deleted_at=None)


def _refuse_overlaps(loan: Loan, items: Iterable[Object]) -> None:
    """Raises Overlaps. What is lent twice on the same days is mostly a slip."""
    sentences = [
        f"{one.object.accession_number} is also on {one.loan}, "
        f"{days_in_words(one.loan.first_day, one.loan.last_day)}."
        for one in _elsewhere(loan, [item.pk for item in items])
    ]
    if sentences:
        raise Overlaps(
            {"": " ".join([*sentences, "Change the days of one loan, or say that it is meant."])}
        )


def _elsewhere(loan: Loan, keys: list[UUID]) -> Any:
    """These objects on other loans, on days that this loan has too."""
    return (
        LoanedObject.objects.filter(
            object__in=keys,
            deleted_at=None,
            loan__deleted_at=None,
            loan__first_day__lte=loan.last_day,
            loan__last_day__gte=loan.first_day,
        )
        .exclude(loan=loan)
        .select_related("object", "loan")
        .order_by("object__accession_number", "loan__first_day")
    )


def _checks(number: int) -> str:
    return "There is a check" if number == 1 else f"There are {number} checks"
