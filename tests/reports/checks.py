"""A check on a loan, with something of each kind in it, and its signatures."""

from datetime import timedelta
from typing import Any

from django.utils import timezone

from survey.examination.models import Examination, Observation, Photograph, Visit
from survey.ids import new_id
from survey.loans.models import LoanCheck, LoanedObject, PointCheck, Signature
from survey.loans.stated import statement_of
from survey.loans.statements import sha256_of
from tests.factories import LoanCheckFactory, LoanFactory, VisitFactory

WAVE: list[Any] = [[[100, 120], [300, 60], [420, 180], [700, 90]], [[800, 100]]]
AGREED = {
    "most_lux": 50.0,
    "coolest_c": 18.0,
    "warmest_c": 22.0,
    "driest_percent": 45.0,
    "dampest_percent": 55.0,
    "hours_to_acclimatise": 24.0,
    "handling": "Nitrile gloves, and two persons.",
}


def begun(earlier: Examination, *, lights: tuple[str, ...] = ("normal",)) -> LoanCheck:
    """An arrival check of the object of an earlier examination, with photographs of the same
    files under these lights, and nothing answered yet."""
    visit = VisitFactory(purpose=Visit.Purpose.LOAN_CHECK, name="Arrival at the Salt Quay")
    examination = Examination.objects.create(
        visit=visit,
        object=earlier.object,
        examiner=visit.person,
        started_at=timezone.now() - timedelta(hours=3),
        sheet_width_mm=earlier.sheet_width_mm,
        sheet_height_mm=earlier.sheet_height_mm,
        grade="fair",
        verso_seen="no",
    )
    for photograph in earlier.photographs.filter(light__in=lights):
        photograph.pk, photograph.examination = new_id(), examination
        photograph.taken_at = examination.started_at
        photograph.save(force_insert=True)
    venues = [{"name": "Gallery of the Salt Quay", "first_day": "2027-02-01"}]
    loan = LoanFactory(
        venues=[venues[0] | {"last_day": "2027-05-31"}],
        couriers=["Ruth Pennarrow"],
        **AGREED,
    )
    check: LoanCheck = LoanCheckFactory(
        loan=loan,
        examination=examination,
        earlier=earlier,
        venue="Gallery of the Salt Quay, crate room",
        crate="Crate 3",
        seals="0417, 0418",
        seals_whole="yes",
        hours_acclimatised=22.5,
        logger="Number 7: between 19 and 21 °C on the road.",
        temperature_c=20.5,
        humidity_percent=58.0,
        glazing="cracked",
        note="Unpacked by two persons.",
    )
    LoanedObject.objects.filter(loan=loan).update(frame="Oak, 420 × 510 mm", glazing="Acrylic")
    return check


def answered(
    check: LoanCheck, observation: Observation, answer: str, reason: str = "", **now: Any
) -> PointCheck:
    """An answer to one point; same and changed make the copy that tells it as it stands now."""
    copy = None
    if answer in ("same", "changed"):
        values = {
            name: getattr(observation, name)
            for name in ("term", "nature", "extent", "severity", "side", "lights", "region", "note")
        }
        copy = Observation.objects.create(examination=check.examination, **(values | now))
    return PointCheck.objects.create(
        loan_check=check, observation=observation, answer=answer, reason=reason, now=copy
    )


def signed(check: LoanCheck, *names: tuple[str, str]) -> LoanCheck:
    """Closed and signed by these (name, role); by a courier and a receiver unless told."""
    examination = check.examination
    examination.signed_at = timezone.now() - timedelta(hours=1)
    examination.signed_name = examination.examiner.name
    examination.save()
    check.statement = statement_of(check)
    check.save()
    for name, role in names or (("Ruth Pennarrow", "courier"), ("Ilse Tarn", "receiver")):
        Signature.objects.create(
            loan_check=check,
            role=role,
            name=name,
            of="Gallery of the Salt Quay" if role == "receiver" else "",
            strokes=WAVE,
            signed_at=examination.signed_at,
            sha256=sha256_of(check.statement),
        )
    return check


def first_photograph(check: LoanCheck) -> Photograph:
    return check.examination.photographs.order_by("taken_at", "pk")[0]
