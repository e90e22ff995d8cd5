"""A tablet as the server meets it: signed in, and sending over HTTP."""

import base64
import hashlib
import itertools
import time
from dataclasses import dataclass, field
from typing import Any

from django.test import Client

from survey.access.models import Device
from survey.ids import new_id
from tests.factories import DeviceFactory

_moments = itertools.count()


@dataclass
class WireTablet:
    """One enrolled device. Every call is a real request to the interface."""

    device: Device = field(default_factory=lambda: DeviceFactory(token="slate"))
    token: str = "slate"
    client: Client = field(default_factory=Client)

    def request(self, method: str, path: str, *args: Any, **headers: Any) -> Any:
        signed_in = {"Authorization": f"Device {self.token}", **headers}
        return getattr(self.client, method)(path, *args, headers=signed_in)

    def get(self, path: str, **headers: Any) -> Any:
        return self.request("get", path, None, **headers)

    def change(self, entity: str, key: Any, fields: dict[str, Any], base: int) -> dict[str, Any]:
        ms = time.time_ns() // 1_000_000
        return {
            "id": str(new_id()),
            "entity": entity,
            "entity_id": str(key),
            "fields": fields,
            "base": base,
            "at": f"{ms:013d}-{next(_moments) % 0x10000:04x}-{self.device.pk}",
        }

    def push_all(self, *changes: dict[str, Any]) -> list[dict[str, Any]]:
        """Send changes in one batch; their results."""
        answer = self.request(
            "post", "/api/sync/push", {"changes": list(changes)}, "application/json"
        )
        assert answer.status_code == 200, answer.content
        results: list[dict[str, Any]] = answer.json()["results"]
        return results

    def push(self, entity: str, key: Any = None, base: int = 10**9, **fields: Any) -> Any:
        """Send one change; its result, with the record's key as ``entity_id``."""
        key = key or new_id()
        [result] = self.push_all(self.change(entity, key, fields, base))
        return {**result, "entity_id": str(key)}

    def made(self, entity: str, **fields: Any) -> str:
        """Make a record that must be taken; its key."""
        result = self.push(entity, **fields)
        assert result["outcome"] == "applied", result["reasons"]
        key: str = result["entity_id"]
        return key

    def refusal(self, entity: str, key: Any = None, **fields: Any) -> dict[str, str]:
        """Send one change that must be refused; the sentences by field."""
        result = self.push(entity, key, **fields)
        assert result["outcome"] == "refused", result
        reasons: dict[str, str] = result["reasons"]
        return reasons

    def pull(self) -> list[dict[str, Any]]:
        """Everything the tablet carries."""
        rows: list[dict[str, Any]] = []
        cursor, more = 0, True
        while more:
            page = self.get(f"/api/sync/pull?cursor={cursor}").json()
            rows += page["rows"]
            cursor, more = page["cursor"], page["more"]
        return rows

    def upload(self, content: bytes) -> Any:
        """Send a file by tus in one piece; the last answer."""
        digest = base64.b64encode(hashlib.sha256(content).hexdigest().encode()).decode()
        tus = {"Tus-Resumable": "1.0.0"}
        made = self.request(
            "post",
            "/api/uploads/",
            **tus,
            **{"Upload-Length": str(len(content)), "Upload-Metadata": f"sha256 {digest}"},
        )
        if made.status_code != 201:
            return made
        return self.request(
            "patch",
            made["Location"].removeprefix("http://testserver"),
            content,
            "application/offset+octet-stream",
            **tus,
            **{"Upload-Offset": "0"},
        )
