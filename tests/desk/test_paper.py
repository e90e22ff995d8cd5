"""The paper's page: figures with their uncertainty, lines drawn where they lie, corrections."""

import pytest
from django.urls import reverse

from survey.reading.models import Correction, Reading
from tests.desk.conftest import text_of
from tests.desk.readings import measured, paper, photographed, read

pytestmark = pytest.mark.django_db


def page_of(client, examination, **query):
    return client.get(reverse("desk:paper", args=[examination.pk]), query)


def counted(examination, *offsets_mm):
    photograph = examination.photographs.order_by("taken_at", "pk").first()
    result = paper(*offsets_mm) | {"photograph": str(photograph.pk)}
    return read(examination, "paper", result=result)


@pytest.fixture
def laid():
    examination = photographed("transmitted")
    return counted(examination, 20.0, 45.0, 71.0)


def test_figures_carry_unit_and_uncertainty(desk, laid):
    page = text_of(page_of(desk, laid.examination))
    assert "Laid lines in a centimetre 9.42 ± 0.03 lines" in page
    assert "Laid lines in 20 mm 18.84 ± 0.06 lines" in page
    assert "Between chain lines, mean 25.50 ± 0.08 mm" in page
    assert "1 and 2 25.00 mm ± 0.21 mm" in page and "2 and 3 26.00 mm ± 0.21 mm" in page


def test_lines_are_drawn_where_they_lie_on_the_photograph(desk, laid):
    page = page_of(desk, laid.examination).content.decode()
    assert 'viewBox="0 0 3100 2250"' in page
    assert 'class="core" x1="450" y1="0" x2="450" y2="2250"' in page


def test_an_interval_with_a_line_missing_says_so(desk):
    examination = photographed("transmitted")
    counted(examination, 20.0, 71.0, 96.0)
    assert "A line between them is not seen" in text_of(page_of(desk, examination))


def test_what_was_read_stays_beside_the_correction(desk, laid, conservator):
    result = laid.result | {"laid_per_cm": measured(10.33, 0.14)}
    Correction.objects.create(
        reading=laid, person=conservator, changes={}, result=result, reason="Counted by eye."
    )
    page = text_of(page_of(desk, laid.examination))
    assert "10.3 ± 0.1 lines As read: 9.42 ± 0.03 lines" in page
    assert f"Corrected by {conservator.name}" in page and "Counted by eye." in page
    assert page.count("As read:") == 1


def test_without_a_photograph_it_says_which_one_to_take_and_how(desk):
    page = text_of(page_of(desk, photographed("normal")))
    assert "cannot be read yet" in page and "transmitted light" in page


def test_a_reading_under_way_shows_how_far_it_is_and_can_be_looked_at_again(desk, laid):
    Reading.objects.filter(pk=laid.pk).update(
        state="running", progress=0.4, step="Counting laid lines"
    )
    answer = page_of(desk, laid.examination)
    assert "Being read. Counting laid lines" in text_of(answer)
    content = answer.content.decode()
    assert '<progress max="1" value="0.400"' in content
    assert reverse("api-reading", args=[laid.pk]) in content
    assert "Look again" in text_of(answer) and "Read again" not in text_of(answer)


def test_a_failed_reading_says_why(desk, laid):
    Reading.objects.filter(pk=laid.pk).update(state="failed", sentence="The disk failed.")
    assert "Not read. The disk failed." in text_of(page_of(desk, laid.examination))


def test_a_courier_sees_the_figures_and_no_controls(courier_desk, laid):
    page = text_of(page_of(courier_desk, laid.examination))
    assert "9.42 ± 0.03 lines" in page
    assert "Read again" not in page and "Save the chain lines" not in page
    answer = courier_desk.post(
        reverse("desk:paper-correct", args=[laid.examination.pk]), {"reading": laid.pk}
    )
    assert answer.status_code == 403


def test_the_page_costs_the_same_for_many_readings(desk, django_assert_max_num_queries):
    examination = photographed(*["transmitted"] * 6)
    for _ in range(5):
        counted(examination, *range(10, 300, 25))
    with django_assert_max_num_queries(23):
        page_of(desk, examination)


def correct(client, reading, what, **fields):
    given = {f"{what}-{name.replace('_', '-', 1)}": value for name, value in fields.items()}
    return client.post(
        reverse("desk:paper-correct", args=[reading.examination.pk]),
        {"what": what, "side": "recto", "reading": reading.pk, **given},
    )


def test_a_chain_line_is_taken_away_and_one_added(desk, laid):
    lines = {"chain_0": "20", "chain_1": "45", "away_1": "on", "chain_2": "71", "chain_3": "96,5"}
    assert correct(desk, laid, "chains", **lines).status_code == 302
    stands = Reading.objects.get(pk=laid.pk).stands
    assert [line["offset_mm"] for line in stands["chains"]] == [20, 71, 96.5]
    assert [line["by"] for line in stands["chains"]] == ["picture", "picture", "person"]
    page = text_of(page_of(desk, laid.examination))
    assert "Chain lines 3" in page and "25.50 mm" in page


def test_what_is_no_number_is_told_and_the_rest_is_not_lost(desk, laid):
    answer = correct(desk, laid, "chains", chain_0="20", chain_1="fourty", chain_2="71")
    assert answer.status_code == 400
    assert "“fourty” is not a number of millimetres." in text_of(answer)
    assert 'value="fourty"' in answer.content.decode()
    assert not Correction.objects.exists()


def test_two_chain_lines_in_one_place_are_refused_with_a_sentence(desk, laid):
    answer = correct(desk, laid, "chains", chain_0="20", chain_1="20.5")
    assert answer.status_code == 400
    assert "less than 1 mm apart" in text_of(answer)


def test_laid_lines_are_counted_by_eye(desk, laid, conservator):
    fields = {
        "what": "count",
        "reading": laid.pk,
        "count-laid_count": 31,
        "count-laid_over_mm": 30,
        "count-reason": "Under the glass.",
    }
    address = reverse("desk:paper-correct", args=[laid.examination.pk])
    assert desk.post(address, fields).status_code == 302
    correction = Correction.objects.get(reading=laid)
    assert (correction.person, correction.reason) == (conservator, "Under the glass.")
    page = text_of(page_of(desk, laid.examination))
    assert "As read: 9.42 ± 0.03 lines" in page and "10.3 ± 0.1 lines" in page


@pytest.mark.parametrize("make", ["wove", "not measurable"])
def test_a_person_says_what_the_paper_is_with_a_reason(desk, laid, make):
    address = reverse("desk:paper-correct", args=[laid.examination.pk])
    fields = {"what": "make", "reading": laid.pk, "make-make": make}
    refused = desk.post(address, fields)
    assert refused.status_code == 400 and "Fill this in." in text_of(refused)
    assert desk.post(address, fields | {"make-reason": "Seen at the bench."}).status_code == 302
    page = text_of(page_of(desk, laid.examination))
    assert f"Paper {make.capitalize()} As read: Laid" in page


def test_a_direction_that_rounds_to_nothing_has_no_sign(desk, laid):
    Reading.objects.update(result=laid.result | {"chain_angle_deg": measured(-0.004, 0.2)})
    page = text_of(page_of(desk, laid.examination))
    assert "0.0 ± 0.2°" in page and "−0.0" not in page
