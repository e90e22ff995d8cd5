"""Says in words what records hold as codes, keys and numbers."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.dateparse import parse_datetime
from rest_framework import serializers

from survey.catalogue.models import Location
from survey.catalogue.queries import location_path
from survey.sync import registry
from survey.vocabulary import queries as vocabulary

ENTITY_NAMES = {"object": "catalogue entry"}
# Where the field's own name would not read well.
FIELD_NAMES = {
    "deleted": "Deleted or kept",
    "term": "Term",
    "signed_at": "Signed",
    "sheet_width_mm": "Sheet width, mm",
    "sheet_height_mm": "Sheet height, mm",
    "sheet_uncertainty_mm": "Uncertainty of the sheet's size, mm",
    "width_mm": "Width, mm",
    "height_mm": "Height, mm",
    "azimuth_deg": "Azimuth, degrees",
    "to_location": "Moved to",
    "nothing_seen": "Nothing seen",
}
# Fields that hold codes of the vocabulary, and the list that knows their names.
CODED = {
    "light": vocabulary.lights,
    "lights": vocabulary.lights,
    "grade": vocabulary.grades,
    "kind_of_work": vocabulary.kinds_of_work,
    "hazards": vocabulary.hazards,
}


def entry_name(entries: list[dict[str, Any]], code: str) -> str:
    """The name of a vocabulary entry; an unknown code speaks for itself."""
    return next((entry["name"] for entry in entries if entry["code"] == code), code)


def light_name(light: str, azimuth_deg: float | None = None) -> str:
    """``Raking light from 45°``."""
    name = entry_name(vocabulary.lights(), light)
    return f"{name} from {azimuth_deg:g}°" if azimuth_deg is not None else name


def entity_name(entity: str) -> str:
    return ENTITY_NAMES.get(entity, entity)


def field_name(field: str) -> str:
    return FIELD_NAMES.get(field, field.replace("_", " ").capitalize())


def wire_field(entity: str, field: str) -> serializers.Field[Any, Any, Any, Any] | None:
    known = registry.named(entity)
    return known.serializer().fields.get(field) if known else None


def value_in_words(entity: str, field: str, value: Any) -> str:
    """A value as it came over the wire, as a person would say it."""
    if field == "deleted":
        return "Deleted" if value else "Kept"
    if value is None or value == "" or value == []:
        return "Nothing said"
    if isinstance(value, bool):
        return "Yes" if value else "No"
    if field in CODED:
        entries = CODED[field]()
        codes = value if isinstance(value, list) else [value]
        return ", ".join(entry_name(entries, str(code)) for code in codes)
    known = wire_field(entity, field)
    if isinstance(known, serializers.ChoiceField):
        return str(known.choices.get(value, value))
    if isinstance(known, serializers.DateTimeField):
        return moment_in_words(value)
    if isinstance(known, serializers.PrimaryKeyRelatedField):
        return _related(known, value)
    if field == "mark":
        return f"at {100 * value['x']:.0f} % across and {100 * value['y']:.0f} % down"
    if field == "region":
        return f"an outline of {len(value['points'])} points on the sheet"
    return str(value)


def moment_in_words(moment: Any) -> str:
    """``3 May 2026, 09:40``, in the museum's time; takes a datetime or its text."""
    parsed = moment if isinstance(moment, datetime) else parse_datetime(str(moment))
    if parsed is None:
        return str(moment)
    local = timezone.localtime(parsed) if timezone.is_aware(parsed) else parsed
    return f"{local.day} {local:%B %Y, %H:%M}"


def standing_at(place: UUID | None, elsewhere: str, paths: dict[UUID, str]) -> str:
    """The place with this key in full, or the place outside the tree, or that none is given."""
    if place is not None:
        return paths.get(place, "A location that is no longer in the tree")
    return elsewhere or "No location given"


def size_in_words(width_mm: float | None, height_mm: float | None) -> str:
    """``225 × 310 mm (height × width)``, the order of museum catalogues."""
    if width_mm is None or height_mm is None:
        return "Not measured"
    return f"{height_mm:g} × {width_mm:g} mm (height × width)"


def _related(field: Any, key: Any) -> str:
    row = field.queryset.filter(pk=key).first() if field.queryset is not None else None
    if row is None:
        return str(key)
    return location_path(row) if isinstance(row, Location) else str(row)
