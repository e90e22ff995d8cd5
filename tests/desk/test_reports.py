"""Reports on an examination's page: asked for, followed, opened, and what they lack."""

from datetime import timedelta
from typing import Any
from unittest.mock import patch

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from survey.access.models import Person
from survey.examination.models import Examination
from survey.reports import pdf
from survey.reports.models import Report
from tests.desk.conftest import text_of
from tests.factories import AmendmentFactory, LoanCheckFactory, PersonFactory, examined

pytestmark = pytest.mark.django_db


def address(examination: Examination) -> str:
    return (
        f"{reverse('desk:examination', args=[examination.pk])}#reports-examination-{examination.pk}"
    )


def page_of(client: Client, examination: Examination) -> Any:
    return client.get(reverse("desk:examination", args=[examination.pk]))


def ask(client: Client, examination: Examination) -> Any:
    return client.post(
        reverse("desk:report", args=["examination", examination.pk]), {"next": address(examination)}
    )


def report(examination: Examination, **values: Any) -> Report:
    return Report.objects.create(
        about=examination.pk,
        asked_by=PersonFactory(first_name="Ines", last_name="Marchetti"),
        **{
            "state": Report.State.DONE,
            "done_at": timezone.now(),
            "pages": 4,
            "size_bytes": 120_000,
            "tells": "The record signed by Wren Halloway, not amended",
            "revision": 0,
            **values,
        },
    )


def test_a_report_is_asked_for_and_stands_on_the_page(desk: Client, conservator: Person) -> None:
    examination = examined()
    assert "Examination report (PDF)" in text_of(page_of(desk, examination))
    answer = ask(desk, examination)
    assert answer.url == address(examination)
    made = Report.objects.get()
    assert (made.state, made.asked_by) == (Report.State.DONE, conservator)
    page = page_of(desk, examination)
    assert f"Asked for by {conservator.name}." in text_of(page)
    assert "not amended" in text_of(page)
    file = reverse("api-report-file", args=[made.pk])
    assert f'href="{file}"' in page.content.decode()
    assert f'href="{file}?download=1"' in page.content.decode()
    assert b"".join(desk.get(file).streaming_content).startswith(b"%PDF-")


def test_a_courier_may_ask_too(courier_desk: Client) -> None:
    examination = examined()
    ask(courier_desk, examination)
    assert Report.objects.get().state == Report.State.DONE


def test_one_that_is_under_way_is_followed(desk: Client) -> None:
    examination = examined()
    one = report(examination, state=Report.State.RUNNING, step="Drawing the pages", progress=0.7)
    page = page_of(desk, examination)
    assert f'data-reading="{reverse("api-report", args=[one.pk])}"' in page.content.decode()
    assert "desk/progress.js" in page.content.decode()
    assert "Being made. Drawing the pages" in text_of(page)
    assert "Examination report (PDF)" not in text_of(page)


def test_one_that_nobody_takes_up_says_whom_to_ask(desk: Client) -> None:
    examination = examined()
    report(
        examination,
        state=Report.State.WAITING,
        asked_at=timezone.now() - timedelta(minutes=5),
    )
    assert "to start its worker" in text_of(page_of(desk, examination))


def test_why_one_was_not_made_is_said_and_it_can_be_asked_for_again(desk: Client) -> None:
    examination = examined()
    report(examination, state=Report.State.FAILED, sentence="The disk failed.")
    text = text_of(page_of(desk, examination))
    assert "Not made. The disk failed." in text and "Examination report (PDF)" in text


def test_one_from_before_an_amendment_says_so(desk: Client) -> None:
    examination = examined()
    report(examination)
    assert "changed or amended since" not in text_of(page_of(desk, examination))
    AmendmentFactory(examination=examination, revision=7)
    report(examination, revision=7)
    text = text_of(page_of(desk, examination))
    assert text.count("changed or amended since") == 1
    assert text.count("Asked for by Ines Marchetti.") == 2


def test_without_pango_the_page_says_what_to_install(desk: Client) -> None:
    examination = examined()
    report(examination)
    with patch("survey.reports.pdf.lacking", return_value=pdf.NO_PANGO):
        text = text_of(page_of(desk, examination))
        assert "apt-get install libpango-1.0-0" in text and "Examination report (PDF)" not in text
        # Those that were made before can still be opened.
        assert "Report of" in text
        assert pdf.NO_PANGO in text_of(desk.get(ask(desk, examination).url.partition("#")[0]))


def test_reports_of_a_deleted_examination_are_gone(desk: Client) -> None:
    examination = examined(deleted_at=timezone.now())
    one = report(examination)
    assert ask(desk, examination).status_code == 404
    assert desk.get(reverse("api-report", args=[one.pk])).status_code == 404


def test_many_reports_take_no_more_queries(
    desk: Client, django_assert_max_num_queries: Any
) -> None:
    examination = examined()
    report(examination)
    with django_assert_max_num_queries(100) as first:
        page_of(desk, examination)
    for _ in range(5):
        report(examination)
    with django_assert_max_num_queries(len(first)):
        page_of(desk, examination)


def test_a_loan_offers_a_report_of_each_stage_that_has_checks(desk: Client) -> None:
    check = LoanCheckFactory()
    page = reverse("desk:loan", args=[check.loan.pk])
    told = text_of(desk.get(page))
    assert "All arrival checks (PDF)" in told and "All return checks" not in told
    ask_for = reverse("desk:report", args=[Report.Kind.LOAN_ARRIVAL, check.loan.pk])
    assert desk.post(ask_for, {"next": page}).url == page
    told = text_of(desk.get(page))
    assert "Arrival checks of 1 of 1 object, 0 signed." in told


def test_a_kind_that_is_none_and_a_record_that_is_not_there_are_not_found(desk: Client) -> None:
    key = examined().pk
    assert desk.post(reverse("desk:report", args=["poem", key])).status_code == 404
    assert desk.post(reverse("desk:report", args=["loan-check", key])).status_code == 404
