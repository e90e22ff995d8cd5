"""What the queues need beside the examinations: needs and readiness."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from survey.catalogue.models import Object
from survey.demo.museum.needs import WISHES
from survey.demo.museum.works import Work
from survey.demo.rows.examinations import Examined, Record
from survey.triage.models import Need, Readiness


def needs(
    collection: Sequence[Work],
    examined: Sequence[Examined],
    objects: Sequence[Object],
    now: datetime,
) -> None:
    rows = []
    for wish in WISHES:
        wanted = [examined[case].work for case in wish.cases if case < len(examined)]
        others = [
            work
            for work in reversed(collection)
            if work.subject in wish.subjects and work not in wanted and work.place
        ]
        due = None if wish.in_days is None else (now + timedelta(days=wish.in_days)).date()
        rows += [
            Need(object=objects[work.number], kind=wish.kind, title=wish.title, due=due)
            for work in (*wanted, *others[: wish.more])
        ]
    Need.objects.bulk_create(rows)


def readiness(examined: Sequence[Examined], records: Sequence[Record], now: datetime) -> None:
    """Space and materials where they were found; rehousing done long ago is marked done."""
    rows = []
    for one, record in zip(examined, records, strict=True):
        for recommendation in record.recommendations:
            is_done = (
                recommendation.kind_of_work == "rehouse"
                and (recommendation.hours or 0) < 1
                and record.examination.is_signed
            )
            if one.case.space or one.case.materials or is_done:
                rows.append(
                    Readiness(
                        recommendation=recommendation,
                        space=one.case.space,
                        materials=one.case.materials,
                        done_at=now - timedelta(days=20) if is_done else None,
                    )
                )
    Readiness.objects.bulk_create(rows)
