"""Making a reading: how far it is, what goes wrong, and what is left when it is broken off."""

from collections.abc import Callable, Iterator
from typing import Any
from unittest.mock import patch

import numpy as np
import pytest

from survey.imaging.opened import CannotRead
from survey.reading import progress, services, stopping
from survey.reading.kinds.job import Found, Job
from survey.reading.models import Reading
from survey.reading.tasks import read
from survey.reading.trouble import NotRead, Stopped
from survey.reading.work import MOST_BEGUN
from survey.sync.files import stored_path
from tests.factories import PersonFactory
from tests.reading.sheets import examination, photographed

pytestmark = pytest.mark.django_db
KindThat = Callable[[Any], None]


@pytest.fixture(autouse=True)
def not_stopping() -> Iterator[None]:
    yield
    stopping._asked.clear()


def waits() -> Reading:
    """A reading that nobody makes yet."""
    of = examination()
    photographed(of, "transmitted")
    with patch("survey.reading.services.enqueue"):
        return services.ask("paper", of, "recto", None)


def ran(reading: Reading) -> Reading:
    services.run(reading)
    return Reading.objects.get(pk=reading.pk)


def test_steps_are_told_while_it_runs(kind_that: KindThat) -> None:
    told: list[tuple[float, str]] = []

    def steps(job: Job) -> Found:
        for share, step in ((0.25, "Straightening"), (0.75, "Counting")):
            job.say(share, step)
            row = Reading.objects.get()
            assert row.state == Reading.State.RUNNING
            told.append((row.progress, row.step))
        return Found({}, "")

    kind_that(steps)
    with patch.object(progress, "WRITTEN_EVERY_S", 0.0):
        services.run(waits())
    assert told == [(0.25, "Straightening"), (0.75, "Counting")]


def test_steps_that_follow_quickly_are_not_all_written(
    kind_that: KindThat, django_assert_max_num_queries: Any
) -> None:
    def steps(job: Job) -> Found:
        with django_assert_max_num_queries(1):
            for number in range(50):
                job.say(number / 50, f"Step {number}")
        return Found({}, "")

    kind_that(steps)
    assert ran(waits()).state == Reading.State.DONE


@pytest.mark.parametrize("error", [NotRead("Too dark."), CannotRead("Too dark.")])
def test_a_trouble_is_told_in_its_sentence(kind_that: KindThat, error: Exception) -> None:
    def fails(job: Job) -> Found:
        raise error

    kind_that(fails)
    reading = ran(waits())
    assert (reading.state, reading.sentence) == ("failed", "Too dark.")
    assert reading.result is None and reading.done_at is not None


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (ZeroDivisionError("by nought"), "The server failed on this reading and noted the fault."),
        (OSError(28, "No space left on device"), "The disk failed (No space left on device)."),
        (MemoryError(), "too little memory"),
    ],
)
def test_a_fault_is_noted_and_told_without_its_details(
    kind_that: KindThat, error: Exception, said: str, caplog: Any
) -> None:
    def fails(job: Job) -> Found:
        raise error

    kind_that(fails)
    reading = ran(waits())
    assert reading.state == "failed"
    assert said in reading.sentence and "nought" not in reading.sentence
    assert "met a fault" in caplog.text


def test_a_photograph_whose_file_went_meanwhile_is_told_of(kind_that: KindThat) -> None:
    kind_that(lambda job: Found({}, str(job.opened(job.photographs[0]))))
    reading = waits()
    stored_path(reading.examination.photographs.get().sha256).unlink()
    assert "is not here any more" in ran(reading).sentence


def test_a_photograph_that_was_deleted_meanwhile_is_told_of(kind_that: KindThat) -> None:
    reading = waits()
    reading.examination.photographs.all().delete()
    assert ran(reading).sentence == "A photograph was deleted meanwhile. Ask again."


def test_it_is_made_once(kind_that: KindThat) -> None:
    made = []
    kind_that(lambda job: made.append(job) or Found({}, ""))
    reading = waits()
    key = str(reading.pk)
    read.call(key)
    read.call(key)
    assert len(made) == 1
    reading.delete()
    read.call(key)


def test_numbers_that_json_cannot_hold_are_left_out(kind_that: KindThat) -> None:
    kind_that(
        lambda job: Found({"u": float("nan"), "at": np.array([1.5, np.inf]), "n": np.int64(3)}, "")
    )
    assert ran(waits()).result == {"u": None, "at": [1.5, None], "n": 3}


def test_told_to_end_it_stops_at_the_next_step_and_waits(kind_that: KindThat) -> None:
    def steps(job: Job) -> Found:
        job.say(0.1, "First")
        stopping.ask()
        job.say(0.2, "Second")
        raise AssertionError("It went on.")

    kind_that(steps)
    reading = waits()
    with pytest.raises(Stopped):
        services.run(reading)
    reading.refresh_from_db()
    assert (reading.state, reading.begun, reading.progress) == ("waiting", 0, 0.0)


def test_what_a_killed_worker_was_at_is_taken_up_again(kind_that: KindThat) -> None:
    reading = waits()
    Reading.objects.update(state=Reading.State.RUNNING, begun=1, progress=0.4, step="Counting")
    assert services.take_up() == 1
    reading.refresh_from_db()
    assert (reading.state, reading.begun) == ("done", 2)


def test_a_reading_that_kills_the_worker_again_and_again_is_given_up(kind_that: KindThat) -> None:
    reading = waits()
    Reading.objects.update(state=Reading.State.RUNNING, begun=MOST_BEGUN)
    services.take_up()
    reading.refresh_from_db()
    assert reading.state == "failed"
    assert "The server stopped 3 times while it made this reading" in reading.sentence


def test_a_correction_stands_beside_what_was_read(kind_that: KindThat) -> None:
    reading, person = ran(waits()), PersonFactory()
    services.correct(reading, person, {"lines": 8}, "One is hidden by the mount.")
    services.correct(reading, person, {"seen": "twice"})
    reading = Reading.objects.get()
    assert reading.result == {"lines": 7}
    assert reading.stands == {"lines": 8, "seen": "twice"}
    assert [one.changes for one in reading.corrections.all()] == [{"seen": "twice"}, {"lines": 8}]


def test_nothing_is_corrected_before_it_was_read(kind_that: KindThat) -> None:
    with pytest.raises(services.CannotCorrect, match="wait until it was read"):
        services.correct(waits(), PersonFactory(), {"lines": 8})
