"""Asking for readings: by hand, and by the server itself once all is there."""

from collections.abc import Callable
from typing import Any
from unittest.mock import patch

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from survey.access.models import Person
from survey.demo.sheet.camera import Camera
from survey.reading import arrivals, kinds
from survey.reading.models import Reading
from survey.reading.services import CannotAsk, ask, ask_all, made_with
from tests.factories import PersonFactory
from tests.reading.sheets import RECIPE as SHEET
from tests.reading.sheets import arrived, examination, photographed, shot

pytestmark = pytest.mark.django_db
KindThat = Callable[[Any], None]


@pytest.fixture
def waiting() -> Any:
    """Readings are asked for, and nobody makes them."""
    with patch("survey.reading.services.enqueue") as enqueue:
        yield enqueue


def test_it_says_what_was_read_and_from_what(kind_that: KindThat) -> None:
    of, person = examination(), PersonFactory()
    used = photographed(of, "transmitted")
    reading = ask("paper", of, "recto", person)
    assert (reading.state, reading.progress) == ("done", 1.0)
    assert reading.result == {"lines": 7}
    assert reading.sentence == "Seven lines were counted."
    assert reading.photographs == [str(used.pk)]
    assert reading.asked_by == person
    assert reading.made_with == made_with("paper") == "Fieldleaf, paper 1"
    assert reading.done_at is not None


def test_the_same_is_asked_once_while_it_waits(kind_that: KindThat, waiting: Any) -> None:
    of = examination()
    photographed(of, "transmitted")
    first = ask("paper", of, "recto", None)
    assert ask("paper", of, "recto", PersonFactory()) == first
    Reading.objects.update(state=Reading.State.RUNNING)
    assert ask("paper", of, "recto", None) == first
    assert waiting.call_count == 1


def test_two_who_ask_in_the_same_moment_get_one_reading(kind_that: KindThat, waiting: Any) -> None:
    of = examination()
    photographed(of, "transmitted")
    first = ask("paper", of, "recto", None)
    with patch("survey.reading.services._open", side_effect=[None, first]):
        assert ask("paper", of, "recto", None) == first
    assert Reading.objects.count() == 1


def test_a_courier_may_not_ask(kind_that: KindThat) -> None:
    of = examination()
    photographed(of, "transmitted")
    with pytest.raises(PermissionDenied):
        ask("paper", of, "recto", PersonFactory(role=Person.Role.COURIER))


def test_it_says_what_is_missing(kind_that: KindThat) -> None:
    of = examination()
    with pytest.raises(CannotAsk, match="no photograph in transmitted light"):
        ask("paper", of, "recto", None)
    with pytest.raises(CannotAsk, match="There is no reading called “weather”"):
        ask("weather", of, "recto", None)
    photographed(of, "transmitted", placed=False)
    with pytest.raises(CannotAsk, match="set the sheet’s four corners on one of them"):
        ask("paper", of, "recto", None)
    with pytest.raises(CannotAsk, match="no photograph in transmitted light"):
        ask("paper", of, "verso", None)


def test_it_says_when_the_sheet_was_not_measured(kind_that: KindThat) -> None:
    of = examination()
    photographed(of, "transmitted")
    of.sheet_width_mm = of.object.width_mm = None
    with pytest.raises(CannotAsk, match="Measure the sheet’s width and height first"):
        ask("paper", of, "recto", None)


def test_it_says_when_photographs_have_not_arrived(kind_that: KindThat) -> None:
    of = examination()
    photographed(of, "transmitted", here=False)
    photographed(of, "normal")
    with pytest.raises(CannotAsk, match="1 of 2 photographs of this side have not arrived yet"):
        ask("paper", of, "recto", None)


def test_what_was_deleted_does_not_count(kind_that: KindThat) -> None:
    of = examination()
    gone = photographed(of, "transmitted")
    gone.deleted_at = timezone.now()
    gone.save()
    with pytest.raises(CannotAsk):
        ask("paper", of, "recto", None)


