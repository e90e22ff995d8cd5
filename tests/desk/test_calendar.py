"""The calendar of deadlines: who reads it, and whether it keeps to RFC 5545."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from survey.access.models import AuditEntry
from survey.triage import holding, keeping
from survey.triage.models import CalendarFeed
from tests.desk.conftest import text_of
from tests.factories import (
    LoanedObjectFactory,
    LoanFactory,
    NeedFactory,
    ObjectFactory,
    RecommendationFactory,
    examined,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def token(conservator) -> str:
    return keeping.make_feed(conservator)


def read(token: str):
    """As a calendar programme does: no cookie, no sign-in."""
    return Client().get(reverse("desk:feed", args=[token]))


def events(token: str) -> list:
    return Calendar.from_ical(read(token).content).walk("VEVENT")


def test_an_address_is_made_shown_once_and_opens_the_calendar_alone(desk, conservator):
    page = desk.post(reverse("desk:feed-make")).content.decode()
    address = page.split('readonly value="')[1].split('"')[0]
    assert address.startswith("http://testserver/calendar/") and address.endswith(".ics")
    answer = Client().get(address.removeprefix("http://testserver"))
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "no-store" in answer["Cache-Control"]
    token = address.rsplit("/", 1)[1].removesuffix(".ics")
    assert token not in desk.get(reverse("desk:home")).content.decode()
    assert token not in str(list(CalendarFeed.objects.values()))
    assert CalendarFeed.objects.get().last_read_at is not None
    assert AuditEntry.objects.filter(action="calendar address made").get().person == conservator


def test_a_revoked_address_opens_nothing(desk, token):
    desk.post(reverse("desk:feed-revoke"))
    answer = read(token)
    assert answer.status_code == 404
    assert "This calendar address is not open." in answer.content.decode()
    assert "Make an address" in text_of(desk.get(reverse("desk:home")))


def test_a_new_address_closes_the_old_one(conservator, token):
    newer = keeping.make_feed(conservator)
    assert (read(token).status_code, read(newer).status_code) == (404, 200)
    assert CalendarFeed.objects.filter(revoked_at=None).count() == 1


def test_it_closes_when_its_person_leaves(conservator, token):
    conservator.is_active = False
    conservator.save()
    assert read(token).status_code == 404


@pytest.mark.parametrize("wrong", ["x", "../monday", "a" * 43])
def test_a_guess_opens_nothing(token, wrong):
    assert Client().get(f"/calendar/{wrong}.ics").status_code == 404


def test_deadlines_are_events_of_a_whole_day(token):
    row = RecommendationFactory(examination=examined(object__accession_number="PE.1"), hours=2.5)
    NeedFactory(object=row.examination.object, title="Ink", due=date(2031, 5, 4))
    NeedFactory(object=ObjectFactory(), title="Ink", due=date(2031, 5, 4))
    (event,) = events(token)
    assert event["SUMMARY"] == "Exhibition “Ink”"
    assert event["DTSTART"].params["VALUE"] == "DATE"
    assert (event.decoded("DTSTART"), event.decoded("DTEND")) == (
        date(2031, 5, 4), date(2031, 5, 5),
    )  # fmt: skip
    assert event["TRANSP"] == "TRANSPARENT"
    assert "Left to do: 1 piece of work, 2.5 h." in event["DESCRIPTION"]
    assert "PE.1 " in event["DESCRIPTION"]


def test_loans_and_holds_are_in_it(token, head):
    row = RecommendationFactory(examination=examined(object__accession_number="PE.1"))
    until = timezone.localdate() + timedelta(days=9)
    holding.hold(row.pk, person=head, reason="No room", until=until)
    loan = LoanFactory(
        reference="L.1", title="Coasts", first_day=until, last_day=until + timedelta(days=30)
    )
    LoanedObjectFactory(loan=loan)
    said = {str(event["SUMMARY"]): event.decoded("DTSTART") for event in events(token)}
    assert said == {
        "Back from hold: PE.1, treat": until,
        "Loan L.1 “Coasts” begins": until,
        "Loan L.1 “Coasts” ends": until + timedelta(days=30),
    }


def test_an_event_is_the_same_one_at_every_reading_and_after_its_day_was_moved(token):
    need = NeedFactory(due=date(2031, 5, 4))
    first = [event["UID"] for event in events(token)]
    need.due = date(2031, 6, 1)
    need.save()
    assert [event["UID"] for event in events(token)] == first
    NeedFactory(due=date(2031, 5, 4))
    assert len({event["UID"] for event in events(token)}) == 2


def test_what_people_typed_is_escaped_and_comes_back_word_for_word(token):
    title = "Ink; wash, and\\gum: a “study”\nBEGIN:VEVENT"
    NeedFactory(title=title, due=date(2031, 5, 4), object__title="Reeds, dusk; 1881")
    (event,) = events(token)
    assert event["SUMMARY"] == f"Exhibition “{title}”"
    assert "Reeds, dusk; 1881" in event["DESCRIPTION"]


def test_the_feed_keeps_to_rfc_5545(token):
    """Lines (3.1), the calendar's own properties (3.6, 3.7), and those of events (3.6.1)."""
    for number in range(30):
        NeedFactory(
            title="Ünïcode über alles, größer als eine Zeile: " * 4, due=date(2031, 5, 4),
            object__title=f"Skizze №{number}",
        )  # fmt: skip
    content = read(token).content
    assert content.endswith(b"\r\n")
    lines = content.split(b"\r\n")
    assert b"\n" not in b"".join(lines) and b"\r" not in b"".join(lines)
    assert all(len(line) <= 75 for line in lines)
    # Folded between characters, not within one.
    for line in lines:
        line.decode()
    whole = content.replace(b"\r\n ", b"").decode().split("\r\n")
    assert whole[0] == "BEGIN:VCALENDAR" and whole[-2] == "END:VCALENDAR"
    names = [line.split(":", 1)[0].split(";", 1)[0] for line in whole if line]
    for once in ("PRODID", "VERSION", "CALSCALE", "METHOD"):
        assert names.count(once) == 1
    assert "VERSION:2.0" in whole
    calendar = Calendar.from_ical(content)
    assert calendar.walk("VEVENT")
    for event in calendar.walk("VEVENT"):
        assert not event.errors
        for once in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "TRANSP"):
            assert once in event and not isinstance(event[once], list)
        assert event["DTSTAMP"].to_ical().endswith(b"Z")
        assert type(event.decoded("DTSTART")) is type(event.decoded("DTEND")) is date
        assert "DURATION" not in event


def test_a_calendar_without_deadlines_still_holds_something(token):
    """RFC 5545, section 3.4: one component at the least."""
    calendar = Calendar.from_ical(read(token).content)
    assert calendar.walk("VEVENT") == []
    (note,) = calendar.walk("VJOURNAL")
    assert note["SUMMARY"] == "No deadlines are set"


def test_couriers_have_addresses_too_and_nobody_makes_anothers(courier_desk, courier, token):
    courier_desk.post(reverse("desk:feed-revoke"))
    assert read(token).status_code == 200
    courier_desk.post(reverse("desk:feed-make"))
    assert CalendarFeed.objects.filter(person=courier, revoked_at=None).exists()
