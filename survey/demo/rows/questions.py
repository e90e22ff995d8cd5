"""Open questions: two people said different things of one sheet, each without the other's word."""

from collections.abc import Sequence
from datetime import timedelta

from survey.access.models import Person
from survey.demo.museum.disagreements import DISAGREEMENTS, Disagreement
from survey.demo.rows.examinations import Record
from survey.examination.models import Examination, Observation
from survey.ids import new_id
from survey.sync import services
from survey.sync.clock import COUNTER_BITS, Stamp
from survey.sync.models import Change

MINUTES_BETWEEN = 6


def questions(records: Sequence[Record], people: dict[str, Person]) -> None:
    """As if both had sent their words from tablets of their own."""
    unsigned = next((one for one in records if one.examination.signed_at is None), None)
    if unsigned is None:
        return
    for disagreement in DISAGREEMENTS:
        row = _row(unsigned, disagreement)
        if row is None:
            continue
        for place, (author, value) in enumerate(disagreement.said, 1):
            when = unsigned.examination.started_at + timedelta(minutes=MINUTES_BETWEEN * place)
            said_at = Stamp.from_ticks(int(when.timestamp() * 1000) << COUNTER_BITS, author)
            change = Change(
                id=new_id(),
                entity=disagreement.about,
                entity_id=str(row.pk),
                fields={disagreement.field: value},
                base=row.revision,
                at=str(said_at),
                person=people[author],
            )
            services.push([change])


def _row(record: Record, disagreement: Disagreement) -> Examination | Observation | None:
    if disagreement.about == "examination":
        return record.examination
    _, (_, stands) = disagreement.said
    same = (one for one in record.observations if getattr(one, disagreement.field) == stands)
    return next(same, None)
