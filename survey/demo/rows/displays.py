"""The record of light: displays, responsivity, and a limit of the department's own."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from survey.access.models import Person
from survey.catalogue.models import Object
from survey.demo.museum.displays import LIT, OWN_LIMIT, Hang
from survey.demo.museum.rounds import HEAD
from survey.demo.rows.examinations import Examined
from survey.loans.models import Display, ExposureLimit, Responsivity

NOTED_AGO = timedelta(days=30)


def displays(
    examined: Sequence[Examined],
    objects: Sequence[Object],
    people: dict[str, Person],
    now: datetime,
) -> None:
    rows = []
    said = []
    for lit in LIT:
        if lit.case >= len(examined):
            continue
        item = objects[examined[lit.case].work.number]
        rows += [_display(item, hang, people, now) for hang in lit.hangs]
        if lit.category:
            said.append(
                Responsivity(
                    object=item,
                    category=lit.category,
                    reason=lit.why,
                    set_by=people[lit.hangs[-1].person],
                    set_at=now - NOTED_AGO,
                )
            )
    Display.objects.bulk_create(rows)
    Responsivity.objects.bulk_create(said)
    category, lux, lux_hours, reason = OWN_LIMIT
    ExposureLimit.objects.create(
        category=category,
        lux=lux,
        lux_hours_a_year=lux_hours,
        reason=reason,
        set_by=people[HEAD],
        set_at=now - NOTED_AGO,
    )


def _display(item: Object, hang: Hang, people: dict[str, Person], now: datetime) -> Display:
    first = date(now.year - hang.years_back, *hang.begins)
    basis = Display.Basis.MEASURED if hang.is_measured else Display.Basis.ESTIMATED
    return Display(
        object=item,
        place=hang.place,
        first_day=first,
        last_day=first + timedelta(days=hang.days - 1),
        lux=hang.lux,
        hours_a_day=hang.hours,
        days_a_week=hang.days_a_week,
        hours_in_all=hang.in_all,
        ultraviolet_uw_lm=hang.ultraviolet,
        basis=basis,
        uncertainty_percent=hang.percent,
        remark=hang.remark,
        noted_by=people[hang.person],
        noted_at=now - NOTED_AGO,
    )
