"""Reads the record of light: an object's displays, its category, and what may still be used."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from pathlib import Path
from typing import Any

from survey.access.models import Person
from survey.catalogue.models import Object
from survey.loans.exposure import (
    Balance,
    Exposure,
    Spell,
    by_year,
    days_of_year,
    days_that_last,
    until,
)
from survey.loans.models import Display, ExposureLimit, Loan, Responsivity

DATA = Path(__file__).parent / "data" / "responsivity.json"

Entry = dict[str, Any]


@dataclass(frozen=True)
class Limit:
    """The limits for one category: those that hold, and those that CIE 157:2004 published.

    category                   its entry in the data file: name, materials, sources
    lux, lux_hours             lx, and lx·h a calendar year; None is no limit
    set_by, set_at, reason     of the department's own; None and "" where the published ones hold
    """

    category: Entry
    lux: float | None
    lux_hours: float | None
    set_by: Person | None = None
    set_at: datetime | None = None
    reason: str = ""

    @property
    def is_own(self) -> bool:
        return self.set_by is not None

    @property
    def published_lux(self) -> float | None:
        return self.category["lux"]

    @property
    def published_lux_hours(self) -> float | None:
        return self.category["lux_hours_a_year"]


@dataclass(frozen=True)
class Light:
    """All that is known of the light on one object.

    years   lx·h by calendar year, as noted, planned days included
    in_all  their sum
    so_far  of it until today
    """

    displays: tuple[Display, ...]
    responsivity: Responsivity | None
    limit: Limit | None
    years: dict[int, Exposure]
    in_all: Exposure
    so_far: Exposure

    def balance(self, year: int) -> Balance:
        """What is used of the limit that holds, in a year. No limit while no category is set."""
        limit = self.limit.lux_hours if self.limit else None
        return Balance(self.years.get(year, Exposure()), limit)


@dataclass(frozen=True)
class ProposedYear:
    """One calendar year of a proposal.

    noted, proposed  what the history holds, and what the proposal would add, lx·h
    own, published   the two together against the limit that holds, and against CIE 157:2004's
    days             how many of its days lie in the year
    lasts            how many days what the year has left, before the proposal, would last at its
                     pace; None where nothing limits it, or it has no light
    """

    year: int
    noted: Exposure
    proposed: Exposure
    own: Balance
    published: Balance
    days: int
    lasts: int | None


@cache
def data() -> Entry:
    """The data file: categories, the Blue Wool scale, ultraviolet, and their sources."""
    return json.loads(DATA.read_text(encoding="utf-8"))


def categories() -> list[Entry]:
    """From irresponsive to high."""
    return data()["categories"]


def blue_wool(category: str | None = None) -> list[Entry]:
    """The Blue Wool scale, or the numbers of one category. Each: number, with_ultraviolet and
    without_ultraviolet, in Mlx·h for a just noticeable fade, and the name of its category.
    """
    return [
        entry | {"category": kind["name"]}
        for entry in data()["blue_wool"]
        for kind in categories()
        if entry["number"] in kind["blue_wool"] and category in (None, kind["code"])
    ]


def limits() -> list[Limit]:
    """The limits that hold, a category each; one query."""
    own: dict[str, ExposureLimit] = {}
    for limit in versions():
        own.setdefault(limit.category, limit)
    return [_limit(entry, own.get(entry["code"])) for entry in categories()]


def versions() -> Sequence[ExposureLimit]:
    """Every limit that the department ever set, newest first."""
    return list(ExposureLimit.objects.select_related("set_by"))


def light_of(item: Object, today: date) -> Light:
    """Three queries, whatever the history is."""
    displays = tuple(item.displays.select_related("noted_by", "corrected_by"))
    responsivity = item.responsivities.select_related("set_by").first()
    spells = [display.spell for display in displays]
    years = by_year(spells)
    return Light(
        displays,
        responsivity,
        _limit_for(responsivity.category) if responsivity else None,
        years,
        sum(years.values(), Exposure()),
        until(spells, today),
    )


def loan_without_display(item: Object, light: Light, today: date) -> Loan | None:
    """The nearest loan, now or to come, on none of whose days a display is noted; one query."""
    loans = Loan.objects.filter(
        loaned__object=item, loaned__deleted_at=None, deleted_at=None, last_day__gte=today
    ).order_by("first_day", "id")
    return next(
        (
            loan
            for loan in loans
            if not any(
                one.first_day <= loan.last_day and one.last_day >= loan.first_day
                for one in light.displays
            )
        ),
        None,
    )


def propose(light: Light, proposal: Spell) -> list[ProposedYear]:
    """What a display that is not noted yet would use, year by year."""
    limit = light.limit.lux_hours if light.limit else None
    published = light.limit.published_lux_hours if light.limit else None
    found = []
    for year, proposed in by_year([proposal]).items():
        noted = light.years.get(year, Exposure())
        together = noted + proposed
        left = Balance(noted, limit).left
        found.append(
            ProposedYear(
                year,
                noted,
                proposed,
                Balance(together, limit),
                Balance(together, published),
                days_of_year(proposal.first, proposal.last, year),
                days_that_last(left.lux_hours, proposal) if left else None,
            )
        )
    return found


def _limit_for(category: str) -> Limit:
    [entry] = [one for one in categories() if one["code"] == category]
    own = ExposureLimit.objects.select_related("set_by").filter(category=category).first()
    return _limit(entry, own)


def _limit(entry: Entry, own: ExposureLimit | None) -> Limit:
    if own is None:
        return Limit(entry, entry["lux"], entry["lux_hours_a_year"])
    return Limit(entry, own.lux, own.lux_hours_a_year, own.set_by, own.set_at, own.reason)
