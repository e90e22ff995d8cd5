"""Marking a piece of work ready or done: its recommendations are, or a part of one is."""

from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.triage import services
from survey.triage.acting import check_was_recommended, open_row
from survey.triage.work import Piece


def set_ready(key: UUID, *, person: Person, space: bool, materials: bool) -> None:
    """Say whether space is found and materials are at hand, for all that the piece does.

    Raises PermissionDenied for couriers, and ValidationError when it is no longer open.
    """
    with transaction.atomic():
        _, row = open_row(key, person)
        check_was_recommended(row, "it waits for neither space nor materials")
        for _, work in row.members:
            services.set_readiness(work, person=person, space=space, materials=materials)


def finish(key: UUID, *, person: Person) -> None:
    """The piece is done and leaves its queue. With the last part, its recommendation is done.

    Raises as :func:`set_ready` does.
    """
    with transaction.atomic():
        _, row = open_row(key, person)
        check_was_recommended(row, "it cannot be marked done")
        if not row.is_part:
            for _, work in row.members:
                services.mark_done(work, person=person)
            return
        Piece.objects.filter(pk=key).update(done_at=timezone.now())
        note(person, "part marked done", row.name, {"piece": str(key)})
        if not Piece.objects.filter(
            recommendations=row.recommendation, form=Piece.Form.PART, ended_at=None, done_at=None
        ).exists():
            services.mark_done(row.recommendation, person=person)


def unfinish(key: UUID, *, person: Person) -> None:
    """A part that was marked done is still to do, and so is its recommendation."""
    services.check_may_plan(person)
    with transaction.atomic():
        part = (
            Piece.objects.select_for_update()
            .filter(pk=key, form=Piece.Form.PART, ended_at=None)
            .exclude(done_at=None)
            .first()
        )
        if part is None:
            raise ValidationError("This part is not marked done. Load the page again.")
        part.done_at = None
        part.save(update_fields=["done_at"])
        work = part.recommendations.get()
        note(person, "part marked not done", f"part {part.order}", {"piece": str(key)})
        services.mark_not_done(work, person=person)
