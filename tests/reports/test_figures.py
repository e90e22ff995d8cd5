"""Outlines, numbers and scale on a photograph, from sheet millimetres to its pixels."""

from typing import Any
from xml.etree import ElementTree

import pytest

from survey.examination.models import Examination
from survey.reading.models import Alignment, LaterPlacing
from survey.reading.queries import lies_of
from survey.reports.dossier import dossier_of
from survey.reports.figures import Figure, figures_of
from survey.reports.svg import svg_of
from tests.desk.readings import TENTH_MM, photographed
from tests.factories import ObservationFactory

pytestmark = pytest.mark.django_db

SHEET_MM = (310.0, 225.0)
CORNER = {"kind": "polygon", "points": [[10, 20], [60, 20], [60, 50]]}


def figures(examination: Examination) -> list[Figure]:
    dossier = dossier_of(examination)
    return figures_of(dossier.plates, dossier.observations, lies_of(examination), SHEET_MM)


def approx(points: list[tuple[float, float]]) -> Any:
    return tuple((pytest.approx(x), pytest.approx(y)) for x, y in points)


def placed(examination: Examination, **values: Any) -> None:
    examination.photographs.update(homography=TENTH_MM, **values)


def test_an_outline_lies_where_the_sheet_says() -> None:
    examination = photographed("normal")
    ObservationFactory(examination=examination, region=CORNER)
    [figure] = figures(examination)
    [shape] = figure.shapes
    assert shape.points == approx([(100, 200), (600, 200), (600, 500)])
    assert (shape.number, shape.is_behind, figure.is_placed) == (1, False, True)
    [label] = figure.labels
    assert label.text == "1" and label.y + label.height < 200


def test_the_other_side_shows_only_against_the_light_and_is_mirrored() -> None:
    examination = photographed("normal", "transmitted")
    placed(examination, side="verso")
    ObservationFactory(examination=examination, region=CORNER, side="recto")
    normal, transmitted = figures(examination)
    assert normal.shapes == ()
    [shape] = transmitted.shapes
    assert shape.points == approx([(3000, 200), (2500, 200), (2500, 500)])
    assert shape.is_behind
    drawn = ElementTree.fromstring(svg_of(transmitted)).iter("{http://www.w3.org/2000/svg}polygon")
    assert all(one.get("stroke-dasharray") for one in drawn)


def test_a_mark_shows_on_its_own_photograph_and_where_it_lies_on_others() -> None:
    examination = photographed("normal", "raking", "ultraviolet")
    normal, raking, _ = examination.photographs.order_by("taken_at")
    raking.homography = TENTH_MM
    raking.save()
    mark = {"photograph": str(normal.pk), "x": 0.5, "y": 0.2}
    ObservationFactory(examination=examination, mark=mark)
    first, second, unplaced = figures(examination)
    assert first.shapes[0].is_ring
    assert first.shapes[0].points == ((pytest.approx(1550), pytest.approx(450)),)
    assert second.shapes[0].points == ((pytest.approx(1550), pytest.approx(450)),)
    assert unplaced.shapes == () and unplaced.scale is None and not unplaced.is_placed


def test_a_mark_on_an_unplaced_photograph_still_shows_there() -> None:
    examination = photographed("normal", placed=False)
    key = str(examination.photographs.get().pk)
    ObservationFactory(examination=examination, mark={"photograph": key, "x": 0.5, "y": 0.5})
    [figure] = figures(examination)
    assert figure.shapes[0].points == ((1550, 1125),)


def test_the_scale_is_as_long_as_it_says() -> None:
    [figure] = figures(photographed("normal"))
    assert figure.scale is not None
    # Ten pixels to the millimetre, and at most two fifths of 3100 pixels.
    assert (figure.scale.mm, figure.scale.length) == (100, pytest.approx(1000))
    assert "100 mm" in svg_of(figure)


def test_numbers_of_places_close_together_share_one_label_within_the_picture() -> None:
    examination = photographed("normal")
    for left in (0, 1):
        points = [[left, 0], [left + 3, 0], [left + 3, 3]]
        region = {"kind": "polygon", "points": points}
        ObservationFactory(examination=examination, region=region)
    [figure] = figures(examination)
    [label] = figure.labels
    assert label.text == "1, 2"
    assert label.x >= 0 and label.y >= 0


def test_the_first_photograph_of_a_side_is_the_large_one() -> None:
    examination = photographed("normal", "raking")
    assert [one.is_wide for one in figures(examination)] == [True, False]
    examination.photographs.filter(light="raking").update(side="verso")
    assert [one.is_wide for one in figures(examination)] == [True, True]


def test_one_placed_by_a_scale_alone_has_a_scale_and_no_outlines() -> None:
    examination = photographed("normal", "raking", "transmitted")
    normal, raking, transmitted = examination.photographs.order_by("taken_at")
    raking.homography = TENTH_MM
    raking.save()
    # Set at the desk since it was signed, and another that was aligned to it.
    LaterPlacing.objects.create(
        photograph=normal,
        homography=TENTH_MM,
        placing={"kind": "scale"},
        person=examination.examiner,
    )
    Alignment.objects.create(
        photograph=transmitted, onto=normal, matrix=[1, 0, 0, 0, 1, 0, 0, 0, 1]
    )
    ObservationFactory(examination=examination, region=CORNER)
    mark = {"photograph": str(normal.pk), "x": 0.5, "y": 0.2}
    ObservationFactory(examination=examination, mark=mark)
    shown = {one.plate.photograph.pk: one for one in figures(examination)}
    assert [shape.is_ring for shape in shown[normal.pk].shapes] == [True]
    assert shown[transmitted.pk].shapes == ()
    assert all(shown[one.pk].scale and shown[one.pk].is_by_scale for one in (normal, transmitted))
    # A mark on it says nothing of where it lies on the others.
    assert [shape.is_ring for shape in shown[raking.pk].shapes] == [False]
    assert not shown[raking.pk].is_by_scale


def test_without_the_sheets_size_the_scale_is_that_of_the_pictures_middle() -> None:
    examination = photographed("normal")
    dossier = dossier_of(examination)
    [figure] = figures_of(dossier.plates, [], lies_of(examination), None)
    assert figure.scale is not None
    assert (figure.scale.mm, figure.scale.length) == (100, pytest.approx(1000))
