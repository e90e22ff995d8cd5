"""What a person keeps for themselves: filters of the queues, and a calendar of deadlines."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone


class SavedFilter(models.Model):
    """A filter of the queues under a name; shared ones are the whole department's to use."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="saved_filters"
    )
    name = models.CharField(max_length=60)
    # As in the address of the queues: studio=paper&kind=treat.
    query = models.CharField(max_length=500)
    is_shared = models.BooleanField(default=False)
    saved_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.UniqueConstraint(fields=["person", "name"], name="one_filter_a_name"),
        ]

    def __str__(self) -> str:
        return self.name


class CalendarFeed(models.Model):
    """An address that a calendar programme reads without signing in, until it is revoked."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="calendar_feeds"
    )
    # As with devices, only a SHA-256 of the token is kept.
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(default=timezone.now)
    last_read_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["person"],
                condition=Q(revoked_at__isnull=True),
                name="one_open_feed_a_person",
            ),
        ]
