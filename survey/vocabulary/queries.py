"""Reads the vocabulary: the data files beside this module, and the table of terms.

The files are read once for each process. Treat what these functions return as fixed.
"""

import hashlib
import json
from functools import cache
from pathlib import Path
from typing import Any

from survey.vocabulary.models import Term

DATA_DIR = Path(__file__).parent / "data"

Entry = dict[str, Any]


@cache
def read_data(name: str) -> Any:
    """One file of the data folder, by its name without ``.json``."""
    return json.loads((DATA_DIR / f"{name}.json").read_text(encoding="utf-8"))


def lights() -> list[Entry]:
    """The lights, in the order they are used at the sheet.

    Each: code, name, purpose, setup (steps), shows, traps, caution (code or None),
    has_azimuth, order, source. An azimuth is in degrees clockwise from the top edge
    of the side that faces the camera, and says where the light comes from.
    """
    return sorted(read_data("lights"), key=lambda light: light["order"])


def cautions() -> list[Entry]:
    """Each: code, name, text (sentences), defer (whose rules come first), source."""
    return read_data("cautions")


def hazards() -> list[Entry]:
    """What cannot wait. Each: code, name, sentence, action, caution (code or None)."""
    return read_data("hazards")


def grades() -> list[Entry]:
    """Overall condition, best first. Each: code, name, definition."""
    return read_data("grades")


def kinds_of_work() -> list[Entry]:
    """What may be recommended. Each: code, name, definition."""
    return read_data("kinds_of_work")


def kind_names() -> dict[str, str]:
    """The name of each kind of work by its code."""
    return {kind["code"]: kind["name"] for kind in kinds_of_work()}


def materials() -> dict[str, list[Entry]]:
    """``supports``, ``media`` and ``mounts``, each a list of code and name."""
    return read_data("materials")


def groups() -> list[Entry]:
    """The groups of terms, in the order of a condition report: code, name, definition."""
    return [
        {"code": group["code"], "name": Term.Group(group["code"]).label} | group
        for group in read_data("groups")
    ]


def terms() -> list[Entry]:
    """Every term, retired ones too, because old records still point to them.

    ``caution`` is a code or None; ``anchors`` is empty for a feature that is never damage;
    ``retired`` is True for a term that is no longer offered.
    """
    return [
        {
            "code": term.code,
            "group": term.group,
            "name": term.name,
            "definition": term.definition,
            "lights": term.lights,
            "may_be_feature": term.may_be_feature,
            "hazards": term.hazards,
            "caution": term.caution or None,
            "anchors": term.anchors,
            "source": term.source,
            "is_departmental": term.is_departmental,
            "retired": term.retired_at is not None,
        }
        for term in Term.objects.all()
    ]


def vocabulary() -> Entry:
    """All of it as one dictionary that JSON can hold, with a ``version`` of its content.

    The version is a SHA-256, so it changes when, and only when, some word changes.
    """
    content: Entry = {
        "lights": lights(),
        "groups": groups(),
        "terms": terms(),
        "cautions": cautions(),
        "hazards": hazards(),
        "grades": grades(),
        "kinds_of_work": kinds_of_work(),
        "materials": materials(),
    }
    written = json.dumps(content, sort_keys=True).encode()
    return {"version": hashlib.sha256(written).hexdigest()} | content
