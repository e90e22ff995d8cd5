"""Each fault is put in behind the log's back, and must be told; without one, nothing is."""

from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from survey.catalogue.models import Object
from survey.catalogue.services import move_object
from survey.examination.models import Examination, Visit
from survey.sync import log, services
from survey.sync.care import records
from survey.sync.models import Change, Counter, FieldState, OpenQuestion
from tests.factories import LocationFactory, ObjectFactory, PersonFactory, VisitFactory
from tests.sync.wire import Tablet, two_tablets
from tests.tablets import WireTablet


def faults() -> list[str]:
    return list(records.faults(lambda count: None))


def test_it_finds_nothing_where_nothing_was_done(db: None) -> None:
    assert faults() == []


def test_it_agrees_with_what_tablets_the_desk_and_an_import_did(db: None) -> None:
    item = ObjectFactory()
    services.log_many("location", [item.location], None)
    services.log_many("object", [item], None)
    elsewhere = LocationFactory()
    services.log_many("location", [elsewhere], None)
    move_object(item, PersonFactory(), to_location=elsewhere)
    tablet = WireTablet()
    visit = tablet.made("visit", purpose="storage-round", name="Round")
    examination = tablet.made(
        "examination",
        visit=visit,
        object=str(item.pk),
        # The same moment and the same number, spelt otherwise than the server would.
        started_at="2026-03-03T10:00:00.120+01:00",
        sheet_width_mm="310.50",
    )
    gone = tablet.made("observation", examination=examination, term="foxing")
    tablet.push("observation", gone, deleted=True)
    tablet.push("observation", deleted=True)
    tablet.made("observation", examination=examination, term="foxing", nature="feature")
    tablet.push("examination", examination, signed_at="2026-03-03T11:00:00Z", signed_name="Ro")
    tablet.made("amendment", examination=examination, reason="Again", signed_name="Ro")
    assert tablet.refusal("examination", examination, notes="Too late")

    assert Examination.objects.get().signed_at is not None
    assert faults() == []


def test_it_agrees_with_open_and_settled_questions(db: None) -> None:
    first, second = two_tablets()
    first.push({"note": "dry"}, 1)
    second.push({"note": "damp"}, 2)
    assert faults() == []
    services.settle(OpenQuestion.objects.get(), "dry in parts", PersonFactory())
    assert faults() == []


def question() -> OpenQuestion:
    first, second = two_tablets()
    first.push({"note": "dry"}, 1)
    second.push({"note": "damp"}, 2)
    return OpenQuestion.objects.get()


def visit() -> Any:
    return Visit.objects.all()


def a_value() -> None:
    visit().update(name="Evening round")


def a_value_never_said() -> None:
    visit().update(place="Elsewhere")


def whose_it_is() -> None:
    visit().update(person=PersonFactory())


def a_revision() -> None:
    visit().update(revision=77)


def a_deletion() -> None:
    visit().update(deleted_at="2026-01-01T00:00:00Z")


def a_row_gone() -> None:
    visit().delete()


def a_row_nobody_logged() -> None:
    VisitFactory()


def a_change_gone() -> None:
    two_tablets()
    Change.objects.filter(number=1).delete()


def a_counter_ahead() -> None:
    Counter.objects.filter(name=log.CHANGES).update(value=9)


def a_clock_behind() -> None:
    Counter.objects.filter(name=log.CLOCK).update(value=9)


def a_refusal_with_a_number() -> None:
    Change.objects.create(number=2, outcome="refused", entity="visit", entity_id="x", at="x")
    Counter.objects.filter(name=log.CHANGES).update(value=2)


def an_application_without_a_number() -> None:
    Change.objects.create(outcome="applied", entity="visit", entity_id="x", fields={"name": "x"})


def a_question_gone() -> None:
    question().delete()


def a_question_turned_round() -> None:
    one = question()
    OpenQuestion.objects.update(shown=one.kept, kept=one.shown)


def a_state_gone() -> None:
    question()
    FieldState.objects.all().delete()


def an_outcome_altered() -> None:
    question()
    Change.objects.filter(outcome="question").update(outcome="applied")


