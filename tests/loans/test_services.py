"""What changes the record of light, and what the audit trail keeps of it."""

from datetime import date

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from survey.access.models import AuditEntry, Person
from survey.loans import queries, services
from survey.loans.exposure import Exposure, Spell, State
from survey.loans.models import Display, ExposureLimit
from tests.factories import ObjectFactory, PersonFactory

pytestmark = pytest.mark.django_db

TODAY = date(2025, 7, 1)
SPRING = {
    "place": "Gallery 3",
    "first_day": date(2025, 3, 3),
    "last_day": date(2025, 5, 25),
    "lux": 50.0,
    "hours_a_day": 8.0,
    "days_a_week": 6.0,
    "basis": "measured",
    "uncertainty_percent": 10.0,
}


@pytest.fixture
def head() -> Person:
    return PersonFactory(role=Person.Role.HEAD)


def test_a_display_is_noted_with_who_and_in_the_audit_trail():
    item, person = ObjectFactory(), PersonFactory()
    display = services.note_display(item, person=person, **SPRING)
    assert (display.noted_by, display.corrected_by) == (person, None)
    entry = AuditEntry.objects.get(action="display noted")
    assert (entry.person, entry.subject) == (person, item.accession_number)
    assert entry.detail["lux"] == 50 and entry.detail["first_day"] == "2025-03-03"


def test_a_correction_keeps_who_noted_it_and_what_it_said():
    noted, other = PersonFactory(), PersonFactory()
    display = services.note_display(ObjectFactory(), person=noted, **SPRING)
    display = services.correct_display(display, person=other, **(SPRING | {"lux": 65.0}))
    assert (display.lux, display.noted_by, display.corrected_by) == (65, noted, other)
    entry = AuditEntry.objects.get(action="display corrected")
    assert (entry.detail["before"]["lux"], entry.detail["after"]["lux"]) == (50, 65)


def test_a_correction_that_changes_nothing_is_none():
    display = services.note_display(ObjectFactory(), person=PersonFactory(), **SPRING)
    services.correct_display(display, person=PersonFactory(), **SPRING)
    assert not AuditEntry.objects.filter(action="display corrected").exists()


def test_a_removed_display_stays_in_the_audit_trail():
    display = services.note_display(ObjectFactory(), person=PersonFactory(), **SPRING)
    services.remove_display(display, person=PersonFactory())
    assert not Display.objects.exists()
    assert AuditEntry.objects.get(action="display removed").detail["place"] == "Gallery 3"


def test_a_correction_that_comes_after_the_display_was_taken_out_says_so():
    display = services.note_display(ObjectFactory(), person=PersonFactory(), **SPRING)
    late = Display.objects.get()
    services.remove_display(display, person=PersonFactory())
    with pytest.raises(ValidationError, match="took this display out in the meantime"):
        services.correct_display(late, person=PersonFactory(), **(SPRING | {"lux": 65.0}))


def test_displays_of_other_objects_may_hang_on_the_same_days():
    person = PersonFactory()
    for _ in range(2):
        services.note_display(ObjectFactory(), person=person, **SPRING)
    assert Display.objects.count() == 2


@pytest.mark.parametrize("first", [date(2025, 5, 25), date(2025, 1, 1)])
def test_displays_of_one_object_do_not_overlap_by_a_single_day(first):
    item, person = ObjectFactory(), PersonFactory()
    services.note_display(item, person=person, **SPRING)
    with pytest.raises(ValidationError, match="overlap “Gallery 3”, 3 March 2025 to 25 May 2025"):
        services.note_display(
            item, person=person, **(SPRING | {"first_day": first, "last_day": date(2025, 6, 1)})
        )


def test_a_display_may_begin_on_the_day_after_another():
    item, person = ObjectFactory(), PersonFactory()
    services.note_display(item, person=person, **SPRING)
    later = {"first_day": date(2025, 5, 26), "last_day": date(2025, 6, 1)}
    services.note_display(item, person=person, **(SPRING | later))
    assert item.displays.count() == 2


