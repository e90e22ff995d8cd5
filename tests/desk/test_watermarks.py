"""The watermark's page: its record, what may still be written, and amendments after signing."""

import pytest
from django.urls import reverse

from survey.examination.models import Amendment, Watermark
from survey.sync.models import Change
from tests.desk.conftest import text_of
from tests.factories import PhotographFactory, examined

pytestmark = pytest.mark.django_db


def mark_of(examination, **values):
    return Watermark.objects.create(
        examination=examination, **{"motif": "Bunch of grapes", "width_mm": 32.5, **values}
    )


def page_of(client, examination):
    return client.get(reverse("desk:watermark", args=[examination.pk]))


def sent(client, examination, mark, **values):
    """The form as the page shows it, with some fields filled in otherwise."""
    page = page_of(client, examination)
    shown = next(
        one for one in [*page.context["marks"], page.context["new"]] if one["mark"] == mark
    )
    form = shown["form"]
    fields = {form.add_prefix(name): form[name].value() for name in form.fields}
    fields = {name: "" if value is None else value for name, value in fields.items()}
    fields |= {form.add_prefix(name): value for name, value in values.items()}
    if mark:
        fields["watermark"] = mark.pk
    return client.post(reverse("desk:watermark-save", args=[examination.pk]), fields)


def test_a_watermark_is_recorded_and_the_record_is_in_the_log(desk, conservator):
    examination = examined(signed=False)
    assert "No watermark is recorded." in text_of(page_of(desk, examination))
    answer = sent(desk, examination, None, motif="Anchor in a circle", width_mm="28.5")
    assert answer.status_code == 302
    mark = Watermark.objects.get(examination=examination)
    assert (mark.motif, mark.width_mm) == ("Anchor in a circle", 28.5)
    change = Change.objects.get(entity="watermark", entity_id=str(mark.pk))
    assert change.person == conservator
    page = text_of(page_of(desk, examination))
    assert "Watermark: Anchor in a circle" in page and "28.5 mm ± 0.5 mm" in page


def test_only_what_was_touched_is_sent(desk):
    mark = mark_of(examined(signed=False))
    sent(desk, mark.examination, mark, letters="P M")
    change = Change.objects.get(entity="watermark", entity_id=str(mark.pk))
    assert change.fields == {"letters": "P M"}


def test_the_repertory_s_match_is_said_in_a_sentence(desk):
    mark = mark_of(
        examined(signed=False),
        match="variant",
        repertory="Tidewrack",
        repertory_number="1204",
        repertory_place="Brackwater",
        repertory_from_year=1762,
        repertory_to_year=1770,
    )
    page = text_of(page_of(desk, mark.examination))
    assert "A variant of Tidewrack, no. 1204 (Brackwater, 1762 to 1770)" in page


def test_a_signed_record_is_amended_field_by_field_and_stays(desk, conservator):
    mark = mark_of(examined())
    answer = sent(
        desk,
        mark.examination,
        mark,
        motif="Bunch of nine grapes",
        letters="P M",
        reason="Seen wet.",
    )
    assert answer.status_code == 302
    mark.refresh_from_db()
    assert (mark.motif, mark.letters) == ("Bunch of grapes", "")
    amended = {
        one.field: (one.before, one.after, one.signed_name)
        for one in Amendment.objects.filter(subject=f"watermark:{mark.pk}")
    }
    assert amended == {
        "motif": ("Bunch of grapes", "Bunch of nine grapes", conservator.name),
        "letters": ("", "P M", conservator.name),
    }
    page = text_of(page_of(desk, mark.examination))
    assert "Amended: Watermark: motif As signed Bunch of grapes" in page


def test_an_amendment_without_a_reason_is_not_taken_and_nothing_typed_is_lost(desk):
    mark = mark_of(examined())
    answer = sent(desk, mark.examination, mark, motif="Anchor", reason="")
    assert answer.status_code == 400
    assert 'value="Anchor"' in answer.content.decode()
    assert "Watermark: Bunch of grapes" in text_of(answer)
    assert not Amendment.objects.exists()


def test_a_watermark_seen_after_signing_is_told_in_words(desk):
    examination = examined()
    answer = sent(desk, examination, None, reason="An anchor, lower left, seen today.")
    assert answer.status_code == 302
    amendment = Amendment.objects.get(examination=examination)
    assert (amendment.subject, amendment.field) == ("examination", "")
    assert not Watermark.objects.exists()


def test_years_that_end_before_they_begin_are_told_beside_the_field(desk):
    mark = mark_of(examined(signed=False))
    answer = sent(
        desk, mark.examination, mark, repertory_from_year="1800", repertory_to_year="1750"
    )
    assert answer.status_code == 400
    assert "end before they begin" in text_of(answer)


def test_a_record_is_taken_away_while_unsigned_only(desk):
    mark = mark_of(examined(signed=False))
    address = reverse("desk:watermark-remove", args=[mark.examination.pk])
    desk.post(address, {"watermark": mark.pk})
    mark.refresh_from_db()
    assert mark.deleted_at is not None
    signed = mark_of(examined())
    address = reverse("desk:watermark-remove", args=[signed.examination.pk])
    desk.post(address, {"watermark": signed.pk})
    signed.refresh_from_db()
    assert signed.deleted_at is None


def test_a_courier_reads_the_record_and_cannot_write_in_it(courier_desk):
    mark = mark_of(examined(signed=False))
    page = page_of(courier_desk, mark.examination)
    assert "Bunch of grapes" in text_of(page)
    assert "Change the record" not in text_of(page)
    answer = courier_desk.post(
        reverse("desk:watermark-save", args=[mark.examination.pk]), {"watermark": mark.pk}
    )
    assert answer.status_code == 403


def test_the_page_costs_the_same_for_many_records(desk, django_assert_max_num_queries):
    examination = examined(signed=False)
    for _ in range(6):
        mark_of(examination)
        PhotographFactory(examination=examination, light="transmitted")
    with django_assert_max_num_queries(22):
        page_of(desk, examination)
