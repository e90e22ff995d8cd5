"""What a reading suggests on the sheet: marks in relief, regions under ultraviolet, changes.

A suggestion is settled when a person made an observation of it, or dismissed it; once the
examination is signed, an amendment stands in the observation's place.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from survey.desk.readings import Shown
from survey.examination.amended import added_by
from survey.examination.models import Amendment
from survey.imaging.outlines import around
from survey.reports.dossier import Dossier
from survey.reports.drawing import Ground
from survey.reports.words import day_in_words
from survey.vocabulary.models import Term

# Where in the result the suggestions of each kind are.
LISTED = {"relief": "marks", "ultraviolet": "regions", "changes": "regions"}
# The light that shows them, where it is always one; of changes the result tells.
LIGHTS = {"relief": "raking", "ultraviolet": "ultraviolet"}
# A line on the sheet becomes a narrow outline: so far to either side, mm.
HALF_BREADTH_MM = 0.75
# An outline is no finer than this: a person drew none of them.
MOST_POINTS = 60


@dataclass(frozen=True)
class Suggestion:
    """One of them.

    place    its place in the reading's list
    told     what the reading says of it
    region   as an observation would hold it
    observation   number of the observation that was made of it, or None
    amendment     the one that added it to the signed examination, or None
    is_dismissed  whether a person found it to be nothing
    reason        why, where they said
    """

    place: int
    told: dict[str, Any]
    region: dict[str, Any]
    observation: int | None
    is_dismissed: bool
    reason: str = ""
    amendment: Amendment | None = None

    @property
    def verdict(self) -> str:
        """What a person made of it, in words; "" while nobody said."""
        if self.observation is not None:
            return f"Observation {self.observation}"
        if self.amendment is not None:
            by = self.amendment
            return f"Accepted as an amendment by {by.signed_name}, {day_in_words(by.signed_at)}"
        if not self.is_dismissed:
            return ""
        return f"Dismissed: {self.reason}" if self.reason else "Dismissed"

    @property
    def number(self) -> int:
        return self.place + 1


def suggestions(shown: Shown, dossier: Dossier) -> list[Suggestion]:
    """dossier  of the examination: its observations are numbered as on every page"""
    if shown.result is None:
        return []
    listed = shown.result.get(LISTED[shown.kind], [])
    dismissed = set(shown.result.get("dismissed", []))
    reasons = _reasons(shown)
    found = []
    for place, told in enumerate(listed):
        region = region_as_seen(shown.kind, told)
        made = next(
            (
                noted.number
                for noted in dossier.observations
                if noted.observation.side == shown.side and noted.observation.region == region
            ),
            None,
        )
        added = amendment_at(shown.side, region, (said.amendment for said in dossier.amended))
        found.append(
            Suggestion(place, told, region, made, place in dismissed, reasons.get(place, ""), added)
        )
    return found


def amendment_at(
    side: str, region: Mapping[str, Any], amendments: Iterable[Amendment]
) -> Amendment | None:
    """The amendment that adds an observation just there."""
    for one in amendments:
        added = added_by(one)
        if added and added.get("side") == side and added.get("region") == region:
            return one
    return None


def _reasons(shown: Shown) -> dict[int, str]:
    """Why each was dismissed the last time, by its place."""
    corrections = shown.reading.corrections.all() if shown.reading else []
    return {
        place: one.reason
        for one in sorted(corrections, key=lambda one: one.at)
        for place in one.changes.get("dismiss", [])
    }


def light_of(shown: Shown) -> str:
    """The light that shows what this reading suggests."""
    return LIGHTS.get(shown.kind) or str((shown.result or {}).get("light", ""))


def is_closed(kind: str, told: dict[str, Any]) -> bool:
    """Whether its points are an outline, rather than a line."""
    return kind in ("ultraviolet", "changes") or told.get("kind") == "plate"


def region_as_seen(kind: str, told: dict[str, Any]) -> dict[str, Any]:
    """Where an observation would lie: of what was noted before and measured again, as it is now."""
    growth = told.get("growth") or {}
    if "noted" in told and growth.get("points"):
        return region_of(growth["points"], is_closed=growth["kind"] == "area")
    return region_of(told["points"], is_closed=is_closed(kind, told))


def region_of(points: Sequence[Sequence[float]], *, is_closed: bool) -> dict[str, Any]:
    """A polygon on the sheet: the outline itself, or a narrow one around a line."""
    thinned = _thinned(points)
    outline = thinned if is_closed else around(thinned, HALF_BREADTH_MM)
    return {
        "kind": "polygon",
        "points": [[round(float(x), 2), round(float(y), 2)] for x, y in outline],
    }


def label_place(ground: Ground, suggestion: Suggestion) -> tuple[float, float]:
    """Where its number is drawn: over its topmost point, within the picture."""
    points = [ground.place(point) for point in suggestion.told["points"]]
    x, y = min(points, key=lambda point: point[1])
    size = ground.text_size
    return (
        min(max(x, size), ground.width - size),
        max(y - 0.8 * size, 0.7 * size),
    )


def on_page(one: Suggestion, ground: Ground | None) -> dict[str, Any]:
    """What every page tells of a suggestion, and where it is drawn; each adds its own."""
    return {
        "number": one.number,
        "place": one.place,
        "verdict": one.verdict,
        "amendment": one.amendment,
        "is_recorded": one.observation is not None or one.amendment is not None,
        "words": one.told["words"],
        "points": ground.points(one.told["points"]) if ground else "",
        "label": label_place(ground, one) if ground else None,
    }


def terms_for(light: str) -> list[Term]:
    """The terms that this light usually shows, in the order of the vocabulary."""
    return [term for term in Term.objects.filter(retired_at=None) if light in term.lights]


def _thinned(points: Sequence[Sequence[float]]) -> list[Sequence[float]]:
    step = max(1, math.ceil(len(points) / MOST_POINTS))
    kept = list(points[::step])
    if kept[-1] is not points[-1]:
        kept.append(points[-1])
    return kept
