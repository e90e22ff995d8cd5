"""Pages for what goes wrong, and text that tries to be more than text."""

import re

import pytest
from django.test import Client, RequestFactory
from django.urls import reverse
from django.views.defaults import server_error

from survey.sync.models import StoredFile
from tests.desk.conftest import text_of
from tests.factories import (
    AmendmentFactory,
    DeviceFactory,
    MoveFactory,
    NeedFactory,
    ObservationFactory,
    PhotographFactory,
    RecommendationFactory,
    TermFactory,
    examined,
)

pytestmark = pytest.mark.django_db

MARKUP = "<script>alert('x')</script>\"><b onload=x>"


def test_an_unknown_address_says_so_and_shows_a_way_on(desk):
    answer = desk.get("/nothing-here")
    assert answer.status_code == 404
    assert "Nothing is here" in text_of(answer)
    assert reverse("desk:objects") in answer.content.decode()


def test_an_unknown_address_without_a_sign_in_shows_nothing_of_the_museum():
    answer = Client().get("/nothing-here")
    assert answer.status_code == 404
    assert "Sign in to the desk" in text_of(answer)
    assert reverse("desk:queue") not in answer.content.decode()


def test_what_a_role_may_not_do_says_who_may(desk):
    answer = desk.get(reverse("desk:term-add"))
    assert answer.status_code == 403
    assert "Only the head of department changes the vocabulary." in text_of(answer)


def test_a_fault_on_the_server_says_what_to_do_and_needs_no_database():
    answer = server_error(RequestFactory().get("/"))
    assert answer.status_code == 500
    assert "A fault on the server" in text_of(answer)


def test_a_form_from_an_old_page_says_to_send_it_again(conservator):
    client = Client(enforce_csrf_checks=True)
    client.force_login(conservator)
    answer = client.post(reverse("desk:look"), {"look": "dim"})
    assert answer.status_code == 403
    assert "This form is too old" in text_of(answer)


def test_what_people_wrote_is_shown_as_text_on_every_page(head_desk, head):
    examination = examined(
        object__title=MARKUP,
        object__maker=MARKUP,
        object__accession_number=MARKUP[:40],
        object__off_site_place=MARKUP,
        object__location=None,
        notes=MARKUP,
        mount=MARKUP,
        visit__name=MARKUP,
        visit__note=MARKUP,
        visit__place=MARKUP,
        visit__person=head,
    )
    term = TermFactory(name=MARKUP, definition=MARKUP, source=MARKUP, hazards=["wet"])
    seen = ObservationFactory(examination=examination, term=term, note=MARKUP)
    RecommendationFactory(examination=examination, note=MARKUP)
    calm = RecommendationFactory(examination=examined(), note=MARKUP)
    NeedFactory(object=examination.object, title=MARKUP)
    MoveFactory(object=examination.object, note=MARKUP, to_place=MARKUP, to_location=None)
    AmendmentFactory(
        examination=examination, reason=MARKUP, signed_name=MARKUP,
        subject=f"observation:{seen.pk}", field="note", before=MARKUP, after=MARKUP,
    )  # fmt: skip
    photograph = PhotographFactory(examination=examination, caption=MARKUP, file_name=MARKUP)
    StoredFile.objects.create(sha256=photograph.sha256, size_bytes=1)
    DeviceFactory(person=head, name=MARKUP)
    head.first_name = MARKUP
    head.save()

    item = examination.object
    paths = [
        *(reverse(f"desk:{name}") for name in (
            "home", "act-now", "queue", "queue-print", "objects", "visits", "vocabulary",
            "devices", "weights", "questions",
        )),
        reverse("desk:queue") + "?text=<script>alert('x')</script>",
        reverse("desk:objects") + "?text=<script>alert('x')</script>",
        *(reverse(f"desk:{name}", args=[item.pk]) for name in (
            "object", "label", "object-edit", "object-move",
        )),
        reverse("desk:object", args=[calm.examination.object_id]),
        reverse("desk:examination", args=[examination.pk]),
        reverse("desk:visit", args=[examination.visit_id]),
        reverse("desk:photograph", args=[photograph.pk]),
    ]  # fmt: skip
    for path in paths:
        answer = head_desk.get(path)
        assert answer.status_code == 200, path
        page = answer.content.decode()
        assert "<script>alert" not in page, path
        assert not re.search(r"<b onload", page), path


def test_no_page_carries_inline_scripts_or_styles(head_desk):
    for name in ("home", "queue", "weights", "vocabulary", "tablet"):
        page = head_desk.get(reverse(f"desk:{name}")).content.decode()
        assert not re.search(r"<script(?![^>]*\bsrc=)", page)
        assert " style=" not in page and not re.search(r"\son\w+=", page)
