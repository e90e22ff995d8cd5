"""How true a photograph's colours are: the target set by its corners, and what it tells."""

import pytest
from django.urls import reverse

from survey.reading.models import Reading
from tests.desk.conftest import text_of
from tests.desk.readings import colour, photographed, read

pytestmark = pytest.mark.django_db

CORRECTED = "c" * 64
CORNERS = [(100, 50), (900, 60), (905, 600), (95, 590)]


def page_of(client, examination, **query):
    return client.get(reverse("desk:colour", args=[examination.pk]), query)


def set_target(client, examination, corners=CORNERS, chart="port-ellery"):
    photograph = examination.photographs.get(light="normal")
    fields = {"photograph": photograph.pk, "side": "recto", "at-chart": chart}
    for number, corner in enumerate(corners):
        fields |= {f"at-{axis}{number}": value for axis, value in zip("xy", corner, strict=True)}
    return client.post(reverse("desk:colour-target", args=[examination.pk]), fields)


def test_before_and_after_are_told_with_unit_and_uncertainty(desk):
    examination = photographed("normal")
    photograph = examination.photographs.get()
    pictures = {"corrected": CORRECTED}
    read(examination, "colour", result=colour(photograph), pictures=pictures)
    answer = page_of(desk, examination)
    page = text_of(answer)
    assert "as photographed, mean 6.2 CIEDE2000" in page
    assert "Once corrected, mean 1.3 ± 0.2 CIEDE2000" in page
    assert "Exposure 0.31 ± 0.04 stops too light" in page
    assert "Red 12.0 1.9" in page and "White Burnt out or black, left out" in page
    content = answer.content.decode()
    assert reverse("api-reading-picture", args=[CORRECTED]) in content
    assert reverse("api-preview", args=[photograph.sha256]) in content


def test_the_target_is_named_and_its_corners_set(desk, conservator):
    examination = photographed("normal", placed=False)
    assert "Set the target" in text_of(page_of(desk, examination))
    assert set_target(desk, examination).status_code == 302
    reading = Reading.objects.get(examination=examination, kind="colour")
    photograph = examination.photographs.get()
    corners = [list(map(float, corner)) for corner in CORNERS]
    told = {"photograph": str(photograph.pk), "chart": "port-ellery", "corners": corners}
    assert (reading.given, reading.asked_by) == (told, conservator)
    content = page_of(desk, examination).content.decode()
    assert 'name="at-x1" value="900.0"' in content


def test_a_missing_corner_is_told_and_the_others_are_not_lost(desk):
    examination = photographed("normal")
    answer = set_target(desk, examination, CORNERS[:3])
    assert answer.status_code == 400
    assert "Fill this in." in text_of(answer)
    assert 'value="905"' in answer.content.decode()
    assert not Reading.objects.exists()


def test_without_normal_light_it_says_what_to_photograph(desk):
    page = text_of(page_of(desk, photographed("raking")))
    assert "Photograph the side in normal light with a colour target beside it" in page
    assert "Set the target" not in page


def test_a_courier_sets_no_target(courier_desk):
    examination = photographed("normal")
    assert "Set the target" not in text_of(page_of(courier_desk, examination))
    assert set_target(courier_desk, examination).status_code == 403


def test_the_page_costs_the_same_for_many_photographs(desk, django_assert_max_num_queries):
    examination = photographed(*["normal"] * 8)
    photograph = examination.photographs.first()
    for _ in range(4):
        read(examination, "colour", result=colour(photograph))
    with django_assert_max_num_queries(22):
        page_of(desk, examination)
