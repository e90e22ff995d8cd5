"""What is signed: all that a check says, as one JSON text that is kept word for word.

Who signs signs these bytes. Their SHA-256 stands with each signature, in the report and on
whatever copy a person took away, so that two copies can be held against each other years later.
A hash proves that the words are the same; who wrote the name below them, the people know who
were there. The tablet makes the same text by itself (``frontend/store/statement.js``).
"""

import hashlib
import json
from typing import Any

KIND = "fieldleaf loan check"
VERSION = 1

# The fields of each row, by their names on the wire.
FIELDS: dict[str, tuple[str, ...]] = {
    "loan": ("id", "reference", "title", "lender", "borrower", "first_day", "last_day"),
    "object": ("id", "accession_number", "title", "maker", "date_text", "width_mm", "height_mm"),
    "check": (
        "id",
        "earlier",
        "stage",
        "venue",
        "crate",
        "seals",
        "seals_whole",
        "hours_acclimatised",
        "logger",
        "temperature_c",
        "humidity_percent",
        "glazing",
        "note",
    ),
    "examination": (
        "id",
        "started_at",
        "sheet_width_mm",
        "sheet_height_mm",
        "sheet_uncertainty_mm",
        "mount",
        "verso_seen",
        "nothing_seen",
        "grade",
        "notes",
    ),
    "observations": (
        "id",
        "term",
        "nature",
        "extent",
        "severity",
        "side",
        "lights",
        "note",
        "mark",
        "region",
    ),
    "measurements": ("id", "observation", "what", "value", "uncertainty", "unit"),
    "photographs": ("id", "light", "azimuth_deg", "side", "sha256", "taken_at", "caption"),
    "points": ("id", "observation", "answer", "reason", "photograph", "now"),
}
MOMENTS = {"started_at", "taken_at"}


class CannotRead(ValueError):
    """Why a text is no statement, in a sentence."""


def sha256_of(statement: str) -> str:
    return hashlib.sha256(statement.encode()).hexdigest()


def read_statement(text: str) -> dict[str, Any]:
    """A statement's content. Raises CannotRead with a sentence."""
    try:
        said = json.loads(text)
    except ValueError:
        raise CannotRead("This is no statement of a check: it cannot be read as JSON.") from None
    if not isinstance(said, dict) or said.get("kind") != KIND or not set(FIELDS) <= set(said):
        raise CannotRead("This is no statement of a check: parts of it are missing.")
    if not all(isinstance(said[name], dict) for name in ("loan", "object", "check")):
        raise CannotRead("This is no statement of a check: parts of it are not as they should be.")
    return said
