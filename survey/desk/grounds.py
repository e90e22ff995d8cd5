"""The photograph that a reading used, as a ground to draw on."""

from django.urls import reverse

from survey.desk.readings import Shown
from survey.desk.told import Told
from survey.reading.placement import as_numbers
from survey.reading.queries import lies_of
from survey.reports.drawing import Ground, flat_ground, placed_ground
from survey.reports.pictures import Plate, upright_sizes


def ground_of(seen: Told, key: str) -> Ground | None:
    """The photograph with this key; None when it is gone, not here, or lies nowhere now."""
    return _ground(seen, next((one for one in seen.plates if str(one.photograph.pk) == key), None))


def ground_under(seen: Told, read: Shown, light: str) -> Ground | None:
    """The photograph under this light among those that were read."""
    if read.result is None or read.reading is None:
        return None
    keys = read.reading.photographs
    return _ground(
        seen,
        next((one for one in seen.shown(light) if str(one.photograph.pk) in keys), None),
    )


def ground_made(read: Shown, pictures: list[dict[str, str]]) -> Ground | None:
    """The first picture that the reading made, which shows the sheet alone.

    pictures  name and address of each
    """
    if not pictures or read.result is None:
        return None
    size = (read.result[name] for name in ("width_mm", "height_mm", "px_per_mm"))
    return flat_ground(pictures[0]["address"], pictures[0]["name"], *size)


def _ground(seen: Told, plate: Plate | None) -> Ground | None:
    lie = lies_of(seen.examination).get(plate.photograph.pk) if plate else None
    if plate is None or lie is None or not plate.is_here:
        return None
    return placed_ground(
        as_numbers(lie.matrix),
        upright_sizes([plate])[plate.photograph.pk],
        reverse("api-preview", args=[plate.photograph.sha256]),
        plate.name,
    )
