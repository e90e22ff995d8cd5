"""Reports over HTTP."""

from typing import Any
from unittest.mock import patch

import pytest

from survey.reports import pdf
from survey.reports.models import Report
from survey.sync.files import stored_path
from tests.factories import examined
from tests.reports.documents import made
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def post(tablet: WireTablet, data: Any) -> Any:
    return tablet.request("post", "/api/reports", data, "application/json")


def test_it_is_asked_for_looked_at_and_opened() -> None:
    tablet = WireTablet()
    examination = examined()
    answer = post(tablet, {"about": str(examination.pk)})
    assert answer.status_code == 202
    report = answer.json()
    assert (report["state"], report["asked_by_name"]) == ("done", tablet.device.person.name)
    path = f"/api/reports/{report['id']}"
    assert tablet.get(path).json() == report
    assert tablet.get(f"/api/reports?about={examination.pk}").json() == [report]
    shown = tablet.get(f"{path}/file")
    assert shown["Content-Type"] == "application/pdf"
    assert shown["Content-Disposition"].startswith("inline")
    content = b"".join(shown.streaming_content)
    assert content.startswith(b"%PDF-") and len(content) == report["size_bytes"]
    saved = tablet.get(f"{path}/file?download=1")["Content-Disposition"]
    assert saved.startswith("attachment")
    assert f"{examination.object.accession_number} examined" in saved


def test_what_this_server_lacks_is_said() -> None:
    with patch("survey.reports.pdf.lacking", return_value=pdf.NO_PANGO):
        answer = post(WireTablet(), {"about": str(examined().pk)})
    assert answer.status_code == 409
    assert answer.json()["detail"] == pdf.NO_PANGO


def test_a_report_that_is_not_there_is_said() -> None:
    tablet = WireTablet()
    report = made(examined())
    stored_path(report.sha256).unlink()
    answer = tablet.get(f"/api/reports/{report.pk}/file")
    assert answer.status_code == 404
    assert "Take it from a backup, or ask for a new report" in answer.json()["detail"]
    Report.objects.update(state=Report.State.WAITING)
    assert "not made yet" in tablet.get(f"/api/reports/{report.pk}/file").json()["detail"]


def test_nobody_reads_one_without_signing_in() -> None:
    report = made(examined())
    nobody = WireTablet().client.__class__()
    for path in ("", "/file"):
        assert nobody.get(f"/api/reports/{report.pk}{path}").status_code in (401, 403)
