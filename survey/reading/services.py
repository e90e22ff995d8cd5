"""What changes readings, and what people say of them.

``ask`` puts a reading in the queue of the worker, which calls ``run``. The others are a person's
word, which always counts before what was read.
"""

import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.catalogue.models import Object
from survey.examination.models import Examination, Observation, Photograph
from survey.examination.pictures import original_path
from survey.imaging.decoded import upright_size
from survey.imaging.geometry import Placed, WrongPoints, from_corners, from_scale
from survey.reading import kinds, queries, work
from survey.reading.dating.questions import date_questions
from survey.reading.dating.rules import rules
from survey.reading.kinds.job import Found, Job, Kind
from survey.reading.models import (
    Alignment,
    Correction,
    DateAnswer,
    LaterPlacing,
    PaperNote,
    Reading,
    SamePlace,
)
from survey.reading.nudging import nudged
from survey.reading.pictures import keep_picture
from survey.reading.placement import as_matrix, as_numbers, size_of
from survey.reading.progress import Progress
from survey.reading.trouble import CannotAsk, CannotCorrect, CannotPlace, NotRead
from survey.reading.work import carry_out
from survey.sync.files import stored_of
from survey.sync.services import Refused, record_change

__all__ = [
    "CannotAsk",
    "CannotCorrect",
    "CannotPlace",
    "answer_date",
    "ask",
    "ask_all",
    "correct",
    "may_read",
    "note_paper",
    "nudge",
    "run",
    "say_same_place",
    "set_geometry",
    "take_up",
]

# How far a tap misses at the desk, px of the photograph.
DESK_TAP_PX = 2.0


def ask(
    kind: str,
    examination: Examination,
    side: str,
    person: Person | None,
    given: Mapping[str, Any] | None = None,
) -> Reading:
    """Ask for a reading of the photographs of one side; the worker makes it in the background.

    person  None for the server itself
    given   what that kind needs to be told beside the photographs, see its module

    While the same one waits or is being made, it is that one that is given back. Where a
    photograph that is needed lies nowhere yet but could be aligned, the alignment is asked for
    first. Raises CannotAsk with a sentence, or PermissionDenied.
    """
    if person is not None:
        _check_may_read(person)
    asked_kind = kinds.of(kind)
    found = _open(kind, examination, side)
    if found is not None:
        return found
    asked_kind.check(given or {})
    chosen = choose(asked_kind, examination, side, given)
    if kind != "align" and asked_kind.placed:
        placed = queries.lies_of(examination)
        if any(one.pk not in placed for one in chosen):
            ask("align", examination, side, person)
    try:
        with transaction.atomic():
            reading = Reading.objects.create(
                kind=kind,
                examination=examination,
                side=side,
                photographs=[str(one.pk) for one in chosen],
                given=plain(given or {}),
                asked_by=person,
            )
            enqueue(reading)
    except IntegrityError:
        found = _open(kind, examination, side)
        if found is None:
            raise
        return found  # Somebody asked in the same moment.
    reading.refresh_from_db()
    return reading


def _open(kind: str, examination: Examination, side: str) -> Reading | None:
    """The reading of this kind that waits or is being made."""
    states = [Reading.State.WAITING, Reading.State.RUNNING]
    return Reading.objects.filter(
        examination=examination, side=side, kind=kind, state__in=states
    ).first()


def enqueue(reading: Reading) -> None:
    from survey.reading.tasks import read  # It calls run: here the two come together.

    read.enqueue(str(reading.pk))


def choose(
    kind: Kind, examination: Examination, side: str, given: Mapping[str, Any] | None = None
) -> list[Photograph]:
    """The photographs a reading of this kind would use. Raises CannotAsk with a sentence."""
    taken = Photograph.objects.filter(examination=examination, side=side, deleted_at=None)
    photographs = list(taken.order_by("taken_at", "pk"))
    here = set(stored_of({one.sha256 for one in photographs}))
    arrived = [one for one in photographs if one.sha256 in here]
    try:
        chosen = kind.choose(
            arrived, lambda: queries.earlier_placed(examination, side), given or {}
        )
    except CannotAsk as error:
        missing = len(photographs) - len(arrived)
        if not missing:
            raise
        raise CannotAsk(
            f"{error} {missing} of {len(photographs)} photographs of this side have not arrived "
            "yet: let the tablet send."
        ) from error
    if kind.placed:
        if size_of(examination) is None:
            raise CannotAsk("Measure the sheet’s width and height first: all is told in mm.")
        placed = queries.lies_of(examination)
        if not any(one.pk in placed for one in photographs):
            raise CannotAsk(
                f"Nothing says yet how a photograph lies on the {side}: set the sheet’s four "
                "corners on one of them, best on the one in normal light."
            )
    return chosen


