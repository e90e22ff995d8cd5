"""The statement of a check says the same on the tablet and on the server."""

import hashlib
import json
import subprocess
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from survey import bootstrap
from survey.loans.models import LoanCheck, Signature
from survey.loans.stated import content_of, differences, statement_of
from survey.loans.statements import FIELDS, KIND, VERSION
from survey.sync import registry
from survey.sync.services import log_many
from tests.factories import (
    ExaminationFactory,
    LoanCheckFactory,
    LoanedObjectFactory,
    MeasurementFactory,
    ObservationFactory,
    PhotographFactory,
    PointCheckFactory,
)
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db

TABLET = Path(__file__).with_name("statement.mjs")
# Parents before what hangs on them.
PULLED = ["loan", "loaned_object", "object", "visit", "examination", "photograph", "observation",
          "measurement", "loan_check", "point_check"]  # fmt: skip


def tablet_says(**asked: Any) -> Any:
    """What the tablet's own modules answer."""
    told = subprocess.run(
        [str(bootstrap.VENV / "bin/node"), str(TABLET)],
        input=json.dumps(asked) + "\n",
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert told.returncode == 0, told.stderr
    return json.loads(told.stdout)


def log_all() -> None:
    """What factories made becomes known to the change log, so that it is pulled."""
    for name in PULLED:
        entity = registry.named(name)
        assert entity is not None
        log_many(name, list(entity.model._default_manager.order_by("pk")), None)


def known_state(**values: Any) -> Any:
    """A signed examination with what a statement can hold."""
    began = timezone.now() - timedelta(days=20)
    examination = ExaminationFactory(signed=True, started_at=began, notes="“Kühl”, 17 °C", **values)
    photograph = PhotographFactory(
        examination=examination, light="raking", azimuth_deg=290.0, caption="From the left"
    )
    for place, severity in enumerate(["slight", "severe"]):
        seen = ObservationFactory(
            examination=examination,
            term_id=["tear", "foxing"][place],
            severity=severity,
            lights=["raking", "normal"],
            mark={"photograph": str(photograph.pk), "x": 0.25, "y": 0.5},
            region={"kind": "polygon", "points": [[1.0, 2.5], [30.25, 2], [30, 40]]},
        )
        MeasurementFactory(examination=examination, observation=seen)
    return examination


def test_both_sides_say_the_same_fields_of_the_same_rows() -> None:
    check = checked()
    log_all()
    said = tablet_says(rows=WireTablet().pull(), check=str(check.pk))
    assert said["parts"] == {part: list(fields) for part, fields in FIELDS.items()}
    content = json.loads(said["statement"])
    assert (content["kind"], content["version"]) == (KIND, VERSION)


def test_rows_that_were_pulled_make_the_content_that_the_server_has() -> None:
    check = checked()
    log_all()
    said = tablet_says(rows=WireTablet().pull(), check=str(check.pk))["statement"]
    assert json.loads(said) == content_of(check)
    assert len(json.loads(said)["observations"]) == 2
    # The same but for 310 and 310.0: keys in order, nothing between them.
    assert said == json.dumps(
        json.loads(said), ensure_ascii=False, sort_keys=True, separators=(",", ":")
    )


@pytest.mark.parametrize("zone", ["UTC", "Australia/Adelaide"])
def test_the_server_s_own_zone_makes_no_difference(zone: str, settings: Any) -> None:
    settings.TIME_ZONE = zone
    check = checked()
    log_all()
    said = tablet_says(rows=WireTablet().pull(), check=str(check.pk))["statement"]
    assert json.loads(said) == json.loads(statement_of(check))


def test_what_a_tablet_signs_offline_is_what_the_server_then_holds() -> None:
    earlier = known_state()
    loaned = LoanedObjectFactory(object=earlier.object)
    log_all()
    slate = WireTablet()
    person = slate.device.person
    signed = tablet_says(
        rows=slate.pull(),
        person={"id": str(person.pk), "username": person.username, "name": person.name},
        device=str(slate.device.pk),
        object=str(earlier.object_id),
        loan=str(loaned.loan_id),
        earlier=str(earlier.pk),
    )
    results = slate.push_all(*signed["changes"])
    assert [one["reasons"] for one in results if one["outcome"] != "applied"] == []

    check = LoanCheck.objects.get(pk=signed["check"])
    assert check.statement == signed["statement"]
    assert json.loads(check.statement) == content_of(check)
    assert list(differences(check)) == []
    assert check.examination.signed_name == person.name
    sha256 = hashlib.sha256(check.statement.encode()).hexdigest()
    signatures = Signature.objects.filter(loan_check=check)
    assert {one.role: (one.sha256, one.strokes) for one in signatures} == {
        "courier": (sha256, [[[1, 2], [3, 4]]]),
        "receiver": (sha256, []),
    }


def checked() -> LoanCheck:
    """A check at the server with points answered."""
    earlier = known_state()
    examination = known_state(object=earlier.object)
    check = LoanCheckFactory(
        examination=examination, earlier=earlier, temperature_c=20.5, hours_acclimatised=26.0
    )
    copies = examination.observations.order_by("id")
    for known, now in zip(earlier.observations.order_by("id"), copies, strict=True):
        PointCheckFactory(loan_check=check, observation=known, now=now)
    return check
