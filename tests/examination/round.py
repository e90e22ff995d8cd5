"""A storage round under way on a tablet, for tests that push to it."""

from dataclasses import dataclass
from typing import Any

from survey.catalogue.models import Object
from survey.examination.models import Examination
from tests.factories import ObjectFactory
from tests.tablets import WireTablet

SHA256 = "0123456789abcdef" * 4


@dataclass
class Round:
    """One visit with one examination, both made by pushes."""

    tablet: WireTablet
    object: Object
    visit: str
    key: str

    def examination(self) -> Examination:
        return Examination.objects.get(pk=self.key)

    def part(self, entity: str, **fields: Any) -> str:
        return self.tablet.made(entity, **self.complete(entity, fields))

    def refusal(self, entity: str, **fields: Any) -> dict[str, str]:
        return self.tablet.refusal(entity, **self.complete(entity, fields))

    def complete(self, entity: str, fields: dict[str, Any]) -> dict[str, Any]:
        return {"examination": self.key, **PARTS[entity], **fields}

    def sign(self, **fields: Any) -> Any:
        values = {"signed_at": "2025-05-01T12:00:00Z", "signed_name": "Wren Vale", **fields}
        return self.tablet.push("examination", self.key, **values)


# The least that each part of an examination has to say.
PARTS: dict[str, dict[str, Any]] = {
    "photograph": {
        "light": "normal",
        "sha256": SHA256,
        "size_bytes": 2_400_000,
        "content_type": "image/jpeg",
    },
    "observation": {"term": "tear"},
    "measurement": {"what": "Tear", "value": 12.0, "uncertainty": 0.5},
    "recommendation": {"kind_of_work": "treat"},
    "watermark": {"motif": "Crowned shield"},
    "amendment": {"reason": "A second look.", "signed_name": "Wren Vale"},
}


def begin(**fields: Any) -> Round:
    """``fields`` go to the examination."""
    tablet, item = WireTablet(), ObjectFactory()
    visit = tablet.made("visit", purpose="storage-round", name="Store, morning")
    started = {"started_at": "2025-05-01T09:00:00Z"}
    key = tablet.made("examination", visit=visit, object=str(item.pk), **started, **fields)
    return Round(tablet, item, visit, key)
