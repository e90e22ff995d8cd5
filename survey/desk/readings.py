"""One reading as a page shows it: asked for, under way, done or failed, or why it cannot be."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from survey.desk.told import Told
from survey.desk.worker import seems_away
from survey.reading import kinds, services
from survey.reading.models import Correction, Reading
from survey.reading.queries import latest_changes, latest_readings, lies_now, outdated
from survey.reading.trouble import CannotAsk

# What to photograph, where it is missing. Common practice, no source.
TO_TAKE = {
    "align": "One photograph in normal light, and beside it at least one under another light.",
    "paper": (
        "Photograph the whole side in transmitted light, sharp and with all four edges in the "
        "frame. Where light cannot come through, take raking light with the lamp at a right angle "
        "to the fine lines of the mould."
    ),
    "watermark": (
        "Photograph the whole side in transmitted light, with all four edges in the frame."
    ),
    "relief": (
        "Photograph the side three times or more in raking light without moving sheet or camera: "
        "the lamp at about 45°, 165° and 285°, clockwise from the top edge, and low, 5° to 15°."
    ),
    "ultraviolet": (
        "Photograph the side under ultraviolet and in normal light, with the camera unmoved."
    ),
    "colour": "Photograph the side in normal light with a colour target beside it, not on it.",
    "changes": (
        "Photograph the whole side as it was photographed on the earlier examination: the same "
        "light, the lamp at the same place."
    ),
}


@dataclass(frozen=True)
class Shown:
    """One kind of reading of one side.

    missing      why it cannot be asked for now; "" when it can
    to_take      what to photograph in that case
    is_outdated  a photograph lies otherwise now than when it was read
    """

    kind: str
    side: str
    reading: Reading | None
    missing: str
    to_take: str
    is_outdated: bool

    @property
    def name(self) -> str:
        return str(Reading.Kind(self.kind).label)

    @property
    def address(self) -> str:
        """Where a script asks how far it is."""
        return reverse("api-reading", args=[self.reading.pk]) if self.reading else ""

    @property
    def is_idle(self) -> bool:
        """Whether it waits while nothing at all is being read, so that no worker seems to run."""
        reading = self.reading
        return (
            reading is not None
            and reading.state == Reading.State.WAITING
            and seems_away(reading.asked_at)
        )

    @property
    def result(self) -> dict[str, Any] | None:
        """What counts: as a person corrected it, else as it was read."""
        if self.reading is None or self.reading.state != Reading.State.DONE:
            return None
        return self.reading.stands

    @property
    def as_read(self) -> dict[str, Any] | None:
        """The machine's own, where a person said otherwise; else None."""
        return self.reading.result if self.reading and self.correction else None

    @property
    def correction(self) -> Correction | None:
        return self.reading.correction if self.reading else None

    def picture(self, name: str) -> str:
        """The address of a picture that the reading made; "" without one."""
        sha256 = self.reading.pictures.get(name) if self.reading else None
        return reverse("api-reading-picture", args=[sha256]) if sha256 else ""


def shown(seen: Told, kind: str, side: str, given: Mapping[str, Any] | None = None) -> Shown:
    """given  what the kind would be told; of changes, each light has a reading of its own"""
    if kind == Reading.Kind.CHANGES:
        reading = latest_changes(seen.examination, side).get((given or {}).get("light", ""))
    else:
        reading = latest_readings(seen.examination).get((side, kind))
    is_outdated = reading is not None and outdated(reading, lies_now(reading, together=True))
    missing, to_take = "", ""
    try:
        services.choose(kinds.of(kind), seen.examination, side, given)
    except CannotAsk as error:
        missing, to_take = str(error), TO_TAKE[kind]
    return Shown(kind, side, reading, missing, to_take, is_outdated)
