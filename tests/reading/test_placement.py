"""How photographs lie on the sheet: placed, aligned, nudged, and set at the desk."""

import io
from typing import Any

import numpy as np
import pytest
from django.core.exceptions import PermissionDenied
from PIL import ExifTags, Image

from survey.access.models import Person
from survey.demo.sheet.camera import held_by_hand
from survey.demo.sheet.noise import stream
from survey.examination.models import Photograph
from survey.examination.shapes import check_placing
from survey.imaging.geometry import inverse, mapped
from survey.reading.models import Alignment, LaterPlacing
from survey.reading.queries import alignments_of, homography_of, lies_of
from survey.reading.services import CannotPlace, nudge, set_geometry
from survey.sync.models import Change
from tests.factories import PersonFactory, PhotographFactory
from tests.reading.sheets import RECIPE, arrived, examination, photographed, shot

pytestmark = pytest.mark.django_db

TO_MM = [0.1, 0, -2, 0, 0.1, -3, 0, 0, 1]
SHIFT = [1, 0, 40, 0, 1, -20, 0, 0, 1]


def pair(*, onto_placed: bool, own_placed: bool = False) -> tuple[Photograph, Photograph]:
    """(in raking light, the one in normal light on which it lies shifted)."""
    onto = PhotographFactory(homography=TO_MM if onto_placed else None)
    one = PhotographFactory(
        examination=onto.examination, light="raking", azimuth_deg=90,
        homography=[0.1, 0, 7, 0, 0.1, 7, 0, 0, 1] if own_placed else None,
    )  # fmt: skip
    Alignment.objects.create(photograph=one, onto=onto, matrix=SHIFT, residual_mm=0.3)
    return one, onto


def at(photograph: Photograph, x: float, y: float) -> Any:
    return pytest.approx(
        mapped(np.array(homography_of(photograph)).reshape(3, 3), [(x, y)])[0].tolist()
    )


def test_it_lies_where_it_was_placed() -> None:
    one, _ = pair(onto_placed=True, own_placed=True)
    assert at(one, 0, 0) == [7, 7]


def test_without_a_placing_it_lies_by_way_of_the_one_in_normal_light() -> None:
    one, _ = pair(onto_placed=True)
    assert at(one, 0, 0) == [0.1 * 40 - 2, 0.1 * -20 - 3]


def test_the_one_in_normal_light_lies_by_way_of_another_that_is_placed() -> None:
    one, onto = pair(onto_placed=False, own_placed=True)
    assert at(onto, 40, -20) == [7, 7]
    assert at(one, 0, 0) == [7, 7]


def test_nothing_says_how_it_lies_when_neither_is_placed() -> None:
    one, onto = pair(onto_placed=False)
    assert homography_of(one) is None and homography_of(onto) is None


def test_two_lights_are_laid_together_by_their_alignment_before_their_corners() -> None:
    one, _ = pair(onto_placed=True, own_placed=True)
    together = lies_of(one.examination, together=True)[one.pk]
    assert together.aligned
    assert mapped(together.matrix, [(0, 0)])[0].tolist() == pytest.approx([2, -5])


def test_uncertainties_of_placing_and_alignment_add_up() -> None:
    one, onto = pair(onto_placed=True)
    onto.placing = {"uncertainty_mm": 0.4}
    onto.save()
    assert lies_of(one.examination)[one.pk].uncertainty_mm == pytest.approx(0.5)


def test_what_an_examination_knows_is_read_in_three_queries(
    django_assert_num_queries: Any,
) -> None:
    one, onto = pair(onto_placed=True)
    for _ in range(4):
        PhotographFactory(examination=onto.examination, homography=TO_MM)
    with django_assert_num_queries(3):
        assert len(lies_of(one.examination)) == 6


@pytest.mark.parametrize(
    ("start", "end"),
    [
        ([[100, 100]], [[150, 90]]),
        ([[100, 100], [300, 100]], [[150, 90], [352, 93]]),
        ([[100, 100], [300, 100], [100, 250]], [[150, 90], [352, 93], [147, 240]]),
        (
            [[100, 100], [300, 100], [300, 250], [100, 250]],
            [[150, 90], [352, 93], [349, 244], [147, 240]],
        ),
    ],
)
def test_a_nudge_puts_points_on_points(start: Any, end: Any) -> None:
    one, onto = pair(onto_placed=True)
    person = PersonFactory()
    moved = nudge(one, start, end, person)
    there = mapped(np.array(moved.matrix).reshape(3, 3), start)
    assert there == pytest.approx(np.array(end, dtype=float), abs=1e-3)
    assert (moved.nudged_by, moved.residual_mm) == (person, None)
    assert [row.photograph for row in alignments_of(onto.examination)] == [one]


def test_one_point_only_shifts_what_stands() -> None:
    one, _ = pair(onto_placed=True)
    moved = nudge(one, [[0, 0]], [[50, -20]], PersonFactory())
    assert moved.matrix == pytest.approx([1, 0, 50, 0, 1, -20, 0, 0, 1])


def test_a_first_nudge_begins_with_both_frames_alike() -> None:
    onto = PhotographFactory()
    one = PhotographFactory(
        examination=onto.examination, light="ultraviolet", width_px=2000, height_px=1500
    )
    moved = nudge(one, [[1000, 750]], [[2010, 1500]], PersonFactory())
    assert moved.matrix == pytest.approx([2, 0, 10, 0, 2, 0, 0, 0, 1])


