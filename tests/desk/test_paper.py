"""The paper's page: figures with their uncertainty, lines drawn where they lie, corrections."""

import pytest
from django.urls import reverse

from survey.reading.models import Correction, Reading
from tests.desk.conftest import text_of
from tests.desk.readings import measured, paper, photographed, read

pytestmark = pytest.mark.django_db


def page_of(client, examination, **query):
    return client.get(reverse("desk:paper", args=[examination.pk]), query)


@pytest.fixture
def laid():
    examination = photographed("transmitted")
    return read(examination, "paper", result=paper(20.0, 45.0, 71.0))


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
    read(examination, "paper", result=paper(20.0, 71.0, 96.0))
    assert "A line between them is not seen" in text_of(page_of(desk, examination))


def test_what_was_read_stays_beside_the_correction(desk, laid, conservator):
    result = paper(20.0, 45.0, 71.0, laid_per_cm=measured(10.33, 0.14))
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
        read(examination, "paper", result=paper(*range(10, 300, 25)))
    with django_assert_max_num_queries(22):
        page_of(desk, examination)
