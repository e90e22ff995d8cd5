"""Rows for tests, made with plausible values. Photographs come with a real picture's facts."""

import hashlib
from datetime import timedelta
from typing import Any

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from survey.access.models import Device, Person
from survey.catalogue.models import Location, Move, Object
from survey.examination.models import (
    Amendment,
    Examination,
    Measurement,
    Observation,
    Photograph,
    Recommendation,
    Visit,
    Watermark,
)
from survey.loans.models import Loan, LoanCheck, LoanedObject, PointCheck
from survey.treatment.models import (
    ProposalStep,
    RecordStep,
    TreatmentProposal,
    TreatmentRecord,
)
from survey.triage.models import Need
from survey.vocabulary.models import Term

PASSWORD = "a-long-enough-password"


class PersonFactory(DjangoModelFactory[Person]):
    """Signs in with PASSWORD."""

    class Meta:
        model = Person
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"person{n}")
    first_name = factory.Sequence(lambda n: f"Robin{n}")
    last_name = "Vale"
    password = factory.django.Password(PASSWORD)


class DeviceFactory(DjangoModelFactory[Device]):
    """``DeviceFactory(token="…")`` is signed in with that token."""

    class Meta:
        model = Device

    class Params:
        token = factory.Sequence(lambda n: f"token{n}")

    name = factory.Sequence(lambda n: f"Tablet {n}")
    person = factory.SubFactory(PersonFactory)
    token_hash = factory.LazyAttribute(lambda o: hashlib.sha256(o.token.encode()).hexdigest())
    expires_at = factory.LazyFunction(lambda: timezone.now() + timedelta(days=30))


class LocationFactory(DjangoModelFactory[Location]):
    class Meta:
        model = Location

    kind = Location.Kind.SHELF
    name = factory.Sequence(lambda n: f"Shelf {n}")
    order = factory.Sequence(int)


class ObjectFactory(DjangoModelFactory[Object]):
    class Meta:
        model = Object

    accession_number = factory.Sequence(lambda n: f"PE.1987.{n}")
    title = factory.Sequence(lambda n: f"Study of reeds {n}")
    maker = "Ottoline Marsh"
    date_text = "about 1875"
    earliest_year = 1870
    latest_year = 1880
    width_mm = 310.0
    height_mm = 225.0
    support = "Laid paper"
    media = "Etching"
    location = factory.SubFactory(LocationFactory)


class MoveFactory(DjangoModelFactory[Move]):
    class Meta:
        model = Move

    object = factory.SubFactory(ObjectFactory)
    to_location = factory.SubFactory(LocationFactory)
    person = factory.SubFactory(PersonFactory)


class VisitFactory(DjangoModelFactory[Visit]):
    class Meta:
        model = Visit

    purpose = Visit.Purpose.STORAGE_ROUND
    name = factory.Sequence(lambda n: f"Round {n}")
    person = factory.SubFactory(PersonFactory)


class ExaminationFactory(DjangoModelFactory[Examination]):
    """``ExaminationFactory(signed=True)`` is signed by its examiner."""

    class Meta:
        model = Examination

    class Params:
        signed = factory.Trait(
            signed_at=factory.LazyFunction(timezone.now),
            signed_name=factory.LazyAttribute(lambda o: o.examiner.name),
        )

    visit = factory.SubFactory(VisitFactory)
    object = factory.SubFactory(ObjectFactory)
    examiner = factory.SelfAttribute("visit.person")
    location = factory.SelfAttribute("object.location")
    location_confirmed = True
    sheet_width_mm = 310.0
    sheet_height_mm = 225.0
    grade = "fair"


class PhotographFactory(DjangoModelFactory[Photograph]):
    class Meta:
        model = Photograph

    examination = factory.SubFactory(ExaminationFactory)
    light = "normal"
    sha256 = factory.Sequence(lambda n: hashlib.sha256(f"photograph {n}".encode()).hexdigest())
    size_bytes = 2_400_000
    content_type = "image/jpeg"
    file_name = factory.Sequence(lambda n: f"shot-{n}.jpg")
    width_px = 4000
    height_px = 3000


class TermFactory(DjangoModelFactory[Term]):
    """A term of the department's own; those of the data file are already there."""

    class Meta:
        model = Term
        django_get_or_create = ("code",)

    code = factory.Sequence(lambda n: f"own-term-{n}")
    group = Term.Group.SUPPORT_STRUCTURE
    name = factory.Sequence(lambda n: f"Own term {n}")
    definition = "Something this department looks for."
    lights = factory.LazyFunction(lambda: ["normal"])
    is_departmental = True


class ObservationFactory(DjangoModelFactory[Observation]):
    class Meta:
        model = Observation

    examination = factory.SubFactory(ExaminationFactory)
    term = factory.SubFactory(TermFactory)
    extent = Observation.Extent.SPOT
    severity = Observation.Severity.SLIGHT
    lights = factory.LazyFunction(lambda: ["normal"])


class MeasurementFactory(DjangoModelFactory[Measurement]):
    class Meta:
        model = Measurement

    examination = factory.SubFactory(ExaminationFactory)
    what = "Tear"
    value = 12.0
    uncertainty = 0.5


class WatermarkFactory(DjangoModelFactory[Watermark]):
    class Meta:
        model = Watermark

    examination = factory.SubFactory(ExaminationFactory)
    motif = "Crown"