def an_unknown_kind() -> None:
    Change.objects.filter(number=1).update(entity="parchment")


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        (a_value, '“name” is "Evening round", but change 1 says "Morning round"'),
        (a_value_never_said, '“place” is "Elsewhere", but the log leaves ""'),
        (whose_it_is, "“person” is"),
        (a_revision, "its revision is 77, but its last change is 1."),
        (a_deletion, "it is deleted, but the log does not say so."),
        (a_row_gone, "is in the change log, but not among the records."),
        (a_row_nobody_logged, "is among the records, but not in the change log."),
        (a_change_gone, "The change log has a gap: number 1 is missing."),
        (a_counter_ahead, "The counter of changes stands at 9, but the last change is 1."),
        (a_clock_behind, "clock stands behind"),
        (a_refusal_with_a_number, "“x”, which is no time"),
        (a_refusal_with_a_number, "was refused and yet has the number 2."),
        (an_application_without_a_number, "was applied and yet has no number"),
        (a_question_gone, "left a question about “note”, and it is gone."),
        (a_question_turned_round, "the question about “note” shows change 3, but change 4 stands"),
        (a_state_gone, "but no change is noted"),
        (an_outcome_altered, "opened question, but is noted as “applied”."),
        (an_unknown_kind, "a kind of record that is not kept here."),
    ],
)
def test_it_tells_a_fault_put_in_behind_the_log(
    db: None, fault: Callable[[], None], sentence: str
) -> None:
    Tablet().push({"purpose": "storage-round", "name": "Morning round"})
    assert faults() == []
    fault()
    assert [one for one in faults() if sentence in one], faults()


def test_it_names_the_object_whose_title_was_altered(db: None) -> None:
    item = ObjectFactory(accession_number="PE.1901.4")
    services.log_many("location", [item.location], None)
    services.log_many("object", [item], None)
    Object.objects.update(title="Something else")
    [fault] = faults()
    assert fault.startswith(f"Object {item.pk} (PE.1901.4 Something else): “title” is")


def signed_examination(tablet: WireTablet) -> tuple[str, str]:
    item = ObjectFactory()
    services.log_many("location", [item.location], None)
    services.log_many("object", [item], None)
    visit = tablet.made("visit", purpose="storage-round", name="Round")
    examination = tablet.made(
        "examination", visit=visit, object=str(item.pk), started_at="2026-03-03T10:00:00Z"
    )
    seen = tablet.made("observation", examination=examination, term="foxing")
    tablet.push("examination", examination, signed_at="2026-03-03T11:00:00Z", signed_name="Ro")
    Examination.objects.get(signed_name="Ro")
    return examination, seen


@pytest.mark.parametrize("part", ["examination", "observation", "new observation"])
def test_it_tells_of_a_change_after_the_signature_that_the_log_itself_has(
    db: None, part: str
) -> None:
    tablet = WireTablet()
    examination, seen = signed_examination(tablet)
    assert faults() == []
    # As if the server had let it through: put in the log and in the record alike.
    Examination.objects.update(signed_at=None)
    if part == "examination":
        tablet.push("examination", examination, notes="Changed my mind")
    elif part == "observation":
        tablet.push("observation", seen, severity="severe")
    else:
        tablet.made("observation", examination=examination, term="foxing", nature="feature")
    Examination.objects.update(signed_at="2026-03-03T11:00:00Z")
    [fault] = faults()
    assert "was signed by change 6, and change 7 altered" in fault


words = st.fixed_dictionaries(
    {},
    optional={
        "name": st.sampled_from(["Morning", "Evening"]),
        "note": st.sampled_from(["dry", "damp"]),
        "deleted": st.booleans(),
    },
)
steps = st.lists(
    st.tuples(st.integers(0, 2), words, st.floats(0, 20), st.booleans()), min_size=1, max_size=12
)


class ReplayTests(TestCase):
    @hypothesis_settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
    @given(steps=steps)
    def test_it_agrees_with_any_pushes_of_three_tablets_and_any_settlement(
        self, steps: list[tuple[int, dict[str, Any], float, bool]]
    ) -> None:
        first, second = two_tablets()
        third = Tablet(visit_id=first.visit_id)
        for who, fields, second_of, catches_up in steps:
            tablet = (first, second, third)[who]
            if catches_up:
                tablet.catch_up()
            tablet.push(fields, second_of)
            if catches_up and (open_one := OpenQuestion.objects.filter(settled_at=None).first()):
                kept = open_one.kept.fields.get(open_one.field, False)
                with suppress(services.Refused):
                    services.settle(open_one, kept, first.device.person)
        assert faults() == []
