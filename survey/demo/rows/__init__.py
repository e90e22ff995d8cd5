"""Rows of the database for the invented museum, each logged so that tablets pull it."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from survey.demo.museum.before import Before
from survey.demo.museum.rounds import HEAD
from survey.demo.museum.works import Work
from survey.demo.rows.before import write_before
from survey.demo.rows.catalogue import locations, moves, objects, people
from survey.demo.rows.displays import displays
from survey.demo.rows.examinations import Examined, examinations_of, visits_of
from survey.demo.rows.handed import came_in, handed
from survey.demo.rows.loans import Written, write_loans
from survey.demo.rows.priorities import needs, readiness
from survey.demo.rows.questions import questions
from survey.demo.rows.staffing import estimates, staffing
from survey.demo.rows.surveyed import survey_of_the_store
from survey.demo.rows.treated import treatments
from survey.triage.models import Weights

__all__ = ["Examined", "write_museum"]


def write_museum(
    collection: Sequence[Work],
    examined: Sequence[Examined],
    now: datetime,
    before: Sequence[tuple[Before, Examined]] = (),
    stops: Mapping[int, Examined] | None = None,
    *,
    is_surveyed: bool = True,
) -> None:
    """Write everything. Call it in a transaction, on a database without objects.

    before       examinations of sheets that are in ``examined`` too, at another time
    stops        what was seen and photographed at the stops of loans, by their number
    is_surveyed  whether a survey of the paper store was made
    """
    staff = people()
    head = staff[HEAD]
    tree = locations(head)
    items = objects(collection, tree, head)
    moves(collection, items, tree, head, now)
    write_before(before, items, staff, now)
    if is_surveyed:
        survey_of_the_store(collection, items, tree, staff, now)
    visits = visits_of(staff, tree, now)
    records = examinations_of(examined, items, visits, staff)
    questions(records, staff)
    needs(collection, examined, items, now)
    readiness(examined, records, now)
    staffing(staff, now)
    estimates(records, staff, now)
    displays(examined, items, staff, now)
    treatments(examined, records, staff, now)
    of_cases = {one.case: (one, record) for one, record in zip(examined, records, strict=True)}
    write_loans(Written(items, of_cases, stops or {}, staff, now))
    Weights.objects.create(
        reason="First weights, agreed at the department's meeting.", saved_by=head, saved_at=now
    )
    came_in()
    handed(records, staff, now)