def test_a_courier_notes_and_sets_nothing():
    courier, item = PersonFactory(role=Person.Role.COURIER), ObjectFactory()
    display = services.note_display(item, person=PersonFactory(), **SPRING)
    for act in (
        lambda: services.note_display(item, person=courier, **SPRING),
        lambda: services.correct_display(display, person=courier, **SPRING),
        lambda: services.remove_display(display, person=courier),
        lambda: services.set_responsivity(item, person=courier, category="high", reason="x"),
    ):
        with pytest.raises(PermissionDenied):
            act()
    assert Display.objects.count() == 1


def test_the_newest_category_holds_and_the_earlier_are_kept():
    item, person = ObjectFactory(), PersonFactory()
    services.set_responsivity(item, person=person, category="medium", reason="Watercolour")
    services.set_responsivity(item, person=person, category="high", reason="A lake, by its glow")
    light = queries.light_of(item, TODAY)
    assert light.responsivity is not None and light.limit is not None
    assert (light.responsivity.category, light.limit.lux_hours) == ("high", 15_000)
    assert item.responsivities.count() == 2


def test_limits_begin_as_published_and_become_the_departments(head):
    before = {limit.category["code"]: limit for limit in queries.limits()}
    assert {code: (one.lux, one.lux_hours) for code, one in before.items()} == {
        "irresponsive": (None, None),
        "low": (200, 600_000),
        "medium": (50, 150_000),
        "high": (50, 15_000),
    }
    assert not any(one.is_own for one in before.values())
    services.set_limit("medium", person=head, lux=40, lux_hours_a_year=90_000, reason="Agreed")
    [medium] = [one for one in queries.limits() if one.category["code"] == "medium"]
    assert (medium.lux, medium.lux_hours, medium.set_by) == (40, 90_000, head)
    assert (medium.published_lux, medium.published_lux_hours) == (50, 150_000)
    assert AuditEntry.objects.get(action="exposure limit set").person == head


def test_only_the_head_sets_limits_and_says_why(head):
    given = {"lux": 40, "lux_hours_a_year": 90_000}
    with pytest.raises(PermissionDenied):
        services.set_limit("medium", person=PersonFactory(), reason="Agreed", **given)
    with pytest.raises(ValidationError, match="few words why"):
        services.set_limit("medium", person=head, reason="  ", **given)
    with pytest.raises(ValidationError, match="only the irresponsive category has none"):
        services.set_limit("medium", person=head, reason="x", lux=None, lux_hours_a_year=1)
    with pytest.raises(ValidationError, match="above zero"):
        services.set_limit("medium", person=head, reason="x", lux=-5, lux_hours_a_year=1)
    assert not ExposureLimit.objects.exists()


def test_a_proposal_is_weighed_against_both_limits(head):
    # Noted: 28 800 lx·h in spring. Proposed: 100 days × 8 h × 50 lx = 40 000; 68 800 together.
    item = ObjectFactory()
    services.note_display(item, person=head, **SPRING)
    services.set_responsivity(item, person=head, category="medium", reason="Watercolour")
    services.set_limit("medium", person=head, lux=50, lux_hours_a_year=60_000, reason="Agreed")
    light = queries.light_of(item, TODAY)
    proposal = Spell(date(2025, 9, 1), date(2025, 12, 9), 50, 8)
    [year] = queries.propose(light, proposal)
    assert (year.year, year.days) == (2025, 100)
    assert year.noted == Exposure(pytest.approx(28_800), pytest.approx(2_880))
    assert year.proposed.lux_hours == pytest.approx(40_000)
    assert year.own.state is State.OVER and year.published.state is State.WITHIN
    assert year.published.left is not None
    assert year.published.left.lux_hours == pytest.approx(81_200)
    # 60 000 − 28 800 = 31 200 lx·h left, at 400 lx·h a day: 78 days.
    assert year.lasts == 78
