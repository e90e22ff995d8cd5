"""What tablets carry of visits and examinations, and what they may no longer change."""

from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.db.models import QuerySet

from survey.catalogue.synced import carried
from survey.catalogue.wire import writable
from survey.examination.fixed import altered_after_signing
from survey.examination.models import Amendment, Examination
from survey.examination.queries import uses_of
from survey.examination.serializers import (
    AmendmentSerializer,
    ExaminationSerializer,
    MeasurementSerializer,
    ObservationSerializer,
    PhotographSerializer,
    RecommendationSerializer,
    VisitSerializer,
    WatermarkSerializer,
)
from survey.examination.shapes import is_key
from survey.imaging.inspect import inspect
from survey.sync.registry import (
    Entity,
    Fields,
    register,
    register_check,
    register_namer,
    register_receiver,
)


def in_scope_by(path: str) -> "Callable[[QuerySet[Any], dict[str, Any]], QuerySet[Any]]":
    """Rows of objects in scope; ``path`` leads from the row to its object's location."""

    def in_scope(rows: "QuerySet[Any]", scope: dict[str, Any]) -> "QuerySet[Any]":
        return rows.filter(carried(scope, path))

    return in_scope


def is_fixed(examination: Examination) -> str:
    when = f"{examination.signed_at:%-d %B %Y}"
    return (
        f"{examination.signed_name} signed this examination on {when}, so it stays as it is. "
        "Add an amendment instead."
    )


def forbid_when_signed(row: Examination | None, fields: Fields, person: Any) -> dict[str, str]:
    if row is None or not row.is_signed:
        return {}
    return dict.fromkeys(fields, is_fixed(row))


def forbid_when_its_examination_is_signed(row: Any, fields: Fields, person: Any) -> dict[str, str]:
    """Neither a part that a signed examination has, nor one that would newly come to it."""
    keys = {row.examination_id} if row is not None else set()
    sent = getattr(fields.get("examination"), "pk", fields.get("examination"))
    if is_key(str(sent)):
        keys.add(sent)
    signed = Examination.objects.filter(pk__in=keys, signed_at__isnull=False).first()
    return dict.fromkeys(fields, is_fixed(signed)) if signed else {}


def facts_of(path: Path) -> dict[str, Any]:
    return asdict(inspect(path))


def forbid_rewriting(row: Amendment | None, fields: Fields, person: Any) -> dict[str, str]:
    if row is None:
        return {}
    return {"": "An amendment is signed and stays as it is: add another one."}


register(Entity("visit", VisitSerializer, writable(VisitSerializer)))
register(
    Entity(
        "examination",
        ExaminationSerializer,
        writable(ExaminationSerializer),
        in_scope=in_scope_by("object__location"),
        forbid=forbid_when_signed,
    )
)
for name, serializer in {
    "photograph": PhotographSerializer,
    "observation": ObservationSerializer,
    "measurement": MeasurementSerializer,
    "recommendation": RecommendationSerializer,
    "watermark": WatermarkSerializer,
}.items():
    register(
        Entity(
            name,
            serializer,
            writable(serializer),
            in_scope=in_scope_by("examination__object__location"),
            forbid=forbid_when_its_examination_is_signed,
        )
    )
register(
    Entity(
        "amendment",
        AmendmentSerializer,
        writable(AmendmentSerializer),
        in_scope=in_scope_by("examination__object__location"),
        forbid=forbid_rewriting,
    )
)
register_receiver(facts_of)
register_namer(uses_of)
register_check(altered_after_signing)