def ask_all(examination: Examination, person: Person | None) -> list[Reading]:
    """Ask for every reading that the photographs allow, and that was not yet made of them as
    they lie now."""
    asked = []
    before = list(Reading.objects.filter(examination=examination))
    now = queries.lies_for(examination, before, together=True)
    for side in ("recto", "verso"):
        for name, kind in kinds.KINDS.items():
            try:
                kind.check({})
                chosen = [str(one.pk) for one in choose(kind, examination, side)]
            except CannotAsk:
                continue
            if not any(
                (one.side, one.kind, one.photographs) == (side, name, chosen)
                and one.made_with in ("", made_with(name))
                and not queries.outdated(one, now)
                for one in before
            ):
                asked.append(ask(name, examination, side, person))
    return asked


def run(reading: Reading) -> None:
    """Make a reading that waits, and keep what came of it; see ``carry_out``. For the worker."""
    carry_out(
        reading,
        lambda: _make(reading),
        step="Opening the photographs",
        made_with=made_with(reading.kind),
        troubles=(NotRead, CannotAsk, *kinds.of(reading.kind).troubles),
        untouched="The photographs are",
    )


def take_up() -> int:
    """Take up the readings that wait; see ``work.take_up``."""
    return work.take_up(Reading, enqueue)


def correct(
    reading: Reading, person: Person, changes: dict[str, Any], reason: str = ""
) -> Correction:
    """Keep a person's correction, and the whole result worked out from it anew.

    changes  what the kind of reading lets be corrected, see its module

    The reading's own result stays. Raises CannotCorrect with a sentence, or PermissionDenied.
    """
    _check_may_read(person)
    stands = reading.stands
    if reading.state != Reading.State.DONE or stands is None:
        raise CannotCorrect("There is nothing to correct yet: wait until it was read.")
    result = plain(kinds.of(reading.kind).correct(stands, changes))
    with transaction.atomic():
        correction = Correction.objects.create(
            reading=reading,
            changes=plain(changes),
            result=result,
            person=person,
            reason=reason.strip()[:300],
        )
        note(
            person,
            "reading corrected",
            f"{reading.get_kind_display()} of {reading.examination.object.accession_number}",
            {"reading": str(reading.pk)},
        )
    return correction


def nudge(
    photograph: Photograph,
    from_points: Sequence[Sequence[float]],
    to_points: Sequence[Sequence[float]],
    person: Person,
) -> Alignment:
    """Put points of a photograph on the same places of the one in normal light.

    from_points, to_points  (n, 2) upright pixels at full size, n of 1 to 20: one point shifts
                            what stands, two also turn and scale it, three shear it, four or
                            more fit it anew

    Raises CannotPlace with a sentence, or PermissionDenied.
    """
    _check_may_read(person)
    alignment = Alignment.objects.filter(photograph=photograph).select_related("onto").first()
    onto = alignment.onto if alignment else _normal_of(photograph)
    stands = as_matrix(alignment.matrix) if alignment else _scaled(photograph, onto)
    matrix = nudged(stands, np.asarray(from_points), np.asarray(to_points))
    with transaction.atomic():
        moved, _ = Alignment.objects.update_or_create(
            photograph=photograph,
            defaults={
                "onto": onto,
                "matrix": as_numbers(matrix),
                "residual_mm": None,
                "residual_95_mm": None,
                "moved_mm": None,
                "reading": None,
                "nudged_by": person,
                "points": {"from": plain(from_points), "to": plain(to_points)},
                "at": timezone.now(),
            },
        )
        note(person, "alignment nudged", f"photograph {photograph.pk}")
    return moved


