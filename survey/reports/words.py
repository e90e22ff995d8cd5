"""Says in words what records hold as codes, keys and numbers."""

import math
from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.dateparse import parse_datetime
from rest_framework import serializers

from survey.catalogue.models import Location
from survey.catalogue.queries import location_path
from survey.examination.models import Photograph
from survey.sync import registry
from survey.vocabulary import queries as vocabulary

ENTITY_NAMES = {
    "object": "catalogue entry",
    "loaned_object": "object on a loan",
    "loan_check": "check on a loan",
    "point_check": "point of a check",
}
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
    "lamp_s": "Time under the ultraviolet lamp",
    "homography": "Placing on the sheet",
    "placing": "How it was placed on the sheet",
    "points": "Where it was measured",
    "shot_check": "Check of the shot",
    "letters": "Letters or initials",
    "seen_from": "Side of the mould that faces you",
    "to_left_chain_mm": "Distance to the chain line at the left, mm",
    "to_right_chain_mm": "Distance to the chain line at the right, mm",
    "chain_interval_mm": "Distance between the chain lines about it, mm",
    "uncertainty_mm": "Uncertainty of the watermark's measures, mm",
    "chains_within": "Chain lines within the watermark",
    "repertory_number": "Number in the repertory",
    "repertory_place": "Place in the repertory",
    "repertory_from_year": "First year in the repertory",
    "repertory_to_year": "Last year in the repertory",
    "match": "Match with the repertory",
    "earlier": "State it starts from",
    "seals": "Seal numbers",
    "seals_whole": "Whether the seals are whole",
    "hours_acclimatised": "Time in the closed crate",
    "logger": "Data logger",
    "temperature_c": "Temperature",
    "humidity_percent": "Relative humidity",
    "statement": "What was signed",
    "answer": "How the point was found",
    "now": "How it stands now",
}
# Fields that hold codes of the vocabulary, and the list that knows their names.
CODED = {
    "light": vocabulary.lights,
    "lights": vocabulary.lights,
    "grade": vocabulary.grades,
    "kind_of_work": vocabulary.kinds_of_work,
    "hazards": vocabulary.hazards,
}
# By the end of a field's name, or by the whole of it.
UNITS = {
    "mm": "mm",
    "deg": "°",
    "px": "pixels",
    "bytes": "bytes",
    "hours": "hours",
    "acclimatise": "hours",
    "acclimatised": "hours",
    "s": "s",
    "c": "°C",
    "percent": "%",
    "lux": "lx",
    "lm": "µW/lm",
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


def unit_of(field: str, row: Any = None) -> str:
    """``mm``; of a measurement its record says it."""
    if field in ("value", "uncertainty"):
        return {"mm2": "mm²"}.get(getattr(row, "unit", ""), "mm")
    return UNITS.get(field) or UNITS.get(field.rpartition("_")[2], "")


def value_in_words(entity: str, field: str, value: Any, row: Any = None) -> str:
    """A value as it came over the wire, as a person would say it; the row tells some units."""
    if field == "deleted":
        return "Deleted the record" if value else "Wrote in the record, which keeps it"
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
    if field == "lamp_s":
        return duration_in_words(value)
    if field in SHAPES:
        return SHAPES[field](value)
    if isinstance(value, int | float):
        unit = unit_of(field, row)
        return f"{_plain(value)}{'' if unit == '°' else ' '}{unit}".rstrip()
    return str(value)


def _plain(number: float) -> str:
    return f"{number:.10g}".replace("-", "−")


def valued(value: float, uncertainty: float, unit: str) -> str:
    """``12.4 ± 0.3 mm``: the uncertainty to one figure, the value to the same place; no more than
    two decimals."""
    places = min(2, max(0, -math.floor(math.log10(uncertainty)))) if uncertainty > 0 else 1
    least = max(uncertainty, 10.0**-places)
    return f"{value:.{places}f} ± {least:.{places}f} {unit}".replace("-", "−")


def region_in_words(region: dict[str, Any]) -> str:
    """A polygon on the sheet by what an eye can judge: corners, size, and where it lies."""
    points = region["points"]
    return f"A region with {len(points)} corners, {extent_in_words(points)}"


def extent_in_words(points: Sequence[Sequence[float]]) -> str:
    """How large an outline on the sheet is, and where it lies; points in sheet mm."""
    across, down = zip(*points, strict=True)
    return (
        f"about {max(across) - min(across):.0f} mm wide and {max(down) - min(down):.0f} mm high, "
        f"{min(across):.0f} mm from the left and {min(down):.0f} mm from the top of the sheet"
    )


def mark_in_words(mark: dict[str, Any]) -> str:
    across, down = (f"{100 * mark[axis]:.0f} %" for axis in "xy")
    return f"A place {across} across the photograph and {down} down"


def placing_in_words(homography: list[float]) -> str:
    """Nine numbers, row by row, from pixels to mm: where the corner lies, and how large."""
    a, b, c, d, e, f, _, _, i = homography
    pixels = abs(i) / math.sqrt(abs(a * e - b * d))
    return (
        f"The photograph’s top left corner lies {_plain(round(c / i))} mm right and "
        f"{_plain(round(f / i))} mm down from the sheet’s, about {pixels:.1f} pixels to the "
        "millimetre"
    )


def how_placed_in_words(placing: dict[str, Any]) -> str:
    """By what a photograph was laid on the sheet, how finely, and how well."""
    size = " × ".join(_plain(mm) for mm in placing["size_mm"])
    by = {
        "corners": f"By the sheet’s four corners, of a sheet {size} mm (width × height)",
        "scale": f"By a scale of {size} mm",
        "aligned": "By another photograph of the same side",
    }[placing["kind"]]
    return (
        f"{by}, about {1 / placing['mm_per_px']:.1f} pixels to the millimetre, to within "
        f"{_plain(round(placing['uncertainty_mm'], 3))} mm"
    )


def points_in_words(points: list[list[float]]) -> str:
    right, down = (_plain(round(mm)) for mm in points[0])
    return (
        f"A line of {len(points)} points that begins {right} mm right and {down} mm down on "
        "the sheet"
    )


def shot_check_in_words(check: dict[str, Any]) -> str:
    """What the tablet told the person right after the shot."""
    said = " ".join(check["sentences"])
    if not said:
        return "Checked after the shot: sharp, steady and well exposed."
    return f"Checked after the shot. {said}"


def duration_in_words(seconds: int) -> str:
    """``45 s``, ``12 min 5 s``, ``2 h 10 min``."""
    hours, minutes = divmod(seconds // 60, 60)
    parts = [(hours, "h"), (minutes, "min"), (0 if hours else seconds % 60, "s")]
    return " ".join(f"{value} {unit}" for value, unit in parts if value) or "0 s"


def position_in_words(position: dict[str, float]) -> str:
    latitude, longitude = (
        f"{position[axis]:.5f}°".replace("-", "−") for axis in ("latitude", "longitude")
    )
    return f"Latitude {latitude}, longitude {longitude}, to within {position['accuracy_m']:.0f} m"


SHAPES: dict[str, Callable[[Any], str]] = {
    "region": region_in_words,
    "mark": mark_in_words,
    "homography": placing_in_words,
    "placing": how_placed_in_words,
    "points": points_in_words,
    "shot_check": shot_check_in_words,
    "position": position_in_words,
}


def moment_in_words(moment: Any) -> str:
    """``3 May 2026, 09:40 UTC``, in the museum's time, which is named: whoever reads it may live by
    another. Takes a datetime or its text."""
    parsed = moment if isinstance(moment, datetime) else parse_datetime(str(moment))
    if parsed is None:
        return str(moment)
    local = timezone.localtime(parsed) if timezone.is_aware(parsed) else parsed
    return f"{day_in_words(local)}, {local:%H:%M %Z}".rstrip()


def day_in_words(moment: datetime) -> str:
    """``3 May 2026``, in the museum's time."""
    local = timezone.localtime(moment) if timezone.is_aware(moment) else moment
    return f"{local.day} {local:%B %Y}"


def calendar_day(day: date | str) -> str:
    """``3 May 2026``, of a day that has no hour; takes a date or its text."""
    parsed = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{parsed.day} {parsed:%B %Y}"


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
    if isinstance(row, Photograph):
        return f"{light_name(row.light, row.azimuth_deg)}, {row.side}"
    return location_path(row) if isinstance(row, Location) else str(row)
