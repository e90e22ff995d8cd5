"""The statement of a check as its rows stand, and what they say otherwise since it was signed."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

from survey.examination import serializers as examined
from survey.loans import serializers as lent
from survey.loans.models import LoanCheck
from survey.loans.statements import FIELDS, KIND, MOMENTS, VERSION, read_statement


def statement_of(check: LoanCheck) -> str:
    """The text to be signed, from the rows as they stand."""
    return json.dumps(content_of(check), ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def content_of(check: LoanCheck) -> dict[str, Any]:
    """What the rows of a check say, as JSON."""
    examination = check.examination
    item = examination.object
    rows: dict[str, Any] = {
        "loan": _said("loan", lent.LoanSerializer(check.loan).data),
        "object": {name: _plain(getattr(item, name)) for name in FIELDS["object"]},
        "check": _said("check", lent.LoanCheckSerializer(check).data),
        "examination": _said("examination", examined.ExaminationSerializer(examination).data),
    }
    parts: dict[str, tuple[Any, Any]] = {
        "observations": (examined.ObservationSerializer, examination.observations),
        "measurements": (examined.MeasurementSerializer, examination.measurements),
        "photographs": (examined.PhotographSerializer, examination.photographs),
        "points": (lent.PointCheckSerializer, check.points),
    }
    for name, (serializer, related) in parts.items():
        living = related.filter(deleted_at=None).order_by("id")
        rows[name] = [_said(name, data) for data in serializer(living, many=True).data]
    return {"kind": KIND, "version": VERSION, **rows}


def differences(check: LoanCheck) -> Iterator[str]:
    """A sentence for each place where the record no longer says what was signed."""
    said, now = read_statement(check.statement), json.loads(statement_of(check))
    for part, fields in FIELDS.items():
        # The loan and the catalogue go on after the signature; what was seen does not.
        if part in ("loan", "object"):
            continue
        before, after = _rows(said[part]), _rows(now[part])
        for key in sorted(before.keys() | after.keys()):
            if key not in after:
                yield f"{part} {key}: was signed, and is gone."
            elif key not in before:
                yield f"{part} {key}: came after the signature."
            else:
                for field in fields:
                    if before[key].get(field) != after[key].get(field):
                        yield (
                            f"{part} {key}: “{field}” was signed as {before[key].get(field)!r} "
                            f"and is now {after[key].get(field)!r}."
                        )


def _rows(part: Any) -> dict[str, Any]:
    return {str(row.get("id")): row for row in (part if isinstance(part, list) else [part])}


def _said(part: str, data: Any) -> dict[str, Any]:
    return {name: _plain(data[name], name) for name in FIELDS[part]}


def _plain(value: Any, name: str = "") -> Any:
    if name in MOMENTS and isinstance(value, str):
        return moment(datetime.fromisoformat(value))
    if value is None or isinstance(value, bool | int | float | str | list | dict):
        return value
    return str(value)


def moment(at: datetime) -> str:
    """As a tablet writes it: UTC, to the millisecond."""
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.") + f"{at.microsecond // 1000:03d}Z"
