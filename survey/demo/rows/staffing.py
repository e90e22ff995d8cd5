"""Hours, skills, absences and estimates: what the week plan rests on."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from survey.access.models import Person
from survey.demo.museum.rounds import HEAD
from survey.demo.museum.staffing import AWAY, ESTIMATED_FROM, HIGH, LOW, POSTS, SETTING_DAYS
from survey.demo.rows.examinations import Record
from survey.examination.models import Recommendation
from survey.triage.models import Absence, Estimate, Piece, Skill, WorkingWeek
from survey.triage.week import DAYS

STUDIO = "paper"


def staffing(people: dict[str, Person], now: datetime) -> None:
    monday = now.date() - timedelta(days=now.weekday())
    WorkingWeek.objects.bulk_create(
        WorkingWeek(person=people[post.person], **dict(zip(DAYS, post.hours, strict=False)))
        for post in POSTS
    )
    Skill.objects.bulk_create(
        Skill(person=people[post.person], studio=STUDIO, kind_of_work=kind)
        for post in POSTS
        for kind in post.skills
    )
    Absence.objects.bulk_create(
        Absence(
            person=people[away.person],
            first_day=monday + timedelta(weeks=away.weeks, days=away.first),
            last_day=monday + timedelta(weeks=away.weeks, days=away.last),
            reason=away.reason,
        )
        for away in AWAY
    )


def estimates(records: Sequence[Record], people: dict[str, Person], now: datetime) -> None:
    """Of the longer work."""
    head = people[HEAD]
    chosen = [
        one
        for record in records
        for one in record.recommendations
        if (one.hours or 0) >= ESTIMATED_FROM
    ]
    pieces = Piece.objects.bulk_create(
        Piece(id=one.pk, form=Piece.Form.WHOLE, made_by=head, made_at=now) for one in chosen
    )
    through = Piece.recommendations.through
    through.objects.bulk_create(
        through(piece=piece, recommendation=one) for piece, one in zip(pieces, chosen, strict=True)
    )
    Estimate.objects.bulk_create(
        _estimate(piece, one, head, now) for piece, one in zip(pieces, chosen, strict=True)
    )


def _estimate(piece: Piece, one: Recommendation, head: Person, now: datetime) -> Estimate:
    hours = one.hours or 0
    return Estimate(
        piece=piece,
        low=round(4 * LOW * hours) / 4,
        likely=hours,
        high=round(4 * HIGH * hours) / 4,
        setting_days=SETTING_DAYS.get(one.kind_of_work, 0),
        set_by=head,
        set_at=now,
    )
