"""People, places, objects and their moves."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from survey.access.models import Person
from survey.catalogue.models import Location, Move, Object
from survey.demo.museum.keys import key
from survey.demo.museum.people import STAFF
from survey.demo.museum.places import PAPER_STORE, places, shelves_within
from survey.demo.museum.works import Work
from survey.demo.rows.saved import saved
from survey.demo.sheet.noise import stream

EVERY_NTH_MOVED = 25


def people() -> dict[str, Person]:
    people = {}
    for one in STAFF:
        person = Person(
            username=one.username,
            first_name=one.first_name,
            last_name=one.last_name,
            role=one.role,
        )
        person.set_password(one.password)
        person.save()
        people[one.username] = person
    return people


def locations(head: Person) -> dict[str, Location]:
    """Every place of the museum, by its path."""
    found: dict[str, Location] = {}
    for number, place in enumerate(places()):
        found[place.path] = Location(
            id=key("location", number),
            parent=found.get(place.above),
            kind=place.kind,
            name=place.name,
            order=place.order,
        )
    saved("location", Location, list(found.values()), head)
    return found


def objects(
    collection: Sequence[Work], locations: dict[str, Location], head: Person
) -> list[Object]:
    rows = [
        Object(
            id=key("object", work.number),
            accession_number=work.accession_number,
            title=work.title,
            maker=work.maker,
            date_text=work.date_text,
            earliest_year=work.earliest_year,
            latest_year=work.latest_year,
            width_mm=work.width_mm,
            height_mm=work.height_mm,
            support=work.support,
            media=work.media,
            studio=work.studio,
            significance=work.significance,
            value_band=work.value_band,
            mounts=work.mounts,
            location=locations.get(work.place),
            off_site_place=work.off_site_place,
        )
        for work in collection
    ]
    return saved("object", Object, rows, head)


def moves(
    collection: Sequence[Work],
    objects: Sequence[Object],
    locations: dict[str, Location],
    head: Person,
    now: datetime,
) -> None:
    """How every twenty-fifth object, and all that are out, came to be where they are."""
    random = stream(len(collection), "moves")
    earlier = shelves_within(PAPER_STORE)
    rows = []
    for work, item in zip(collection, objects, strict=True):
        if work.number % EVERY_NTH_MOVED and not work.off_site_place:
            continue
        came_from = locations[earlier[int(random.integers(len(earlier)))]]
        if came_from == item.location:
            continue
        rows.append(
            Move(
                id=key("move", work.number),
                object=item,
                to_location=item.location,
                from_location=came_from,
                to_place=item.off_site_place,
                at=now - timedelta(days=int(random.integers(250, 2400)), minutes=work.number),
                person=head,
                note="Sent on loan." if item.off_site_place else "Re-shelved.",
            )
        )
    saved("move", Move, rows, head)
