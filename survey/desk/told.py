"""What every page of what the lights tell has in common: the examination, its photographs."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.shortcuts import get_object_or_404

from survey.desk.views.session import person_of
from survey.examination.models import Examination
from survey.reports.pictures import Plate, plates_of
from survey.triage.services import may_plan

PAGES = {
    "lights": "Lights",
    "paper": "Paper",
    "watermark": "Watermark",
    "relief": "Relief",
    "ultraviolet": "Ultraviolet",
    "same-mould": "Same mould",
    "date": "Date",
    "colour": "Colour",
    "changes": "Changes",
}


@dataclass(frozen=True)
class Link:
    page: str
    name: str
    is_here: bool


@dataclass(frozen=True)
class Told:
    """One examination for one of these pages. ``may_correct``: the person may say otherwise."""

    examination: Examination
    plates: list[Plate]
    may_correct: bool

    @property
    def is_open(self) -> bool:
        """Whether the record itself may still be written in, by this person."""
        return self.may_correct and not self.examination.is_signed

    def shown(self, light: str, side: str | None = None) -> list[Plate]:
        """The photographs under one light that can be shown, recto first."""
        return [
            plate
            for plate in self.plates
            if plate.photograph.light == light
            and side in (None, plate.photograph.side)
            and plate.is_here
            and not plate.trouble
        ]


def told(request: HttpRequest, key: UUID) -> Told:
    examination = get_object_or_404(
        Examination.objects.select_related("object", "visit", "examiner"), pk=key, deleted_at=None
    )
    plates = plates_of([examination.pk]).get(examination.pk, [])
    return Told(examination, plates, may_plan(person_of(request)))


def framed(seen: Told, page: str) -> dict[str, Any]:
    """What the head of the page shows."""
    return {
        "told": seen,
        "examination": seen.examination,
        "object": seen.examination.object,
        "links": links(page),
        "page_name": PAGES[page],
    }


def links(here: str = "") -> list[Link]:
    return [Link(f"desk:{page}", name, page == here) for page, name in PAGES.items()]


def check_may_correct(seen: Told) -> None:
    if not seen.may_correct:
        raise PermissionDenied(
            "Conservators and the head of department correct what was read from the lights."
        )
