"""Questions about an object's date, a person's answers, and what they know of the paper."""

import pytest
from django.urls import reverse

from survey.reading.models import DateAnswer, PaperNote
from tests.desk.conftest import text_of
from tests.factories import ObjectFactory, examined

pytestmark = pytest.mark.django_db


@pytest.fixture
def early():
    """An examination of an object that is dated long before machines made paper."""
    return examined(
        object=ObjectFactory(
            date_text="about 1640", earliest_year=1635, latest_year=1645, support="Paper"
        )
    )


def page_of(client, examination):
    return client.get(reverse("desk:date", args=[examination.pk]))


def say(client, examination, **known):
    return client.post(reverse("desk:paper-note", args=[examination.pk]), known)


def answer(client, examination, rule, **given):
    return client.post(reverse("desk:date-answer", args=[examination.pk]), {"rule": rule, **given})


def asked(client, examination):
    return page_of(client, examination).context["questions"][0]["question"]


def test_what_a_conservator_knows_raises_a_question_with_its_evidence(desk, early, conservator):
    assert "No question." in text_of(page_of(desk, early))
    assert say(desk, early, machine_made="yes", note="Seen edge on.").status_code == 302
    note = PaperNote.objects.get(object=early.object)
    assert (note.machine_made, note.person) == ("yes", conservator)
    question = asked(desk, early)
    page = text_of(page_of(desk, early))
    for said in (question.question, question.rule.why, question.rule.source, *question.evidence):
        assert said in page
    assert "about 1640" in page and question.agreeing in page


def test_an_answer_is_kept_with_who_gave_it_and_why(desk, early, conservator):
    say(desk, early, machine_made="yes")
    rule = asked(desk, early).rule.code
    assert answer(desk, early, rule, answer="agrees", reason="Lined since.").status_code == 302
    page = text_of(page_of(desk, early))
    assert f"The date agrees. Lined since. {conservator.name}" in page
    assert DateAnswer.objects.get().person == conservator


def test_that_a_date_does_not_agree_wants_a_reason_and_nothing_typed_is_lost(desk, early):
    say(desk, early, machine_made="yes")
    rule = asked(desk, early).rule.code
    refused = answer(desk, early, rule, answer="does-not", reason="")
    assert refused.status_code == 400
    assert "Say in a few words what speaks against the date." in text_of(refused)
    refused = answer(desk, early, rule, answer="never", reason="It cannot be.")
    assert refused.status_code == 400 and 'value="It cannot be."' in refused.content.decode()
    assert not DateAnswer.objects.exists()


def test_an_answer_to_other_evidence_says_so(desk, early):
    say(desk, early, machine_made="yes")
    rule = asked(desk, early).rule.code
    answer(desk, early, rule, answer="agrees", reason="")
    DateAnswer.objects.update(evidence="Something else.")
    assert "The evidence reads otherwise since" in text_of(page_of(desk, early))


def test_an_undated_object_is_asked_nothing(desk):
    item = ObjectFactory(date_text="", earliest_year=None, latest_year=None)
    page = text_of(page_of(desk, examined(object=item)))
    assert "The catalogue gives no years for this object" in page


def test_a_courier_reads_and_answers_nothing(courier_desk, early):
    page = page_of(courier_desk, early)
    assert "Save what you know" not in text_of(page)
    assert say(courier_desk, early, machine_made="yes").status_code == 403
    assert answer(courier_desk, early, "x", answer="open").status_code == 403


def test_the_page_costs_a_fixed_number_of_queries(desk, early, django_assert_max_num_queries):
    say(desk, early, machine_made="yes", furnish="mechanical-wood", brightener_seen="yes")
    with django_assert_max_num_queries(20):
        page_of(desk, early)
