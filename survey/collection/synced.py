"""What tablets carry of a survey: the stops of its walks."""

from typing import Any

from survey.catalogue.wire import SyncedSerializer
from survey.collection.models import Stop
from survey.examination.models import Examination
from survey.examination.synced import in_scope_by
from survey.sync.registry import Entity, Fields, register


class StopSerializer(SyncedSerializer):
    class Meta:
        model = Stop
        fields = ["id", "visit", "object", "order", "missing"]


def forbid_losing_an_examination(row: Stop | None, fields: Fields, person: Any) -> dict[str, str]:
    """A stop is taken back while nobody has examined the object on its visit, and not after."""
    if row is None or not fields.get("deleted"):
        return {}
    made = Examination.objects.filter(visit=row.visit_id, object=row.object_id, deleted_at=None)
    if not made.exists():
        return {}
    return {"": "This object was examined on the walk, so it stays a part of it."}


register(
    Entity(
        "stop",
        StopSerializer,
        # The desk hands out the walk; the person on it says what could not be examined.
        frozenset({"missing"}),
        in_scope=in_scope_by("object__location"),
        forbid=forbid_losing_an_examination,
    )
)
