"""What changes a check at the desk: it is begun, or the outgoing one is made and signed there.

All raise PermissionDenied for couriers, and Refused with a sentence by field when something
cannot be done; then nothing was altered.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.examination.models import Examination, Visit
from survey.loans.arranging import check_may_arrange
from survey.loans.models import Loan, LoanCheck, LoanedObject, Signature
from survey.loans.points import last_signed
from survey.loans.stated import moment, statement_of
from survey.loans.statements import sha256_of
from survey.sync import log
from survey.sync.services import Refused, record_change

Stage = LoanCheck.Stage
# As many letters as a visit's name and its place hold.
MOST_NAME, MOST_PLACE = 120, 200
# With the lender; at the others the borrower has it.
AT_HOME = (Stage.OUTGOING, Stage.RETURN)


@dataclass(frozen=True)
class Hand:
    """Who signs. ``strokes``: in thousandths of the width of the field; none is by name alone."""

    role: str
    name: str
    of: str = ""
    strokes: Sequence[Any] = field(default_factory=list)


def begin_check(loaned: LoanedObject, stage: str, venue: str, person: Person) -> LoanCheck:
    """Begin a check of an object against its last signed state. It is gone on with on a tablet."""
    check_may_arrange(person)
    with transaction.atomic():
        log.lock()
        begun = _open_check(loaned, stage)
        if begun is not None:
            raise Refused(
                {
                    "": f"{begun.get_stage_display()} check of {loaned.object.accession_number}: "
                    f"{begun.examination.examiner.name} began one that is not signed yet. Go on "
                    "with that one, or take it out."
                }
            )
        earlier = last_signed(loaned.object_id)
        visit = _visit_today(loaned.loan, stage, venue, person)
        at_home = stage in AT_HOME and loaned.object.location is not None
        examination = record_change(
            "examination",
            None,
            {
                "visit": visit,
                "object": loaned.object,
                "location": loaned.object.location if at_home else None,
                "place": "" if at_home else venue,
                **_sheet(loaned, earlier),
            },
            person,
        )
        check: LoanCheck = record_change(
            "loan_check",
            None,
            {
                "loan": loaned.loan,
                "examination": examination,
                "earlier": earlier,
                "stage": stage,
                "venue": venue,
                "crate": loaned.crate,
            },
            person,
        )
        note(person, "check begun", _subject(check))
    return check


def remove_check(check: LoanCheck, person: Person) -> None:
    """Take out a check that was begun by mistake, with what was seen at it. A signed one stays."""
    check_may_arrange(person)
    with transaction.atomic():
        log.lock()
        check.refresh_from_db()
        if check.is_signed:
            raise Refused({"": "This check is signed, so it stays as it is."})
        record_change("loan_check", check, {"deleted": True}, person)
        # An examination that was signed by itself is more than this check.
        if not check.examination.is_signed:
            record_change("examination", check.examination, {"deleted": True}, person)
        note(person, "check removed", _subject(check))


def check_out(
    loaned: LoanedObject,
    state: Examination,
    packed: Mapping[str, Any],
    hands: Sequence[Hand],
    person: Person,
) -> LoanCheck:
    """Make and sign the outgoing check at the desk: a signed examination is the state in which
    the object leaves.

    state   the last signed one, as the person looked at it
    packed  crate, seals, glazing and the rest of the check's fields, by wire name
    """
    check_may_arrange(person)
    with transaction.atomic():
        log.lock()
        _check_leaves(loaned, state)
        check: LoanCheck = record_change(
            "loan_check",
            None,
            {
                "loan": loaned.loan,
                "examination": state,
                "stage": Stage.OUTGOING,
                "venue": loaned.loan.lender,
                **packed,
            },
            person,
        )
        record_change("loan_check", check, {"statement": statement_of(check)}, person)
        note(person, "outgoing check made", _subject(check))
        for hand in hands:
            sign(check, hand, person)
    return check


def why_not_out(loaned: LoanedObject, state: Examination | None) -> str:
    """A sentence when this state cannot be the one the object leaves in; "" when it can."""
    number = loaned.object.accession_number
    if any(one.is_signed for one in _checks(loaned, Stage.OUTGOING)):
        return f"The outgoing check of {number} is signed already."
    if state is None:
        return (
            f"{number} has no signed examination yet. Examine it on a tablet and sign; that is "
            "then the state it leaves in."
        )
    taken = LoanCheck.objects.filter(examination=state).select_related("loan").first()
    if taken is not None:
        return (
            f"The last signed state of {number} is the {taken.get_stage_display().lower()} check "
            f"on loan {taken.loan}, and belongs to that one. Begin an outgoing check and go "
            "through its points on a tablet."
        )
    return ""


def sign(check: LoanCheck, hand: Hand, person: Person) -> Signature:
    """Put a signature below a check's statement. ``person`` works at the desk, and may be another.

    Raises Refused when there is no statement yet, or this name and role stand there already.
    """
    check_may_arrange(person)
    with transaction.atomic():
        log.lock()
        check.refresh_from_db()
        same = Signature.objects.filter(
            loan_check=check, role=hand.role, name=hand.name, deleted_at=None
        )
        if same.exists():
            raise Refused({"name": f"{hand.name} has signed this check already."})
        signature: Signature = record_change(
            "signature",
            None,
            {
                "loan_check": check,
                "role": hand.role,
                "name": hand.name,
                "of": hand.of,
                "strokes": list(hand.strokes),
                # As a tablet writes it, so that every copy tells the same moment.
                "signed_at": moment(timezone.now()),
                "sha256": sha256_of(check.statement),
            },
            person,
        )
        note(person, "check signed", _subject(check), {"name": hand.name, "role": hand.role})
    return signature


def _check_leaves(loaned: LoanedObject, state: Examination) -> None:
    latest = last_signed(loaned.object_id)
    if latest != state:
        raise Refused(
            {"": "Another examination was signed meanwhile. Look at that one, then sign again."}
        )
    if why_not := why_not_out(loaned, state):
        raise Refused({"": why_not})


def _checks(loaned: LoanedObject, stage: str) -> Any:
    return LoanCheck.objects.filter(
        loan=loaned.loan_id, examination__object=loaned.object_id, stage=stage, deleted_at=None
    ).select_related("examination__examiner")


def _open_check(loaned: LoanedObject, stage: str) -> LoanCheck | None:
    found: LoanCheck | None = _checks(loaned, stage).filter(statement="").first()
    return found


def _visit_today(loan: Loan, stage: str, venue: str, person: Person) -> Visit:
    """The visit on which this person checks objects of the loan today, at that stage."""
    midnight = timezone.make_aware(datetime.combine(timezone.localdate(), time.min))
    there = Visit.objects.filter(
        purpose=Visit.Purpose.LOAN_CHECK,
        person=person,
        ended_at=None,
        deleted_at=None,
        started_at__gte=midnight,
        started_at__lt=midnight + timedelta(days=1),
        examinations__loan_check__loan=loan,
        examinations__loan_check__stage=stage,
    ).first()
    if there is not None:
        return there
    name = f"{Stage(stage).label} check, {loan.reference}"
    made: Visit = record_change(
        "visit",
        None,
        {
            "purpose": Visit.Purpose.LOAN_CHECK,
            "name": name[:MOST_NAME],
            "place": venue[:MOST_PLACE],
        },
        person,
    )
    return made


def _sheet(loaned: LoanedObject, earlier: Examination | None) -> dict[str, Any]:
    """The sheet's size as it was measured last, else as the catalogue has it: the frame of what
    is outlined on it."""
    if earlier is not None and earlier.sheet_width_mm and earlier.sheet_height_mm:
        names = ("sheet_width_mm", "sheet_height_mm", "sheet_uncertainty_mm", "mount")
        return {name: getattr(earlier, name) for name in names}
    item = loaned.object
    return {
        "sheet_width_mm": item.width_mm,
        "sheet_height_mm": item.height_mm,
        "mount": earlier.mount if earlier else "",
    }


def _subject(check: LoanCheck) -> str:
    return (
        f"{check.get_stage_display()} check of {check.examination.object.accession_number}, "
        f"{check.loan}"
    )