@pytest.mark.parametrize(
    ("start", "end", "said"),
    [
        ([], [], "Give 1 to 20 points"),
        ([[1, 1]], [[1, 1], [2, 2]], "Give 1 to 20 points"),
        ([[1, float("nan")]], [[1, 1]], "outside of the photograph"),
        ([[1, 1], [1, 1]], [[1, 1], [9, 9]], "Set them farther apart"),
        ([[1, 1], [2, 2], [3, 3]], [[1, 1], [2, 2], [3, 3]], "on one line"),
        ([[1, 1]] * 4, [[1, 1]] * 4, "on one line or on each other"),
    ],
)
def test_it_refuses_points_that_move_nothing_soundly(start: Any, end: Any, said: str) -> None:
    one, _ = pair(onto_placed=True)
    with pytest.raises(CannotPlace, match=said):
        nudge(one, start, end, PersonFactory())
    assert Alignment.objects.get().matrix == SHIFT


def test_it_needs_a_photograph_in_normal_light_to_lie_on() -> None:
    with pytest.raises(CannotPlace, match="no other photograph in normal light"):
        nudge(PhotographFactory(), [[1, 1]], [[2, 2]], PersonFactory())


def tapped(photograph: Photograph, camera: Any) -> list[list[float]]:
    """The true corners of the sheet in the picture."""
    _, _, homography = shot(RECIPE, "normal", 0.0, "recto", camera)
    w, h = RECIPE.width_mm, RECIPE.height_mm
    to_px = inverse(np.array(homography).reshape(3, 3))
    return mapped(to_px, [(0, 0), (w, 0), (w, h), (0, h)]).tolist()


def test_corners_set_at_the_desk_go_through_the_log() -> None:
    camera = held_by_hand(stream(7, "hands"), tilt=0.014)
    one = photographed(examination(), camera=camera, placed=False)
    person = PersonFactory()
    set_geometry(one, person, corners=tapped(one, camera))
    one.refresh_from_db()
    truth = shot(RECIPE, "normal", 0.0, "recto", camera)[2]
    middle = [(one.width_px / 2, one.height_px / 2)]
    assert mapped(np.array(one.homography).reshape(3, 3), middle) == pytest.approx(
        mapped(np.array(truth).reshape(3, 3), middle), abs=0.01
    )
    assert check_placing(one.placing) == one.placing
    change = Change.objects.get(entity="photograph", entity_id=str(one.pk))
    assert (change.person, set(change.fields)) == (person, {"homography", "placing"})
    assert homography_of(one) == one.homography


def test_corners_are_those_of_the_picture_turned_upright() -> None:
    picture = io.BytesIO()
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    Image.new("RGB", (400, 300), "grey").save(picture, "JPEG", exif=exif)
    one = PhotographFactory(
        examination=examination(), sha256=arrived(picture.getvalue()), width_px=400, height_px=300
    )
    set_geometry(one, PersonFactory(), corners=[[10, 10], [290, 10], [290, 390], [10, 390]])
    with pytest.raises(CannotPlace, match="outside the picture"):
        set_geometry(one, PersonFactory(), corners=[[10, 10], [390, 10], [390, 290], [10, 290]])


def test_a_scale_tells_the_size_alone() -> None:
    one = photographed(examination(), placed=False)
    set_geometry(one, PersonFactory(), scale=[[100, 400], [350, 400]], length_mm=50)
    one.refresh_from_db()
    assert one.homography is not None and one.homography[0] == pytest.approx(0.2)
    assert one.placing is not None and one.placing["kind"] == "scale"


def test_a_signed_examination_keeps_its_own_placing_and_the_later_one_counts() -> None:
    one = photographed(examination(signed=True))
    before = one.homography
    corners = [[50, 50], [650, 52], [648, 551], [49, 549]]
    placed = set_geometry(one, PersonFactory(), corners=corners)
    one.refresh_from_db()
    assert one.homography == before and one.placing is None
    assert not Change.objects.filter(entity="photograph").exists()
    assert homography_of(one) == placed == LaterPlacing.objects.get().homography
    again = set_geometry(one, PersonFactory(), corners=[[55, 50], *corners[1:]])
    assert homography_of(one) == again != placed


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({}, "Give the four corners, or the two ends of a scale"),
        ({"scale": [[0, 0], [1, 0]]}, "Give the four corners, or the two ends of a scale"),
        ({"corners": [[0, 0]]}, "Tap the four corners"),
        ({"corners": [[1, 1], [600, 500], [600, 1], [1, 500]]}, "corner"),
        ({"corners": [[1, 1], [90_000, 1], [90_000, 500], [1, 500]]}, "outside the picture"),
        ({"scale": [[9, 9], [9, 9]], "length_mm": 50}, "end"),
    ],
)
def test_it_refuses_points_that_place_nothing(told: Any, said: str) -> None:
    one = photographed(examination(), placed=False)
    with pytest.raises(CannotPlace, match=said):
        set_geometry(one, PersonFactory(), **told)
    one.refresh_from_db()
    assert one.homography is None


def test_corners_need_the_size_of_the_sheet() -> None:
    one = photographed(examination(), placed=False)
    one.examination.sheet_width_mm = one.examination.object.width_mm = None
    with pytest.raises(CannotPlace, match="Measure the sheet’s width and height first"):
        set_geometry(one, PersonFactory(), corners=[[1, 1], [600, 1], [600, 500], [1, 500]])


def test_a_courier_places_nothing() -> None:
    one, courier = PhotographFactory(), PersonFactory(role=Person.Role.COURIER)
    with pytest.raises(PermissionDenied):
        set_geometry(one, courier, corners=[[1, 1], [600, 1], [600, 500], [1, 500]])
    with pytest.raises(PermissionDenied):
        nudge(one, [[1, 1]], [[2, 2]], courier)