def test_a_photograph_that_lies_nowhere_yet_is_aligned_first(
    kind_that: KindThat, waiting: Any
) -> None:
    of = examination()
    photographed(of, "normal")
    photographed(of, "transmitted", placed=False)
    ask("paper", of, "recto", None)
    asked = Reading.objects.order_by("asked_at").values_list("kind", flat=True)
    assert list(asked) == ["align", "paper"]


def test_all_that_can_be_read_is_asked_for_once(kind_that: KindThat, waiting: Any) -> None:
    of = examination()
    photographed(of, "normal")
    photographed(of, "transmitted")
    asked = {(one.side, one.kind) for one in ask_all(of, None)}
    assert {("recto", "align"), ("recto", "paper")} <= asked
    assert all(side == "recto" for side, _ in asked)
    Reading.objects.update(state=Reading.State.DONE)
    assert ask_all(of, None) == []


def test_what_was_read_before_its_photograph_was_placed_anew_is_asked_for_again(
    kind_that: KindThat,
) -> None:
    of = examination()
    used = photographed(of, "transmitted")
    ask("paper", of, "recto", None)
    assert [one for one in ask_all(of, None) if one.kind == "paper"] == []
    used.homography = [0.3, 0, 0, 0, 0.3, 0, 0, 0, 1]
    used.save()
    assert [one.kind for one in ask_all(of, None) if one.kind == "paper"] == ["paper"]


def test_what_older_code_read_is_asked_for_again(kind_that: KindThat) -> None:
    of = examination()
    photographed(of, "transmitted")
    ask("paper", of, "recto", None)
    Reading.objects.update(made_with="Fieldleaf, paper 0")
    assert "paper" in [one.kind for one in ask_all(of, None)]


def signed_with(*, here: bool, placed: bool = True) -> Any:
    of = examination(signed=True)
    photographed(of, "transmitted", here=here, placed=placed)
    return of


def test_it_asks_by_itself_when_the_last_file_of_a_signed_examination_comes(
    kind_that: KindThat, waiting: Any, django_capture_on_commit_callbacks: Any
) -> None:
    of = signed_with(here=False)
    with django_capture_on_commit_callbacks(execute=True):
        arrivals.ask_when_complete(of)
    assert not Reading.objects.exists()
    content, _, _ = shot(SHEET, "transmitted", 0.0, "recto", Camera())
    with django_capture_on_commit_callbacks(execute=True):
        arrived(content)
    assert {one.kind for one in Reading.objects.all()} == {"paper", "watermark"}
    assert not Reading.objects.exclude(asked_by=None).exists()


def test_it_asks_by_itself_when_a_complete_examination_is_signed(
    kind_that: KindThat, waiting: Any, django_capture_on_commit_callbacks: Any
) -> None:
    of = examination()
    photographed(of, "transmitted")
    with django_capture_on_commit_callbacks(execute=True):
        of.save()
    assert not Reading.objects.exists()
    of.signed_at, of.signed_name = timezone.now(), "Wren Vale"
    with django_capture_on_commit_callbacks(execute=True):
        of.save()
    assert {one.kind for one in Reading.objects.all()} == {"paper", "watermark"}


def test_nothing_is_asked_while_nothing_says_how_the_photographs_lie(
    kind_that: KindThat, waiting: Any
) -> None:
    arrivals.ask_when_complete(signed_with(here=True, placed=False))
    assert not Reading.objects.exists()


def test_it_can_be_hushed(
    kind_that: KindThat, waiting: Any, django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks(execute=True), arrivals.hushed():
        signed_with(here=True)
    assert not Reading.objects.exists()


def test_a_fault_in_asking_never_fails_an_upload(
    kind_that: KindThat, django_capture_on_commit_callbacks: Any
) -> None:
    signed_with(here=False)
    content, _, _ = shot(SHEET, "transmitted", 0.0, "recto", Camera())
    with (
        patch("survey.reading.services.ask_all", side_effect=RuntimeError),
        django_capture_on_commit_callbacks(execute=True),
    ):
        arrived(content)


def test_every_kind_of_reading_has_a_module() -> None:
    assert set(kinds.KINDS) == set(Reading.Kind.values)
