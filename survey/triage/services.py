"""What changes the queues: weights, needs, readiness, and work marked done."""

from datetime import date
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.catalogue.models import Object
from survey.examination.models import Recommendation
from survey.triage import models, rule


def save_weights(weights: rule.Weights, *, person: Person, reason: str) -> models.Weights:
    """Keep a new version of the department's weights; the earlier ones stay.

    Raises PermissionDenied unless the person is head of department, and ValidationError
    with a sentence for weights that say nothing or a missing reason.
    """
    if not person.is_head:
        raise PermissionDenied("Only the head of department changes the weights.")
    try:
        rule.check_weights(weights)
    except ValueError as error:
        raise ValidationError({"weights": str(error)}) from error
    if not reason.strip():
        raise ValidationError({"reason": "Say in a few words why, for those who read it later."})
    values = {part: getattr(weights, part) for part in rule.PARTS}
    saved = models.Weights(**values, reason=reason.strip(), saved_by=person)
    saved.full_clean()
    with transaction.atomic():
        saved.save()
        note(person, "weights saved", f"version {saved.pk}", values)
    return saved


def set_readiness(
    recommendation: Recommendation, *, person: Person, space: bool, materials: bool
) -> models.Readiness:
    """Say whether space is found and materials are at hand. Raises PermissionDenied."""
    check_may_plan(person)
    with transaction.atomic():
        readiness, _ = models.Readiness.objects.update_or_create(
            recommendation=recommendation, defaults={"space": space, "materials": materials}
        )
        note(
            person,
            "readiness set",
            f"recommendation {recommendation.pk}",
            {"space": space, "materials": materials},
        )
    return readiness


def mark_done(recommendation: Recommendation, *, person: Person) -> models.Readiness:
    """The work is finished: it leaves its queue. Marking it again keeps the first time."""
    check_may_plan(person)
    with transaction.atomic():
        readiness, _ = models.Readiness.objects.get_or_create(recommendation=recommendation)
        if readiness.done_at is None:
            readiness.done_at = timezone.now()
            readiness.save(update_fields=["done_at"])
            note(person, "work marked done", f"recommendation {recommendation.pk}")
    return readiness


def mark_not_done(recommendation: Recommendation, *, person: Person) -> None:
    """Undo :func:`mark_done`: the work stands in its queue again."""
    check_may_plan(person)
    with transaction.atomic():
        if models.Readiness.objects.filter(
            recommendation=recommendation, done_at__isnull=False
        ).update(done_at=None):
            note(person, "work marked not done", f"recommendation {recommendation.pk}")


def add_need(
    obj: Object, *, person: Person, kind: str, title: str, due: date | None
) -> models.Need:
    """Say what an object is wanted for. Raises PermissionDenied, ValidationError by field."""
    check_may_plan(person)
    need = models.Need(object=obj, kind=kind, title=title.strip(), due=due)
    need.full_clean()
    with transaction.atomic():
        need.save()
        note(person, "need added", obj.accession_number, _told(need))
    return need


def remove_need(need: models.Need, *, person: Person) -> None:
    """The object is no longer wanted for this. The audit trail keeps what it was."""
    check_may_plan(person)
    with transaction.atomic():
        note(person, "need removed", need.object.accession_number, _told(need))
        need.delete()


def may_plan(person: Person) -> bool:
    """Conservators and the head plan the work; couriers read it."""
    return not person.is_courier


def check_may_plan(person: Person) -> None:
    """Raises PermissionDenied for couriers."""
    if not may_plan(person):
        raise PermissionDenied("Conservators and the head of department plan the work.")


def _told(need: models.Need) -> dict[str, Any]:
    return {
        "kind": need.kind,
        "title": need.title,
        "due": need.due.isoformat() if need.due else None,
    }
