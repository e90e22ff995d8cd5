"""The department's limits of light: what holds, whose it is, and who sets it."""

import pytest
from django.urls import reverse

from survey.loans.models import ExposureLimit
from tests.desk.conftest import text_of

pytestmark = pytest.mark.django_db

PATH = "desk:light-limits"
GIVEN = {"category": "medium", "lux": "45", "lux_hours_a_year": "90000", "reason": "Agreed in May"}


def test_the_published_limits_hold_at_first_and_name_their_source(desk):
    page = text_of(desk.get(reverse(PATH)))
    assert "Low 200 lx 600 000 lx·h The limit of CIE 157:2004" in page
    assert "Medium 50 lx 150 000 lx·h" in page and "High 50 lx 15 000 lx·h" in page
    assert "Irresponsive No limit No limit" in page
    assert "None set yet: those of CIE 157:2004 hold." in page
    assert "Number 8 Low 120 Mlx·h 1 100 Mlx·h" in page
    assert "Canadian Conservation Institute" in page and "from memory" in page


def test_the_head_sets_the_departments_own_and_every_version_is_kept(head_desk, head):
    for hours in ("90000", "80000"):
        answer = head_desk.post(reverse(PATH), GIVEN | {"lux_hours_a_year": hours})
        assert answer.status_code == 302
    page = text_of(head_desk.get(reverse(PATH)))
    assert "Medium 45 lx 80 000 lx·h The department’s own, set by Ottilie Crane on" in page
    assert page.count("Agreed in May") == 3
    assert ExposureLimit.objects.filter(set_by=head).count() == 2


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"lux": ""}, "Give a limit in lx: only the irresponsive category has none."),
        ({"lux_hours_a_year": "-1"}, "Give a limit above zero, in lx·h a year"),
        ({"reason": ""}, "Fill this in."),
    ],
)
def test_a_limit_that_cannot_hold_is_sent_back_with_a_sentence(head_desk, changes, sentence):
    answer = head_desk.post(reverse(PATH), GIVEN | changes)
    assert answer.status_code == 400
    assert sentence in text_of(answer)
    assert answer.context["form"]["category"].value() == "medium"
    assert not ExposureLimit.objects.exists()


def test_others_read_the_limits_and_set_none(desk, courier_desk):
    for client in (desk, courier_desk):
        assert "The head of department sets them." in text_of(client.get(reverse(PATH)))
        assert client.post(reverse(PATH), GIVEN).status_code == 403
    assert not ExposureLimit.objects.exists()


def test_the_page_costs_few_database_queries(desk, django_assert_max_num_queries):
    with django_assert_max_num_queries(4):
        desk.get(reverse(PATH))
