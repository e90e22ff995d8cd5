"""Puts the invented museum into the database, once."""

import hashlib
import json
import multiprocessing
import os
import tempfile
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.db.models import Count
from django.utils import timezone

from survey.access.models import Person
from survey.catalogue.models import Object
from survey.demo.museum.before import BEFORE, seen_before, sitting_before
from survey.demo.museum.keys import key
from survey.demo.museum.people import STAFF
from survey.demo.museum.photographs import Picture, Sitting, photograph, shots_of
from survey.demo.museum.places import shelves_within
from survey.demo.museum.rounds import ALL_LIGHTS, CASES, ROUNDS, Case
from survey.demo.museum.sheets import Sighting, chosen_works, sheet_of
from survey.demo.museum.treated import AFTER
from survey.demo.museum.works import Work, moved_to, works
from survey.demo.rows import Examined, write_museum
from survey.demo.rows.loans import number_of, stops_of
from survey.examination.models import Examination
from survey.reading.arrivals import hushed
from survey.reading.models import Reading
from survey.reading.services import ask_all
from survey.sync.files import store

Say = Callable[[str], None]

SEED = 1931
OBJECTS = 2_000
LONGEST_PX = 1150
# Sheets whose photographs are read as soon as the demo is served.
READ_AT_ONCE = 6


class NotEmpty(Exception):
    """The database holds objects that are not the invented museum's."""


@dataclass(frozen=True)
class Account:
    """Someone who can sign in to the demo."""

    username: str
    password: str
    name: str
    role: str


def accounts() -> list[Account]:
    return [Account(one.username, one.password, one.name, one.role_in_words) for one in STAFF]


def seed(
    say: Say,
    *,
    objects: int = OBJECTS,
    cases: Sequence[Case] = CASES,
    longest_px: int = LONGEST_PX,
    workers: int | None = None,
    is_surveyed: bool = True,
) -> list[Account]:
    """Fill an empty database with the Port Ellery museum, and tell who can sign in.

    Run again it finds all there and changes nothing. The same libraries make the same museum,
    to the last byte of its photographs, but for its dates: they are told back from today.
    ``workers`` is how many processes render; None takes one for each core. ``is_surveyed``:
    whether the paper store was surveyed too.

    Raises NotEmpty rather than mix invented objects, and people whose passwords are printed,
    into a catalogue that is in use.
    """
    if Object.objects.filter(pk=key("object", 0)).exists():
        say("The Port Ellery museum is already here.")
        return accounts()
    if Object.objects.exists() or Person.objects.exists():
        raise NotEmpty(
            "This database already holds objects or people, so the invented museum was not added. "
            "Set FIELDLEAF_DATA to an empty folder for the demo."
        )
    say(f"Inventing {objects:,} objects …")
    collection = list(works(SEED, objects))
    examined = []
    sittings = []
    for case, work in zip(cases, chosen_works(SEED, collection, cases), strict=True):
        work = _found_on(work, case)
        collection[work.number] = work
        recipe, sightings = sheet_of(SEED, work, case)
        examined.append((case, work, sightings))
        shots = shots_of(case.lights, _verso_is_worth_a_shot(case, sightings))
        sittings.append(
            Sitting(work.accession_number, recipe, shots, longest_px, by_hand=_is_away(case))
        )
    known = [case for case, _, _ in examined]
    earlier = [(one, known.index(one.case)) for one in (*BEFORE, *AFTER) if one.case in known]
    stops = [(stop, known.index(stop.case)) for stop in stops_of(known)]
    sittings += [sitting_before(one, sittings[place]) for one, place in earlier]
    sittings += [stop.sitting(sittings[place]) for stop, place in stops]
    pictures = _photographed(say, sittings, workers)
    say("Writing the records …")
    # Nothing asks for readings of all these sheets: ask_for_readings takes a few.
    with hushed(), transaction.atomic():
        write_museum(
            collection,
            [
                Examined(case, work, sightings, sitting.recipe, taken)
                for (case, work, sightings), sitting, taken in zip(
                    examined, sittings, pictures, strict=False
                )
            ],
            timezone.now(),
            [
                (
                    one,
                    Examined(
                        one.case,
                        examined[place][1],
                        seen_before(one, examined[place][2]),
                        sitting.recipe,
                        taken,
                    ),
                )
                for (one, place), sitting, taken in zip(
                    earlier, sittings[len(examined) :], pictures[len(examined) :], strict=False
                )
            ],
            {
                number_of(stop): Examined(
                    stop.case,
                    examined[place][1],
                    stop.seen(examined[place][2]),
                    sitting.recipe,
                    taken,
                )
                for (stop, place), sitting, taken in zip(
                    stops, sittings[-len(stops) :], pictures[-len(stops) :], strict=False
                )
            },
            is_surveyed=is_surveyed,
        )
        for taken in pictures:
            for picture in taken:
                _keep(picture)
    count = sum(len(taken) for taken in pictures)
    say(f"Done: {objects:,} objects, {len(sittings)} examinations, {count} photographs.")
    return accounts()


