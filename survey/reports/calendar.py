"""Deadlines as an iCalendar feed (RFC 5545), for any calendar programme to subscribe to."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from icalendar import Calendar, Event, Journal

from survey.triage.deadlines import Deadline
from survey.triage.rule import counted

CONTENT_TYPE = "text/calendar; charset=utf-8"
PRODUCT = "-//Fieldleaf//Deadlines//EN"
# What a programme is asked to keep to; RFC 7986, section 5.7.
READ_EVERY = timedelta(hours=6)
OBJECTS_NAMED = 20


def feed(deadlines: Sequence[Deadline], now: datetime, today: date) -> bytes:
    """One event a deadline, all day long, which leaves the day free.

    A calendar must hold something (RFC 5545, section 3.4): without deadlines it has a note for
    today that says so, which calendar programmes do not show among events.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("name", "Conservation deadlines")
    calendar.add("refresh-interval", READ_EVERY, parameters={"VALUE": "DURATION"})
    for one in deadlines:
        calendar.add_component(_event(one, now))
    if not deadlines:
        note = Journal()
        note.add("uid", "no-deadlines@fieldleaf")
        note.add("dtstamp", now)
        note.add("dtstart", today)
        note.add("summary", "No deadlines are set")
        calendar.add_component(note)
    return calendar.to_ical()


def _event(one: Deadline, now: datetime) -> Event:
    event = Event()
    event.add("uid", f"{one.key}@fieldleaf")
    event.add("dtstamp", now)
    event.add("dtstart", one.due)
    # The day after: the end of an event is not part of it.
    event.add("dtend", one.due + timedelta(days=1))
    event.add("summary", one.what)
    event.add("description", _described(one))
    event.add("categories", [one.kind.capitalize()])
    event.add("transp", "TRANSPARENT")
    return event


def _described(one: Deadline) -> str:
    lines = []
    if one.rows:
        unknown = f", and {one.without_hours} without hours" if one.without_hours else ""
        pieces = counted(len(one.rows), "piece")
        lines.append(f"Left to do: {pieces} of work, {one.hours:.10g} h{unknown}.")
    else:
        lines.append("No work is left to do.")
    if one.loan is not None:
        lines.append(f"From {one.loan.lender} to {one.loan.borrower}.")
    lines += [f"{item.accession_number} {item.title}" for item in one.objects[:OBJECTS_NAMED]]
    more = len(one.objects) - OBJECTS_NAMED
    return "\n".join([*lines, *([f"And {more} more objects"] if more > 0 else [])])