class RecommendationFactory(DjangoModelFactory[Recommendation]):
    class Meta:
        model = Recommendation

    examination = factory.SubFactory(ExaminationFactory)
    kind_of_work = "treat"
    hours = 4.0


class AmendmentFactory(DjangoModelFactory[Amendment]):
    class Meta:
        model = Amendment

    examination = factory.SubFactory(ExaminationFactory, signed=True)
    reason = "A second look in better light."
    signed_name = factory.LazyAttribute(lambda o: o.examination.examiner.name)


class LoanFactory(DjangoModelFactory[Loan]):
    """Runs from last week to next month."""

    class Meta:
        model = Loan

    reference = factory.Sequence(lambda n: f"L.2026.{n}")
    title = factory.Sequence(lambda n: f"Ink and water {n}")
    lender = "Port Ellery Museum of Works on Paper"
    borrower = "Gallery of the Salt Quay"
    first_day = factory.LazyFunction(lambda: timezone.localdate() - timedelta(days=7))
    last_day = factory.LazyFunction(lambda: timezone.localdate() + timedelta(days=30))


class LoanedObjectFactory(DjangoModelFactory[LoanedObject]):
    class Meta:
        model = LoanedObject

    loan = factory.SubFactory(LoanFactory)
    object = factory.SubFactory(ObjectFactory)
    crate = "Crate 2"
    order = factory.Sequence(int)


class LoanCheckFactory(DjangoModelFactory[LoanCheck]):
    """Of a new loan and object, unless told which; nothing is signed yet."""

    class Meta:
        model = LoanCheck
        skip_postgeneration_save = True

    loan = factory.SubFactory(LoanFactory)
    examination = factory.SubFactory(ExaminationFactory, visit__purpose=Visit.Purpose.LOAN_CHECK)
    stage = LoanCheck.Stage.ARRIVAL

    @factory.post_generation
    def put_on_the_loan(check: Any, create: bool, extracted: Any, **_: Any) -> None:
        item = check.examination.object
        if not LoanedObject.objects.filter(loan=check.loan, object=item).exists():
            LoanedObjectFactory(loan=check.loan, object=item)


class PointCheckFactory(DjangoModelFactory[PointCheck]):
    class Meta:
        model = PointCheck

    loan_check = factory.SubFactory(LoanCheckFactory)
    observation = factory.SubFactory(ObservationFactory)
    answer = PointCheck.Answer.SAME


class ProposalFactory(DjangoModelFactory[TreatmentProposal]):
    """A draft that says all it must, but for its steps."""

    class Meta:
        model = TreatmentProposal

    object = factory.SelfAttribute("examination.object")
    examination = factory.SubFactory(ExaminationFactory, signed=True)
    aim = "To make the sheet safe to handle and to show."
    risks = "The ink may bleed; it is tested first and watched under the microscope."
    alternatives = "To leave it: the tear would run on when the sheet is handled."
    proposed_by = factory.SubFactory(PersonFactory)


class ProposalStepFactory(DjangoModelFactory[ProposalStep]):
    class Meta:
        model = ProposalStep

    proposal = factory.SubFactory(ProposalFactory)
    kind = "mend"
    what = "Mend the tear at the lower edge from the verso."
    material = "Wheat starch paste"
    concentration = "1 : 4 in deionised water"
    hours = 1.5
    order = factory.Sequence(int)


class TreatmentRecordFactory(DjangoModelFactory[TreatmentRecord]):
    """Of a treatment under way, begun two weeks ago."""

    class Meta:
        model = TreatmentRecord

    proposal = factory.SubFactory(ProposalFactory, state=TreatmentProposal.State.UNDER_WAY)
    begun_by = factory.SelfAttribute("proposal.proposed_by")
    begun_at = factory.LazyFunction(lambda: timezone.now() - timedelta(days=14))


class RecordStepFactory(DjangoModelFactory[RecordStep]):
    class Meta:
        model = RecordStep

    record = factory.SubFactory(TreatmentRecordFactory)
    kind = "mend"
    what = "Mended the tear at the lower edge."
    material = "Wheat starch paste"
    concentration = "1 : 4 in deionised water"
    hours = 1.25
    done_on = factory.LazyFunction(timezone.localdate)
    done_by = factory.SelfAttribute("record.begun_by")
    order = factory.Sequence(int)


class NeedFactory(DjangoModelFactory[Need]):
    class Meta:
        model = Need

    object = factory.SubFactory(ObjectFactory)
    kind = Need.Kind.EXHIBITION
    title = factory.Sequence(lambda n: f"Ink and water {n}")


def location_chain(*names: str) -> Location:
    """The last place of a chain of new ones, each standing within the one before it."""
    kinds = [kind for kind in Location.Kind if kind != Location.Kind.WALL]
    place: Any = None
    for kind, name in zip(kinds, names, strict=False):
        place, _ = Location.objects.get_or_create(parent=place, name=name, defaults={"kind": kind})
    return place


def examined(days_ago: int = 0, *, signed: bool = True, **values: Any) -> Examination:
    """An examination begun some days ago, signed unless told otherwise."""
    return ExaminationFactory(
        started_at=timezone.now() - timedelta(days=days_ago), signed=signed, **values
    )