def ask_for_readings() -> int:
    """Ask for all readings of a few sheets that were photographed under all lights, once: first of
    those with a watermark.

    Returns how many were asked for. The worker makes them in the background.
    """
    if Reading.objects.exists():
        return 0
    whole = Examination.objects.annotate(
        shots=Count("photographs", distinct=True), marks=Count("watermarks", distinct=True)
    ).filter(shots__gte=len(ALL_LIGHTS.split()))
    asked = 0
    for examination in whole.order_by("-marks", "started_at", "pk")[:READ_AT_ONCE]:
        asked += len(ask_all(examination, None))
    return asked


def _is_away(case: Case) -> bool:
    return ROUNDS[case.round].purpose in ("off-site", "loan-check")


def _found_on(work: Work, case: Case) -> Work:
    """The work, standing where the round that examined it went."""
    outing = ROUNDS[case.round]
    if outing.place:
        return moved_to(work, "", outing.place)
    shelves = shelves_within(outing.location)
    return moved_to(work, shelves[work.number % len(shelves)], "")


def _verso_is_worth_a_shot(case: Case, sightings: Sequence[Sighting]) -> bool:
    on_verso = any(one.mark is not None and one.mark.side == "verso" for one in sightings)
    return case.verso_seen == "yes" and on_verso and len(case.lights.split()) > 2


def _photographed(
    say: Say, sittings: Sequence[Sitting], workers: int | None
) -> list[list[Picture]]:
    """The pictures of every sitting, in order, with a line of progress for every five."""
    wanted = min(workers or os.cpu_count() or 1, len(sittings))
    done: list[list[Picture]] = []
    say(f"Photographing {len(sittings)} sheets under their lights …")
    for taken in _rendered(sittings, wanted):
        done.append(taken)
        if len(done) % 5 == 0 or len(done) == len(sittings):
            say(f"  {len(done)} of {len(sittings)} sheets photographed")
    return done


def _rendered(sittings: Sequence[Sitting], workers: int) -> Iterator[list[Picture]]:
    if workers <= 1:
        yield from map(photograph, sittings)
        return
    # Fresh processes: a fork would carry the open database with it.
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, mp_context=fresh) as pool:
        yield from pool.map(photograph, sittings)


def truth_path(sha256: str) -> Path:
    """Where the truth about a demo photograph lies, beside the photographs."""
    return Path(settings.PHOTOGRAPHS_DIR) / "truth" / f"{sha256}.json"


def _keep(picture: Picture) -> None:
    sha256 = hashlib.sha256(picture.content).hexdigest()
    folder = Path(settings.UPLOADS_DIR)
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=folder, delete=False) as file:
        file.write(picture.content)
    store(Path(file.name), sha256)
    truth = truth_path(sha256)
    truth.parent.mkdir(parents=True, exist_ok=True)
    truth.write_text(json.dumps(picture.truth))
