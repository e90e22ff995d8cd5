"""A file of unsent work as the tablet saves it, put together here entry by entry."""

import hashlib
import json
import zipfile
from pathlib import Path
from typing import Any

FOLDER = "fieldleaf-unsent-2026-03-03T101112Z"


def work(changes: list[dict[str, Any]], photographs: list[bytes], **other: Any) -> dict[str, Any]:
    return {
        "format": "fieldleaf-unsent-work",
        "version": 1,
        "made_at": "2026-03-03T10:11:12.000Z",
        "devices": {},
        "people": {},
        "changes": changes,
        "photographs": [
            {
                "sha256": hashlib.sha256(content).hexdigest(),
                "size_bytes": len(content),
                "content_type": "image/jpeg",
                "file_name": "shot.jpg",
                "records": [],
            }
            for content in photographs
        ],
        "reports": {},
        **other,
    }


def bag(payload: dict[str, bytes]) -> dict[str, bytes]:
    """All files of a bag with this payload, by path."""
    oxum = f"{sum(map(len, payload.values()))}.{len(payload)}"
    tags = {
        "bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
        "bag-info.txt": f"Payload-Oxum: {oxum}\n".encode(),
        "manifest-sha256.txt": manifest(payload),
    }
    return {**tags, "tagmanifest-sha256.txt": manifest(tags), **payload}


def manifest(contents: dict[str, bytes]) -> bytes:
    lines = [f"{hashlib.sha256(content).hexdigest()}  {path}" for path, content in contents.items()]
    return ("\n".join(lines) + "\n").encode()


def files_of(about: dict[str, Any], photographs: list[bytes]) -> dict[str, bytes]:
    shots = {
        f"data/photographs/{hashlib.sha256(content).hexdigest()}": content
        for content in photographs
    }
    return bag({"data/work.json": json.dumps(about).encode(), **shots})


def zipped(path: Path, contents: dict[str, bytes], folder: str = FOLDER) -> Path:
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in contents.items():
            archive.writestr(f"{folder}/{name}" if folder else name, content)
    return path


def saved(path: Path, changes: list[dict[str, Any]], photographs: list[bytes] = []) -> Path:  # noqa: B006
    return zipped(path, files_of(work(changes, photographs), photographs))
