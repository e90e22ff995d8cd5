"""How long the ultraviolet lamp was on a sheet: on one examination, and on all of them."""

from dataclasses import dataclass

from django.db.models import Count, Q, Sum

from survey.catalogue.models import Object
from survey.examination.models import Examination


@dataclass(frozen=True)
class LampTime:
    """Seconds of ultraviolet; ``times`` is the number of examinations that used the lamp."""

    here_s: int
    in_all_s: int
    times: int


def lamp_time(examination: Examination) -> LampTime:
    """Of this examination, and of the object in all; one query."""
    told = Examination.objects.filter(object=examination.object_id, deleted_at=None).aggregate(
        in_all=Sum("lamp_s"), times=Count("pk", filter=Q(lamp_s__gt=0))
    )
    return LampTime(examination.lamp_s, told["in_all"] or 0, told["times"])


def lamp_uses(item: Object) -> list[Examination]:
    """The examinations of an object that used the lamp, earliest first; one query."""
    return list(
        Examination.objects.filter(object=item, deleted_at=None, lamp_s__gt=0)
        .select_related("examiner")
        .order_by("started_at", "pk")
    )


def duration_in_words(seconds: int) -> str:
    """``2 min 30 s``, ``1 h 5 min``; seconds are dropped from an hour on."""
    hours, rest = divmod(seconds, 3600)
    minutes, left = divmod(rest, 60)
    if hours:
        return f"{hours} h {minutes} min"
    if minutes:
        return f"{minutes} min {left} s" if left else f"{minutes} min"
    return f"{left} s"
