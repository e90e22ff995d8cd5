"""A small museum with two loans, all of it in the change log, and a phone that holds a pass."""

import hashlib
import io
from dataclasses import dataclass, field
from typing import Any

from django.test import Client
from django.utils import timezone

from survey.access.models import LoanPass
from survey.catalogue.models import Object
from survey.examination.models import Examination, Observation, Photograph, Visit
from survey.loans import arranging
from survey.loans.models import Loan, LoanCheck, PointCheck, Signature
from survey.loans.stated import statement_of
from survey.loans.statements import sha256_of
from survey.sync.files import stored_path
from survey.sync.models import StoredFile, SyncedRow
from survey.sync.services import log_many, record_change
from tests.factories import (
    AmendmentFactory,
    LoanCheckFactory,
    LoanedObjectFactory,
    LoanFactory,
    MeasurementFactory,
    ObservationFactory,
    PersonFactory,
    PhotographFactory,
    PointCheckFactory,
    RecommendationFactory,
    VisitFactory,
    WatermarkFactory,
    examined,
)
from tests.imaging.pictures import ramp
from tests.tablets import WireTablet

# A line that somebody drew, in thousandths.
STROKES = [[[100, 200], [300, 240], [420, 180]]]
DEVICE_TOKEN = "d" * 43


@dataclass
class Phone:
    """A phone that opened a pass, and speaks to the interface with it."""

    held: LoanPass
    pass_token: str
    device_token: str = DEVICE_TOKEN
    tablet: WireTablet = field(init=False)

    def __post_init__(self) -> None:
        answer = opened(self.pass_token, self.device_token)
        assert answer.status_code == 200, answer.content
        self.held.refresh_from_db()
        assert self.held.device is not None
        self.tablet = WireTablet(self.held.device, answer.json()["token"])


def opened(pass_token: str, device_token: str = DEVICE_TOKEN, name: str = "Blue phone") -> Any:
    """The answer to a device that opens a pass."""
    return Client().post(
        "/api/passes/open",
        {"token": pass_token, "device_token": device_token, "device_name": name},
        "application/json",
    )


def phone_of(loan: Loan, device_token: str = DEVICE_TOKEN) -> Phone:
    made, token = arranging.give_pass(loan, "Tobias Fell", PersonFactory())
    return Phone(made, token, device_token)


@dataclass
class Lent:
    """An object on a loan with its last signed state, and all that hangs on it."""

    loan: Loan
    object: Object
    state: Examination
    observations: list[Observation]
    photograph: Photograph
    rows: list[tuple[str, SyncedRow]]


def lent(loan: Loan | None, days_ago: int = 20, observations: int = 2) -> Lent:
    """A signed examination of a new object, put on a loan unless there is none; all logged."""
    visit = VisitFactory(note="Drawers 3 to 5, with the other boxes.")
    state = examined(days_ago, visit=visit)
    seen = [ObservationFactory(examination=state) for _ in range(observations)]
    taken = stored_photograph(state)
    rows: list[tuple[str, SyncedRow]] = [
        ("location", state.object.location),
        ("object", state.object),
        ("visit", visit),
        ("examination", state),
        *(("observation", one) for one in seen),
        ("photograph", taken),
        ("measurement", MeasurementFactory(examination=state, observation=seen[0])),
        ("watermark", WatermarkFactory(examination=state)),
        ("recommendation", RecommendationFactory(examination=state)),
        ("amendment", AmendmentFactory(examination=state)),
    ]
    if loan is not None:
        rows.append(("loaned_object", LoanedObjectFactory(loan=loan, object=state.object)))
    for name, row in rows:
        log_many(name, [row], None)
    return Lent(loan, state.object, state, seen, taken, rows)  # type: ignore[arg-type]


def stored_photograph(state: Examination, **values: Any) -> Photograph:
    """A photograph whose file has arrived."""
    written = io.BytesIO()
    # Another picture for each, so that each has another SHA-256.
    picture = ramp(240, 180)
    picture.putpixel((0, 0), (Photograph.objects.count() % 250, 7, 7))
    picture.save(written, "PNG")
    content = written.getvalue()
    sha256 = hashlib.sha256(content).hexdigest()
    path = stored_path(sha256)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    StoredFile.objects.create(
        sha256=sha256, size_bytes=len(content), facts={"content_type": "image/png"}
    )
    made: Photograph = PhotographFactory(
        examination=state, sha256=sha256, size_bytes=len(content), content_type="image/png",
        width_px=240, height_px=180, **values,
    )  # fmt: skip
    return made


def new_loan(**values: Any) -> Loan:
    loan: Loan = LoanFactory(**values)
    log_many("loan", [loan], None)
    return loan


def check_of(
    one: Lent, stage: str = LoanCheck.Stage.ARRIVAL, *, answers: bool = True, **values: Any
) -> LoanCheck:
    """A check of an object against its state, not signed; its points answered unless told not."""
    visit = VisitFactory(purpose=Visit.Purpose.LOAN_CHECK)
    examination = examined(0, signed=False, visit=visit, object=one.object)
    check: LoanCheck = LoanCheckFactory(
        loan=one.loan, examination=examination, earlier=one.state, stage=stage, **values
    )
    log_many("visit", [visit], None)
    log_many("examination", [examination], None)
    log_many("loan_check", [check], None)
    if answers:
        for seen in one.observations:
            now = ObservationFactory(examination=examination, term=seen.term)
            point = PointCheckFactory(
                loan_check=check, observation=seen, answer=PointCheck.Answer.SAME, now=now
            )
            log_many("observation", [now], None)
            log_many("point_check", [point], None)
    return check


def signed(check: LoanCheck, *names: str) -> LoanCheck:
    """The check with its statement, its examination closed, and a signature for each name."""
    statement = statement_of(check)
    record_change("loan_check", check, {"statement": statement}, None)
    if not check.examination.is_signed:
        record_change(
            "examination",
            check.examination,
            {"signed_at": timezone.now(), "signed_name": (names or ("Wren Vale",))[0]},
            None,
        )
    roles = (Signature.Role.COURIER, Signature.Role.RECEIVER)
    for role, name in zip(roles, names or ("Wren Vale",), strict=False):
        record_change(
            "signature",
            None,
            {
                "loan_check": check,
                "role": role,
                "name": name,
                "of": "Gallery of the Salt Quay",
                "strokes": STROKES,
                "sha256": sha256_of(statement),
            },
            None,
        )
    check.refresh_from_db()
    return check
