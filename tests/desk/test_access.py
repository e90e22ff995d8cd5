"""Who may see and do what at the desk."""

import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from survey.access.models import AuditEntry
from survey.desk import urls
from tests.desk.conftest import text_of
from tests.factories import (
    PASSWORD,
    ExaminationFactory,
    NeedFactory,
    ObjectFactory,
    PersonFactory,
    PhotographFactory,
    RecommendationFactory,
)

pytestmark = pytest.mark.django_db

OPEN_TO_ALL = {"sign-in", "sign-out", "look", "feed"}
ONLY_BY_FORM = {
    "absence-add",
    "absence-remove",
    "accept",
    "plan-make",
    "unpin",
    "act",
    "colour-target",
    "check-remove",
    "check-sign",
    "compare",
    "date-answer",
    "dismiss",
    "display-add",
    "display-remove",
    "done",
    "done-step-remove",
    "feed-make",
    "feed-revoke",
    "filter-drop",
    "filter-keep",
    "light-category",
    "loan-remove",
    "loaned-remove",
    "need-add",
    "need-remove",
    "observe",
    "paper-correct",
    "paper-note",
    "pass-make",
    "pass-withdraw",
    "photograph-back",
    "read",
    "readiness",
    "report",
    "revoke",
    "settle",
    "survey-hand-out",
    "survey-remove",
    "survey-take-back",
    "term-retired",
    "treatment-begin",
    "treatment-decide",
    "treatment-forward",
    "treatment-step-change",
    "watermark-remove",
    "watermark-save",
    "years-say",
    "years-compare",
}


def address(pattern: Any) -> str:
    """An address of the pattern, of a record that need not be there."""
    examples = {"uuid": uuid.uuid4(), "int": 1, "slug": "tear", "string": "token"}
    kinds = {
        name: converter.__class__.__name__ for name, converter in pattern.pattern.converters.items()
    }
    values = {
        name: examples[kind.removesuffix("Converter").lower()] for name, kind in kinds.items()
    }
    return reverse(f"desk:{pattern.name}", kwargs=values)


@pytest.mark.parametrize(
    "pattern",
    [one for one in urls.urlpatterns if one.name not in OPEN_TO_ALL],
    ids=lambda one: one.name,
)
def test_every_page_asks_for_a_sign_in(pattern):
    path = address(pattern)
    client = Client()
    answer = client.post(path) if pattern.name in ONLY_BY_FORM else client.get(path)
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("desk:sign-in"))


@pytest.mark.parametrize("name", sorted(ONLY_BY_FORM))
def test_what_changes_something_is_not_done_by_following_a_link(head_desk, name):
    pattern = next(one for one in urls.urlpatterns if one.name == name)
    assert head_desk.get(address(pattern)).status_code == 405


def test_signing_in_leads_to_the_page_that_was_asked_for():
    person = PersonFactory()
    client = Client()
    answer = client.post(
        reverse("desk:sign-in"),
        {"username": person.username, "password": PASSWORD, "next": reverse("desk:queue")},
    )
    assert answer["Location"] == reverse("desk:queue")
    assert client.get(reverse("desk:home")).status_code == 200


def test_a_wrong_password_gets_a_sentence_and_is_noted():
    person = PersonFactory()
    answer = Client().post(
        reverse("desk:sign-in"), {"username": person.username, "password": "wrong"}
    )
    assert "This name and password do not belong together. Try again." in text_of(answer)
    assert AuditEntry.objects.get().action == "sign-in refused"


def test_many_wrong_passwords_are_slowed_down():
    person = PersonFactory(username="slow-me-down")
    client = Client()
    wrong = {"username": person.username, "password": "wrong"}
    for _ in range(10):
        client.post(reverse("desk:sign-in"), wrong)
    answer = client.post(
        reverse("desk:sign-in"), {"username": person.username, "password": PASSWORD}
    )
    assert "Too many wrong sign-ins" in text_of(answer)


def test_signing_out_ends_the_session(desk):
    desk.post(reverse("desk:sign-out"))
    assert desk.get(reverse("desk:home")).status_code == 302


def test_a_form_does_not_lead_to_another_site(desk):
    answer = desk.post(reverse("desk:look"), {"look": "dim", "next": "https://elsewhere.example/"})
    assert answer["Location"] == reverse("desk:home")


def test_the_look_is_kept_in_a_cookie_and_is_there_at_the_first_paint(desk):
    assert 'data-look="light"' in desk.get(reverse("desk:home")).content.decode()
    desk.post(reverse("desk:look"), {"look": "dim", "next": "/queue"})
    assert 'data-look="dim"' in desk.get(reverse("desk:home")).content.decode()


@pytest.mark.parametrize(
    "name",
    ["home", "act-now", "queue", "queue-print", "queue-table", "queue-counts", "objects",
     "visits", "loans", "questions", "weights", "vocabulary", "devices", "tablet"],
)  # fmt: skip
def test_every_role_reads_every_page(head_desk, desk, courier_desk, name):
    for client in (head_desk, desk, courier_desk):
        assert client.get(reverse(f"desk:{name}")).status_code == 200


def test_every_role_reads_the_pages_of_one_record(head_desk, desk, courier_desk):
    photograph = PhotographFactory(examination=ExaminationFactory(signed=True))
    examination = photograph.examination
    pages = {
        "object": examination.object.pk,
        "label": examination.object.pk,
        "visit": examination.visit.pk,
        "examination": examination.pk,
        "photograph": photograph.pk,
    }
    for client in (head_desk, desk, courier_desk):
        for name, key in pages.items():
            assert client.get(reverse(f"desk:{name}", args=[key])).status_code == 200


@pytest.mark.parametrize("name", ["import", "object-edit", "object-move"])
def test_a_courier_does_not_change_the_catalogue(courier_desk, desk, name):
    args = [] if name == "import" else [ObjectFactory().pk]
    assert courier_desk.get(reverse(f"desk:{name}", args=args)).status_code == 403
    assert desk.get(reverse(f"desk:{name}", args=args)).status_code == 200


def test_a_courier_does_not_plan_work(courier_desk):
    work, need = RecommendationFactory(), NeedFactory()
    posts = {
        "readiness": work.pk,
        "done": work.pk,
        "need-add": need.object.pk,
        "need-remove": need.pk,
    }
    for name, key in posts.items():
        values = {"kind": "loan", "title": "Mine", "done": "yes", "space": "yes"}
        answer = courier_desk.post(reverse(f"desk:{name}", args=[key]), values)
        assert answer.status_code == 403, name
    assert "Conservators and the head of department plan the work." in text_of(answer)
    assert need.object.needs.count() == 1


def test_only_the_head_changes_weights_and_vocabulary(desk):
    assert desk.post(reverse("desk:weights"), {"risk": 1}).status_code == 403
    assert desk.get(reverse("desk:term-add")).status_code == 403
    assert desk.post(reverse("desk:term-retired", args=["tear"])).status_code == 403
