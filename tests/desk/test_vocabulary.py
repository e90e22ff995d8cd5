"""The vocabulary at the desk, and the department's own terms."""

import pytest
from django.urls import reverse

from survey.access.models import AuditEntry
from survey.vocabulary import queries
from survey.vocabulary.models import Term
from tests.desk.conftest import text_of

pytestmark = pytest.mark.django_db

NEW = {
    "group": "support-structure",
    "name": "Dog-eared corner",
    "definition": "A corner folded over by use.",
    "lights": ["raking"],
    "slight": "One corner.",
    "moderate": "Two corners.",
    "severe": "All corners, or fibres broken.",
}


def flat(words: str) -> str:
    return " ".join(words.split())


def test_every_light_term_caution_hazard_grade_and_kind_of_work_can_be_read(desk):
    page = text_of(desk.get(reverse("desk:vocabulary")))
    for light in queries.lights():
        for words in (light["name"], light["purpose"], *light["setup"], *light["shows"]):
            assert flat(words) in page
    for term in queries.terms():
        assert flat(term["name"]) in page
        assert flat(term["definition"]) in page
        for words in term["anchors"].values():
            assert flat(words) in page
    for caution in queries.cautions():
        for words in (*caution["text"], caution["defer"]):
            assert flat(words) in page
    for entry in queries.hazards():
        assert flat(entry["sentence"]) in page and flat(entry["action"]) in page
    for entry in (*queries.grades(), *queries.kinds_of_work()):
        assert flat(entry["definition"]) in page


def test_the_head_adds_a_term_of_the_departments_own(head_desk):
    answer = head_desk.post(reverse("desk:term-add"), NEW, follow=True)
    assert "“Dog-eared corner” is now in the vocabulary." in text_of(answer)
    term = Term.objects.get(code="dog-eared-corner")
    assert term.is_departmental
    assert term.anchors["severe"] == "All corners, or fibres broken."
    assert AuditEntry.objects.filter(action="term added").exists()


def test_a_term_that_cannot_be_added_says_why_beside_the_field_and_keeps_the_rest(head_desk):
    answer = head_desk.post(reverse("desk:term-add"), NEW | {"name": "Tear"})
    assert answer.status_code == 400
    assert answer.context["form"].errors["name"]
    assert "A corner folded over by use." in answer.content.decode()


def test_missing_anchors_are_told(head_desk):
    answer = head_desk.post(reverse("desk:term-add"), NEW | {"severe": ""})
    assert answer.status_code == 400
    assert "slight, moderate and severe" in text_of(answer)
    assert not Term.objects.filter(code="dog-eared-corner").exists()


def test_the_head_retires_a_term_and_offers_it_again(head_desk):
    path = reverse("desk:term-retired", args=["tear"])
    head_desk.post(path, {"retired": "yes"})
    assert Term.objects.get(code="tear").retired_at is not None
    assert "Retired: no longer offered" in text_of(head_desk.get(reverse("desk:vocabulary")))
    head_desk.post(path, {"retired": "no"})
    assert Term.objects.get(code="tear").retired_at is None


def test_others_read_without_buttons_to_change(desk):
    page = text_of(desk.get(reverse("desk:vocabulary")))
    assert "Retire " not in page and "Add a term" not in page


def test_the_page_costs_few_database_queries(desk, django_assert_max_num_queries):
    with django_assert_max_num_queries(5):
        desk.get(reverse("desk:vocabulary"))
