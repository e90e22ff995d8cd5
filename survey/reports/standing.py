"""How a record stands that a report tells: the number of its last change, its state in words."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Max, QuerySet

from survey.examination.models import Amendment, Examination
from survey.examination.serializers import PARTS
from survey.loans.hands import half_signed
from survey.loans.models import LoanCheck, LoanedObject
from survey.loans.points import known_points
from survey.reports.words import moment_in_words
from survey.triage.rule import counted


def revision_of(examination: Examination) -> int:
    """The number of the last change to the examination, to its object or visit, or to any part
    of it, deleted ones too: it grows whenever what a report would tell was changed."""
    whole = Examination.objects.filter(pk=examination.pk).values_list(
        "revision", "object__revision", "visit__revision"
    )
    models: list[Any] = [Amendment, *(one.Meta.model for one in PARTS.values())]
    return max(
        *whole.get(), *last_of(model.objects.filter(examination=examination) for model in models)
    )


def check_revision_of(check: LoanCheck) -> int:
    """The same of a check on a loan, with the loan, its points and signatures, and the earlier
    states that it is held against."""
    item = check.examination.object_id
    earlier = set(known_points(check).values_list("examination", flat=True))
    if check.earlier_id is not None:
        earlier.add(check.earlier_id)
    states = Examination.objects.filter(pk__in={check.examination_id, *earlier})
    return max(
        check.loan.revision,
        *last_of(
            [
                LoanCheck.objects.filter(pk=check.pk),
                LoanedObject.objects.filter(loan=check.loan_id, object=item),
                check.points.all(),
                check.signatures.all(),
            ]
        ),
        *(revision_of(one) for one in states),
    )


def last_of(several: "Iterable[QuerySet[Any]]") -> Iterable[int]:
    """Of each of these, the number of the last change."""
    return (rows.aggregate(last=Max("revision"))["last"] or 0 for rows in several)


def tells_of(examination: Examination) -> str:
    """The state of the record in words: signed or not, and how often amended since."""
    if examination.signed_at is None:
        return "The record as a draft, not yet signed"
    signed = moment_in_words(examination.signed_at)
    return f"The record signed by {examination.signed_name}, {signed}, {_amended(examination)}"


def check_tells_of(check: LoanCheck) -> str:
    """The state of a check: a draft, or when and by whom signed, and whether amended since."""
    if not check.is_signed:
        return "The check as a draft, not signed"
    names = [one.name for one in check.signatures.filter(deleted_at=None)]
    if not names:
        return (
            f"The check as it was closed; no signature has arrived; {_amended(check.examination)}"
        )
    half = half_signed(check)
    only = f" only; {half.lacks}" if half else ""
    return f"The check signed by {' and '.join(names)}{only}, {_amended(check.examination)}"


def _amended(examination: Examination) -> str:
    amendments = list(examination.amendments.filter(deleted_at=None))
    if not amendments:
        return "not amended"
    times = counted(len(amendments), "amendment")
    last = max(one.signed_at for one in amendments)
    return f"with {times}, the last of {moment_in_words(last)}"
