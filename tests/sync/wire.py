"""Changes as tablets would send them, with clocks that a test sets by hand."""

import uuid
from dataclasses import dataclass, field
from typing import Any

from survey.access.models import Device
from survey.examination.models import Visit
from survey.ids import new_id
from survey.sync import services
from survey.sync.log import wall_clock_ms
from survey.sync.models import Change
from tests.factories import DeviceFactory

START_MS = wall_clock_ms()
NEW_VISIT = {"purpose": "storage-round", "name": "Morning round"}


def at(second: float, device: Device) -> str:
    """The clock of a device, in seconds after the tests began."""
    return f"{START_MS + round(second * 1000):013d}-0000-{device.pk}"


@dataclass
class Tablet:
    """Pushes changes to one visit from one device. ``base`` moves only when it is told to."""

    visit_id: uuid.UUID = field(default_factory=new_id)
    device: Device = field(default_factory=DeviceFactory)
    base: int = 0

    def change(self, fields: dict[str, Any], second: float = 0, **other: Any) -> Change:
        values: dict[str, Any] = {
            "id": new_id(),
            "entity": "visit",
            "entity_id": str(self.visit_id),
            "fields": fields,
            "base": self.base,
            "at": at(second, self.device),
            "person": self.device.person,
            "device": self.device,
        }
        return Change(**(values | other))

    def push(self, fields: dict[str, Any], second: float = 0, **other: Any) -> Change:
        [taken], _ = services.push([self.change(fields, second, **other)])
        return taken

    def catch_up(self) -> None:
        self.base = self.visit().revision

    def visit(self) -> Visit:
        return Visit.objects.get(pk=self.visit_id)


def two_tablets() -> tuple[Tablet, Tablet]:
    """Two devices that both look at the same new visit."""
    first, second = Tablet(), Tablet()
    second.visit_id = first.visit_id
    first.push(NEW_VISIT)
    first.catch_up()
    second.catch_up()
    return first, second
