"""A museum of three sheets whose keys never change: frozen tablets were filled from it.

Run as a program it fills the empty database of FIELDLEAF_DATA with the code of the folder it
is started in, so that a server of any version can be given the same museum:

    FIELDLEAF_DATA=… python path/to/small_museum.py DEVICES [lends]

DEVICES  JSON: the key of a device for each person's sign-in name. They are enrolled, signed
         out, and come back as themselves when that person signs in on them.
lends    with a loan of one sheet, and a walk of one stop, as museums have them since version 4 of
         the tablet's database
"""

import json
import os
import sys
import time
import uuid
from datetime import UTC, datetime
from typing import Any

PASSWORD = "reeds-by-the-water"
CONSERVATOR = "iona"
SECOND = "osric"
PEOPLE = {CONSERVATOR: ("Iona", "Saltmarsh"), SECOND: ("Osric", "Fenwick-Hay")}
NUMBERS = ["SM.1", "SM.2", "SM.3"]
# The examination that two people disagree about, and what they say.
NOTES = ("Cockled along the foot.", "Flat, but for the foot.")


def key(kind: str, number: int) -> uuid.UUID:
    return uuid.uuid5(uuid.NAMESPACE_OID, f"small museum {kind} {number}")


QUESTION = key("question", 0)
DISPUTED = key("examination", 0)
# An examination of the conservator's own that the server has had, and that is not signed yet.
UNFINISHED = key("examination", 1)
# What a museum that lends has besides.
LOAN = key("loan", 0)
STOP = key("stop", 0)


def fill(devices: dict[str, str]) -> None:
    """Write everything; the database is empty but for the vocabulary."""
    from survey.access.models import Device, Person
    from survey.catalogue.models import Location, Object
    from survey.examination.models import Examination, Visit
    from survey.sync.services import log_many

    began = datetime(2026, 1, 12, 9, 30, tzinfo=UTC)
    people = {
        username: Person.objects.create_user(
            username, password=PASSWORD, first_name=first, last_name=last, pk=number
        )
        for number, (username, (first, last)) in enumerate(PEOPLE.items(), 1)
    }
    for username, device in devices.items():
        Device.objects.create(
            id=device, name="Tablet", person=people[username], token_hash=device, expires_at=began
        )

    def saved(name: str, model: Any, rows: list[Any]) -> list[Any]:
        model.objects.bulk_create(rows)
        log_many(name, rows, None)
        return rows

    room = Location(id=key("location", 0), kind="room", name="Store")
    shelf = Location(id=key("location", 1), kind="shelf", name="Shelf 1", parent=room)
    saved("location", Location, [room, shelf])
    objects = [
        Object(
            id=key("object", place),
            accession_number=number,
            title=f"Reeds, sheet {place + 1}",
            maker="Ottoline Marsh",
            support="Laid paper",
            media="Etching",
            location=shelf,
        )
        for place, number in enumerate(NUMBERS)
    ]
    saved("object", Object, objects)
    visits = [
        Visit(
            id=key("visit", number),
            purpose="bench",
            name=f"At the bench with {people[username].first_name}",
            person=people[username],
            started_at=began,
        )
        for number, username in enumerate([SECOND, CONSERVATOR])
    ]
    saved("visit", Visit, visits)
    examinations = [
        Examination(
            id=examination, visit=visit, object=item, examiner=visit.person, started_at=began
        )
        for examination, visit, item in zip(
            [DISPUTED, UNFINISHED], visits, reversed(objects[1:]), strict=True
        )
    ]
    saved("examination", Examination, examinations)
    _disagree(examinations[0].revision, people)


def _disagree(base: int, people: dict[str, Any]) -> None:
    """Two devices give the notes of one examination two values."""
    from survey.access.models import Device
    from survey.sync.models import Change, OpenQuestion
    from survey.sync.services import push

    for number, (said, person) in enumerate(zip(NOTES, people.values(), strict=True)):
        device = Device.objects.create(
            id=key("device", number),
            name="Phone",
            person=person,
            token_hash=f"phone {number}",
            expires_at=datetime(2026, 1, 12, tzinfo=UTC),
        )
        change = Change(
            id=key("change", number),
            entity="examination",
            entity_id=str(DISPUTED),
            fields={"notes": said},
            base=base,
            at=f"{time.time_ns() // 1_000_000:013d}-000{number}-{device.pk}",
            person=person,
            device=device,
        )
        push([change])
    OpenQuestion.objects.update(id=QUESTION)


def lend() -> None:
    """Lend the first sheet, and hand out a walk to the second; everything else is written."""
    from survey.catalogue.models import Object
    from survey.collection.models import Stop
    from survey.examination.models import Visit
    from survey.loans.models import Loan, LoanedObject
    from survey.sync.services import log_many

    sheets = Object.objects.in_bulk([key("object", 0), key("object", 1)])
    loan = Loan(
        id=LOAN,
        reference="L.2026.1",
        title="Reeds",
        lender="Small museum",
        borrower="Gallery of the Salt Quay",
        first_day="2026-01-10",
        last_day="2030-01-10",
        couriers=["Wenna Tregear"],
        coolest_c=18,
        warmest_c=22,
    )
    loaned = LoanedObject(
        id=key("loaned object", 0), loan=loan, object=sheets[key("object", 0)], crate="Crate 1"
    )
    walk = Visit.objects.get(person__username=CONSERVATOR)
    stop = Stop(id=STOP, visit=walk, object=sheets[key("object", 1)], order=1)
    for name, row in (("loan", loan), ("loaned_object", loaned), ("stop", stop)):
        type(row).objects.bulk_create([row])
        log_many(name, [row], None)


if __name__ == "__main__":
    sys.path.insert(0, os.getcwd())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "survey.settings")
    import django

    django.setup()
    fill(json.loads(sys.argv[1]))
    if "lends" in sys.argv[2:]:
        lend()