def set_geometry(
    photograph: Photograph,
    person: Person,
    *,
    corners: Sequence[Sequence[float]] | None = None,
    scale: Sequence[Sequence[float]] | None = None,
    length_mm: float | None = None,
) -> list[float]:
    """Say at the desk how a photograph lies on its sheet. Returns its homography.

    corners    upright pixels at full size: the sheet's top left, top right, bottom right and
               bottom left corner as seen; or
    scale      the two ends of a scale bar, which is length_mm long

    It goes through the change log like an edit on a tablet. A photograph of a signed examination
    is not altered: there it stands beside the record, as a LaterPlacing.

    Raises CannotPlace with a sentence, or PermissionDenied.
    """
    _check_may_read(person)
    examination = photograph.examination
    try:
        placed, kind, points, size = _placed(photograph, corners, scale, length_mm)
    except WrongPoints as error:
        raise CannotPlace(str(error)) from error
    homography = as_numbers(placed.matrix)
    placing = {
        "kind": kind,
        "points": plain(points),
        "size_mm": size,
        "mm_per_px": placed.mm_per_px,
        "uncertainty_mm": placed.uncertainty_mm,
    }
    try:
        with transaction.atomic():
            if examination.is_signed:
                LaterPlacing.objects.update_or_create(
                    photograph=photograph,
                    defaults={
                        "homography": homography,
                        "placing": placing,
                        "person": person,
                        "at": timezone.now(),
                    },
                )
            else:
                record_change(
                    "photograph",
                    photograph,
                    {"homography": homography, "placing": placing},
                    person,
                )
            note(person, "photograph placed", f"photograph {photograph.pk}", {"kind": kind})
    except Refused as error:
        raise CannotPlace(" ".join(error.reasons.values())) from error
    return homography


def say_same_place(
    before: Observation, after: Observation, person: Person, *, is_same: bool, reason: str = ""
) -> SamePlace:
    """Keep a person's word on whether two observations of one object tell of one place.

    before, after  of an earlier and of a later examination, both signed

    Raises CannotCorrect with a sentence, or PermissionDenied.
    """
    _check_may_read(person)
    one, other = before.examination, after.examination
    if one.object_id != other.object_id or one.started_at >= other.started_at:
        raise CannotCorrect(
            "Name an observation of an earlier and one of a later examination of this object."
        )
    if before.side != after.side:
        raise CannotCorrect(
            f"One lies on the {before.side}, the other on the {after.side}: choose two of one side."
        )
    with transaction.atomic():
        said = SamePlace.objects.create(
            before=before, after=after, is_same=is_same, reason=reason.strip()[:300], person=person
        )
        note(
            person,
            "same place said" if is_same else "not the same place said",
            one.object.accession_number,
            {"before": str(before.pk), "after": str(after.pk), "reason": said.reason},
        )
    return said


def note_paper(obj: Object, person: Person, values: Mapping[str, str]) -> PaperNote:
    """Keep what the conservator says of the paper. Raises ValidationError by field."""
    _check_may_read(person)
    allowed = {"furnish", "machine_made", "wove", "brightener_seen", "chlorine_bleached", "note"}
    noted = PaperNote.objects.filter(object=obj).first() or PaperNote(object=obj)
    for name in allowed & set(values):
        setattr(noted, name, values[name].strip())
    noted.person = person
    noted.at = timezone.now()
    noted.full_clean()
    with transaction.atomic():
        noted.save()
        told = {name: getattr(noted, name) for name in sorted(allowed)}
        note(person, "paper noted", obj.accession_number, told)
    return noted


def answer_date(obj: Object, rule: str, person: Person, answer: str, reason: str) -> DateAnswer:
    """Keep what a person answers to a question about a date. Raises ValidationError by field."""
    _check_may_read(person)
    if rule not in {one.code for one in rules()}:
        raise ValidationError({"rule": f"There is no question called “{rule}”."})
    evidence = " ".join(
        sentence
        for question in date_questions(obj)
        if question.rule.code == rule
        for sentence in question.evidence
    )
    given = DateAnswer(
        object=obj,
        rule=rule,
        answer=answer,
        reason=reason.strip(),
        evidence=evidence,
        person=person,
    )
    given.full_clean()
    if answer == DateAnswer.Answer.DOES_NOT and not given.reason:
        raise ValidationError({"reason": "Say in a few words what speaks against the date."})
    with transaction.atomic():
        given.save()
        note(person, "date question answered", obj.accession_number, {"rule": rule, "is": answer})
    return given


def may_read(person: Person) -> bool:
    """Conservators and the head ask for readings and correct them; couriers see them."""
    return not person.is_courier


def made_with(kind: str) -> str:
    """Name and version of the code that makes a reading of this kind."""
    return f"Fieldleaf, {kind} {kinds.of(kind).version}"


