"""Keeping filters of the queues, and making and revoking the address of a person's calendar."""

import secrets

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import hash_token, note
from survey.triage.acting import words_given
from survey.triage.kept import CalendarFeed, SavedFilter
from survey.triage.services import may_plan

NAME_FIRST = "Give the filter a name to find it by."


def filters_of(person: Person) -> QuerySet[SavedFilter]:
    """A person's own, and those that others share."""
    return SavedFilter.objects.filter(Q(person=person) | Q(is_shared=True)).select_related("person")


def keep_filter(person: Person, *, name: str, query: str, is_shared: bool) -> SavedFilter:
    """Keep a filter under a name; the same name again replaces what it held.

    query  as in the address of the queues, without what is empty

    Raises ValidationError with a sentence, and PermissionDenied when a courier would share it.
    """
    name = words_given(name, "name", NAME_FIRST, longest=60)
    if not query:
        raise ValidationError("No filter is set, so there is nothing to keep. Choose one first.")
    if is_shared and not may_plan(person):
        raise PermissionDenied("Conservators and the head of department share filters.")
    with transaction.atomic():
        saved, _ = SavedFilter.objects.update_or_create(
            person=person,
            name=name,
            defaults={"query": query, "is_shared": is_shared, "saved_at": timezone.now()},
        )
        note(person, "filter saved", name, {"query": query, "shared": is_shared})
    return saved


def drop_filter(saved: SavedFilter, *, person: Person) -> None:
    """Take a filter away. Raises PermissionDenied unless it is the person's own, or the person
    is head of department and it is shared."""
    if saved.person_id != person.pk and not (person.is_head and saved.is_shared):
        raise PermissionDenied(f"{saved.person.name} saved this filter and takes it away.")
    with transaction.atomic():
        note(person, "filter removed", saved.name, {"query": saved.query})
        saved.delete()


def feed_of(person: Person) -> CalendarFeed | None:
    return CalendarFeed.objects.filter(person=person, revoked_at=None).first()


def make_feed(person: Person) -> str:
    """The token of a new address, which is kept nowhere else; an earlier one opens nothing more."""
    token = secrets.token_urlsafe(32)
    with transaction.atomic():
        _revoke(person)
        CalendarFeed.objects.create(person=person, token_hash=hash_token(token))
        note(person, "calendar address made", person.name)
    return token


def revoke_feed(person: Person) -> None:
    """The person's address opens nothing more."""
    with transaction.atomic():
        if _revoke(person):
            note(person, "calendar address revoked", person.name)


def open_feed(token: str) -> CalendarFeed | None:
    """The feed of an address; None where it is revoked, unknown, or its person has left."""
    feed = (
        CalendarFeed.objects.filter(
            token_hash=hash_token(token), revoked_at=None, person__is_active=True
        )
        .select_related("person")
        .first()
    )
    if feed is not None:
        CalendarFeed.objects.filter(pk=feed.pk).update(last_read_at=timezone.now())
    return feed


def _revoke(person: Person) -> int:
    return CalendarFeed.objects.filter(person=person, revoked_at=None).update(
        revoked_at=timezone.now()
    )
