"""Making a report: how far it is, what goes wrong, and what is left when it is broken off."""

import sys
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from unittest.mock import patch

import pytest
from django.test import override_settings
from django_tasks_db.models import DBTaskResult

from survey.access.models import AuditEntry, Person
from survey.bootstrap import PANGO_LIBRARIES
from survey.examination.models import Examination
from survey.reading import progress, stopping, waiting
from survey.reading.tasks import read
from survey.reading.trouble import Stopped
from survey.reports import pdf, services
from survey.reports.kinds import KINDS
from survey.reports.models import Report
from survey.reports.standing import revision_of
from survey.reports.tasks import make
from tests.factories import AmendmentFactory, PersonFactory, examined
from tests.reports.documents import made, opened

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def not_stopping() -> Iterator[None]:
    yield
    stopping._asked.clear()


def waits() -> Report:
    """A report that nobody makes yet."""
    with patch("survey.reports.services.enqueue"):
        return services.ask(Report.Kind.EXAMINATION, examined(), PersonFactory())


def record_of(report: Report) -> Examination:
    return Examination.objects.get(pk=report.about)


def kind_of(**values: Any) -> Any:
    """Reports of examinations, made otherwise in some way."""
    return patch.dict(KINDS, {Report.Kind.EXAMINATION: replace(KINDS["examination"], **values)})


def ran(report: Report) -> Report:
    services.run(report)
    return Report.objects.get(pk=report.pk)


def fails(error: BaseException) -> Any:
    return patch("survey.reports.kinds.examination.content_of", side_effect=error)


@override_settings(TASKS={"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}})
def test_a_report_is_made_before_the_readings_that_wait() -> None:
    read.enqueue("a")
    make.enqueue("b")
    paths = [one.task_path for one in DBTaskResult.objects.ready()]
    assert paths == [make.module_path, read.module_path]


def test_asked_twice_while_it_waits_it_is_one() -> None:
    report = waits()
    with patch("survey.reports.services.enqueue") as queued:
        assert services.ask(report.kind, record_of(report), PersonFactory()).pk == report.pk
    assert not queued.called


def test_asked_in_the_same_moment_it_is_one() -> None:
    report = waits()
    with patch("survey.reports.services._open", side_effect=[None, report]):
        assert services.ask(report.kind, record_of(report), PersonFactory()) == report
    assert Report.objects.count() == 1


def test_who_asked_is_noted() -> None:
    courier = PersonFactory(role=Person.Role.COURIER)
    report = made(examined(), courier)
    entry = AuditEntry.objects.get(action="report asked for")
    assert entry.person == courier
    assert entry.subject == record_of(report).object.accession_number


def test_steps_are_told_while_it_is_made() -> None:
    told: list[tuple[float, str]] = []
    report = waits()
    say = progress.Progress.say

    def noted(self: progress.Progress, share: float, step: str) -> None:
        say(self, share, step)
        told.append((Report.objects.get().progress, Report.objects.get().step))

    with (
        patch.object(progress, "WRITTEN_EVERY_S", 0.0),
        patch.object(progress.Progress, "say", noted),
    ):
        assert ran(report).state == Report.State.DONE
    steps = [step for _, step in told]
    assert "Laying out the pages" in steps and steps[-1] == "Keeping the report"
    assert [share for share, _ in told] == sorted(share for share, _ in told)


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (ZeroDivisionError("by nought"), "The server failed on this report and noted the fault."),
        (OSError(28, "No space left on device"), "The disk failed (No space left on device)."),
    ],
)
def test_a_fault_is_noted_and_told_without_its_details(
    error: Exception, said: str, caplog: Any
) -> None:
    with fails(error):
        report = ran(waits())
    assert report.state == Report.State.FAILED
    assert said in report.sentence and "nought" not in report.sentence
    assert "met a fault" in caplog.text
    assert report.sha256 == ""


def test_told_to_end_it_waits_for_the_next_worker() -> None:
    report = waits()

    def told(*_: Any) -> None:
        stopping.ask()

    with kind_of(tells=told), pytest.raises(Stopped):
        services.run(report)
    report.refresh_from_db()
    assert (report.state, report.begun, report.progress) == (Report.State.WAITING, 0, 0.0)
    stopping.ask()
    make.func(str(report.pk))
    stopping._asked.clear()
    assert ran(report).state == Report.State.DONE


def test_the_library_stops_between_its_steps() -> None:
    def say(share: float, step: str) -> None:
        if step == "Laying out the pages":
            raise Stopped

    with pytest.raises(Stopped):
        pdf.render("<!doctype html><html lang=en><title>A</title><p>A", {}, say)


def test_a_killed_one_is_taken_up_and_given_up_after_three_times() -> None:
    report = waits()
    Report.objects.update(state=Report.State.RUNNING, begun=1)
    with patch("survey.reports.services.enqueue") as queued:
        assert "Reports that wait: 1." in waiting.take_up()
    assert queued.call_args.args == (report,)
    assert ran(report).state == Report.State.DONE
    Report.objects.update(state=Report.State.WAITING, begun=3)
    assert "The server stopped 3 times" in ran(report).sentence


def test_a_finished_one_is_left_alone() -> None:
    report = made(examined())
    with fails(AssertionError()):
        make.func(str(report.pk))
    assert ran(report).state == Report.State.DONE


def test_a_record_that_changes_meanwhile_is_gathered_anew() -> None:
    report = waits()
    numbers = iter([1, 2, 2, 2])
    with kind_of(revision=lambda _: next(numbers)):
        assert ran(report).revision == 2


def test_a_record_that_never_stands_still_is_told_of() -> None:
    report = waits()
    numbers = iter(range(99))
    with kind_of(revision=lambda _: next(numbers)):
        assert "being written in just now" in ran(report).sentence


def test_made_again_after_an_amendment_the_earlier_one_stays() -> None:
    examination = examined()
    first = made(examination)
    AmendmentFactory(examination=examination, reason="The mount was changed.", revision=7)
    second = made(examination)
    assert first.revision != revision_of(examination) == second.revision == 7
    assert "not amended" in first.tells and "with 1 amendment" in second.tells
    assert first.sha256 != second.sha256
    assert len(opened(first).pages) == first.pages


def test_without_pango_it_says_what_to_install() -> None:
    with (
        patch.dict(PANGO_LIBRARIES, {sys.platform: ("libnot-there.so.7",)}),
        pytest.raises(services.CannotAsk, match="apt-get install libpango"),
    ):
        services.ask(Report.Kind.EXAMINATION, examined(), PersonFactory())
    assert not Report.objects.exists()


def test_a_worker_without_pango_says_what_to_install() -> None:
    report = waits()

    class Absent:
        def find_spec(self, name: str, *_: Any) -> None:
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0.so.0'")

    kept = {name: one for name, one in sys.modules.items() if name.startswith("weasyprint")}
    with patch.dict(sys.modules), patch.object(sys, "meta_path", [Absent(), *sys.meta_path]):
        for name in kept:
            del sys.modules[name]
        report = ran(report)
    assert report.state == Report.State.FAILED
    assert report.sentence == pdf.NO_PANGO


def test_nothing_is_fetched_for_a_document() -> None:
    html = (
        "<!doctype html><html lang=en><title>A</title>"
        "<img alt=A src='file:///etc/hostname'><img alt=B src='http://127.0.0.1:9/b'>"
    )
    with patch("urllib.request.OpenerDirector.open", side_effect=AssertionError):
        written, pages = pdf.render(html, {}, lambda *_: None)
    assert pages == 1 and written.startswith(b"%PDF-1.7")
