"""What people at the desk do with recommended work: move it, hold it, split it, hand it over.

Recommendations of signed examinations never change; these rows stand beside them. There is one
only where somebody did something. Nothing is overwritten: what no longer holds is ended, and stays
as the history of the piece.
"""

from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from survey.catalogue.models import Object
from survey.examination.models import Recommendation
from survey.ids import new_id


class Piece(models.Model):
    """A piece of work that somebody touched: one recommendation as it is, a part, or a bundle; or
    a look at an object after its treatment, which no recommendation asked for."""

    class Form(models.TextChoices):
        WHOLE = "whole", "As recommended"
        PART = "part", "Part of a recommendation"
        BUNDLE = "bundle", "Several recommendations done as one"
        AGAIN = "again", "To be looked at again after a treatment"

    # That of its recommendation where it is a whole, of the treatment's record where it is a look
    # again, so that work has one key, touched or not.
    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    form = models.CharField(max_length=8, choices=Form.choices)
    recommendations = models.ManyToManyField(Recommendation, related_name="pieces")
    # These four are of parts and bundles; a whole has its recommendation's.
    kind_of_work = models.CharField(max_length=32, blank=True)
    hours = models.FloatField(null=True, blank=True)
    words = models.TextField(blank=True)
    order = models.PositiveSmallIntegerField(default=0)
    # Of parts alone; other work is done when its recommendations are.
    done_at = models.DateTimeField(null=True, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField(default=timezone.now)
    # A part was put together again with the others, a bundle taken apart.
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at", "order"]

    @property
    def is_open(self) -> bool:
        return self.ended_at is None and self.done_at is None


class Act(models.Model):
    """Something a person did with a piece of work, which holds until it is ended."""

    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    reason = models.CharField(max_length=300)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True
        ordering = ["at", "id"]


def one_open(name: str) -> models.UniqueConstraint:
    return models.UniqueConstraint(
        fields=["piece"], condition=Q(ended_at__isnull=True), name=f"one_open_{name}"
    )


class Placement(Act):
    """A person put it at another place than the rule's, or into another queue."""

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="placements")
    # Of the queue it was put into. Unless that is elsewhere it stands in its own, whatever studio
    # the catalogue gives the object later.
    studio = models.CharField(max_length=16, choices=Object.Studio.choices)
    kind_of_work = models.CharField(max_length=32)
    is_elsewhere = models.BooleanField(default=False)
    # Null is where the rule puts it in that queue.
    place = models.PositiveIntegerField(null=True, blank=True)
    # Where it stood then, and where the rule put it.
    from_studio = models.CharField(max_length=16, choices=Object.Studio.choices)
    from_kind_of_work = models.CharField(max_length=32)
    from_place = models.PositiveIntegerField(null=True, blank=True)
    rule_place = models.PositiveIntegerField(null=True, blank=True)

    class Meta(Act.Meta):
        constraints = [one_open("placement")]

    @property
    def queue(self) -> tuple[str, str]:
        return self.studio, self.kind_of_work

    @property
    def from_queue(self) -> tuple[str, str]:
        return self.from_studio, self.from_kind_of_work


class Hold(Act):
    """It leaves its queue until a day, or until other work is done.

    Without other work it comes back by itself on ``until``; with it, once that is done, and
    ``until`` is the day by which this is expected.
    """

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="holds")
    until = models.DateField()
    after = models.ForeignKey(
        Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="awaited_by"
    )

    class Meta(Act.Meta):
        constraints = [one_open("hold")]

    def is_past(self, today: date) -> bool:
        return self.until <= today


class HandOver(Act):
    """It was offered to a person or another studio, who accept it or send it back.

    ``reason`` is what the giver says with it.
    """

    class State(models.TextChoices):
        OFFERED = "offered", "Waits to be accepted"
        ACCEPTED = "accepted", "Accepted"
        SENT_BACK = "sent-back", "Sent back"

    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="hand_overs")
    to_person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    to_studio = models.CharField(max_length=16, choices=Object.Studio.choices, blank=True)
    state = models.CharField(max_length=12, choices=State.choices, default=State.OFFERED)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)
    # Why it was sent back.
    answer = models.CharField(max_length=300, blank=True)

    class Meta(Act.Meta):
        constraints = [
            one_open("hand_over"),
            models.CheckConstraint(
                condition=Q(to_person__isnull=True) ^ Q(to_studio=""),
                name="hand_over_to_a_person_or_a_studio",
            ),
        ]

    @property
    def is_accepted(self) -> bool:
        return self.state == self.State.ACCEPTED

    @property
    def receiver(self) -> str:
        """``Maren Askerby``, ``the photographs studio``."""
        if self.to_person is not None:
            return self.to_person.name
        return f"the {self.get_to_studio_display().lower()} studio"
