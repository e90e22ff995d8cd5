"""Sheets of one mould: ranked in words, and laid over each other by their chain lines."""

import numpy as np
import pytest
from django.urls import reverse

from survey.desk.overlaid import likelihood_in_words, onto_first
from survey.imaging import mould
from tests.desk.conftest import text_of
from tests.desk.readings import measured, paper, photographed, read

pytestmark = pytest.mark.django_db


def counted(*offsets_mm, **values):
    examination = photographed("transmitted", **values)
    photograph = examination.photographs.get()
    result = paper(*offsets_mm) | {"photograph": str(photograph.pk)}
    return read(examination, "paper", result=result)


def page_of(client, examination, **query):
    return client.get(reverse("desk:same-mould", args=[examination.pk]), query)


ONE = (20.0, 45.3, 71.1, 95.2, 121.4, 146.0)
# The same wires 13 mm further on the sheet, and quite others.
SAME = tuple(offset + 13 for offset in ONE)
# Fewer of them, and less exactly.
ALIKE = (20.0, 45.5, 71.1, 95.5)
OTHER = (20.0, 48.0, 76.1, 103.9, 132.0, 160.2)


def test_the_likeliest_sheet_comes_first_and_is_laid_over_this_one(desk):
    this = counted(*ONE)
    alike, same, other = counted(*ALIKE), counted(*SAME), counted(*OTHER)
    answer = page_of(desk, this.examination)
    page = text_of(answer)
    first = page.index(same.examination.object.title)
    assert first < page.index(alike.examination.object.title)
    assert other.examination.object.title not in page
    assert "likelier from one mould than from two picked at random" in page
    assert "Intervals agree within" in page
    drawn = answer.context["other"].lines
    assert [line[0] for line in drawn] == pytest.approx(ONE, abs=0.05)


def test_another_candidate_is_laid_over_on_demand(desk):
    this, same = counted(*ONE), counted(*SAME)
    alike = counted(*ALIKE)
    answer = page_of(desk, this.examination, sheet=alike.pk)
    assert answer.context["chosen"].reading == alike
    assert f"?sheet={same.pk}" in answer.content.decode()


def test_without_a_reading_of_the_paper_it_is_read_first(desk):
    assert "these are read first" in text_of(page_of(desk, photographed("transmitted")))


def test_alone_in_the_catalogue_it_says_so(desk):
    assert "No candidate." in text_of(page_of(desk, counted(*ONE).examination))


def test_the_page_costs_the_same_for_many_sheets(desk, django_assert_max_num_queries):
    this = counted(*ONE)
    for shift in range(8):
        counted(*(offset + shift for offset in ONE))
    with django_assert_max_num_queries(42):
        page_of(desk, this.examination)


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("along_sign", [1, -1])
def test_chain_lines_fall_where_the_overlap_says(sign, along_sign):
    mine = paper(*ONE) | {"chain_angle_deg": measured(2.0, 0.1)}
    other = paper(*ONE) | {"chain_angle_deg": measured(88.0, 0.1)}
    overlap = mould.Overlap(sign, 30.0, along_sign, None, False, False)
    matrix = onto_first(mine, other, overlap)
    angle = np.radians(88.0)
    # A point of the other sheet 40 mm along its chain lines' normal.
    point = matrix @ [40 * np.cos(angle), 40 * np.sin(angle), 1.0]
    across = np.cos(np.radians(2.0)) * point[0] + np.sin(np.radians(2.0)) * point[1]
    assert across == pytest.approx(sign * 40 + 30)
    assert np.linalg.det(matrix) == pytest.approx(sign * along_sign)


@pytest.mark.parametrize(
    ("log_ratio", "words"),
    [
        (0.1, "As likely from one mould as from two"),
        (np.log(40), "About 40 times likelier from one mould"),
        (-np.log(3), "About 3.0 times likelier from two moulds"),
        (40, "More than 1,000,000 times likelier from one mould"),
        (-400, "More than 1,000,000 times likelier from two moulds"),
    ],
)
def test_likelihood_is_said_in_words(log_ratio, words):
    assert likelihood_in_words(log_ratio).startswith(words)