def plain(value: Any) -> Any:
    """A value as JSON holds it: arrays as lists, numbers as Python's own, none not finite."""
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, Mapping):
        return {str(key): plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [plain(part) for part in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    json.dumps(value)
    return value


def _check_may_read(person: Person) -> None:
    if not may_read(person):
        raise PermissionDenied(
            "Conservators and the head of department ask for readings and correct them."
        )


def _make(reading: Reading) -> None:
    progress = Progress(reading)
    job = _job(reading, progress)
    found = kinds.of(reading.kind).read(job)
    progress.say(0.98, "Keeping what was read")
    pictures = {name: keep_picture(pixels) for name, pixels in found.pictures.items()}
    _keep(reading, job, found, pictures)


def _job(reading: Reading, progress: Progress) -> Job:
    examination = reading.examination
    rows = Photograph.objects.in_bulk(reading.photographs)
    photographs = [row for row in (rows.get(_key(key)) for key in reading.photographs) if row]
    if len(photographs) < len(reading.photographs):
        raise NotRead("A photograph was deleted meanwhile. Ask again.")
    return Job(
        side=reading.side,
        photographs=photographs,
        placed=queries.lies_now(reading),
        together=queries.lies_now(reading, together=True),
        size_mm=size_of(examination),
        say=progress.say,
        given=reading.given,
    )


def _key(text: str) -> Any:
    return Photograph._meta.pk.to_python(text)


def _keep(reading: Reading, job: Job, found: Found, pictures: dict[str, str]) -> None:
    is_alignment = reading.kind == Reading.Kind.ALIGN
    lay = {} if is_alignment else {str(key): lie for key, lie in job.together.items()}
    if reading.kind == Reading.Kind.CHANGES:
        # Where a comparison has found that the later one lies, the next one does not depend on.
        later = reading.photographs[-1]
        lay = {key: lie for key, lie in lay.items() if key != later or not lie.compared}
    with transaction.atomic():
        Reading.objects.filter(pk=reading.pk).update(
            state=Reading.State.DONE,
            progress=1.0,
            step="",
            result=plain(found.result),
            sentence=found.sentence,
            pictures=pictures,
            placed={key: as_numbers(lay[key].matrix) for key in reading.photographs if key in lay},
            done_at=timezone.now(),
        )
        if is_alignment:
            _keep_alignments(reading, found.result["photographs"])


def _keep_alignments(reading: Reading, found: list[dict[str, Any]]) -> None:
    nudged_by_hand = set(
        Alignment.objects.filter(
            photograph__in=[one["photograph"] for one in found], nudged_by__isnull=False
        ).values_list("photograph_id", flat=True)
    )
    for one in found:
        if one["matrix"] is None or _key(one["photograph"]) in nudged_by_hand:
            continue
        Alignment.objects.update_or_create(
            photograph_id=one["photograph"],
            defaults={
                "onto_id": one["onto"],
                "matrix": plain(one["matrix"]),
                "residual_mm": one["residual_mm"],
                "residual_95_mm": one["residual_95_mm"],
                "moved_mm": one["moved_mm"],
                "reading": reading,
                "at": timezone.now(),
            },
        )


def _normal_of(photograph: Photograph) -> Photograph:
    taken = Photograph.objects.filter(
        examination=photograph.examination_id,
        side=photograph.side,
        light="normal",
        deleted_at=None,
    ).exclude(pk=photograph.pk)
    onto = taken.order_by("-taken_at", "-pk").first()
    if onto is None:
        raise CannotPlace("This side has no other photograph in normal light to lay it on.")
    return onto


def _scaled(photograph: Photograph, onto: Photograph) -> Any:
    """Where a photograph would lie if both showed the same frame."""
    size, onto_size = _size_px(photograph), _size_px(onto)
    if size is None or onto_size is None:
        return np.eye(3)
    return np.diag([onto_size[0] / size[0], onto_size[1] / size[1], 1.0])


def _placed(
    photograph: Photograph,
    corners: Sequence[Sequence[float]] | None,
    scale: Sequence[Sequence[float]] | None,
    length_mm: float | None,
) -> tuple[Placed, str, Sequence[Sequence[float]], list[float]]:
    picture = _size_px(photograph)
    if corners is not None:
        size = size_of(photograph.examination)
        if size is None:
            raise CannotPlace("Measure the sheet’s width and height first.")
        placed = from_corners(
            corners,
            *size,
            photograph.examination.sheet_uncertainty_mm,
            DESK_TAP_PX,
            picture,
        )
        return placed, "corners", corners, list(size)
    if scale is None or length_mm is None or picture is None:
        raise CannotPlace("Give the four corners, or the two ends of a scale and its length.")
    return from_scale(scale, length_mm, picture, tap_px=DESK_TAP_PX), "scale", scale, [length_mm]


def _size_px(photograph: Photograph) -> tuple[int, int] | None:
    """(width, height) of the upright picture, where known; a record has them as they are stored."""
    path = original_path(photograph.sha256)
    size = upright_size(path) if path else None
    if size is None and photograph.width_px and photograph.height_px:
        return photograph.width_px, photograph.height_px
    return size
