"""The pages of surveys: design, walk, figures, and what is said of slips."""

import csv
import re
from typing import Any
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.urls import reverse

from survey.access.models import Person
from survey.collection.estimates import Estimate, Sureness
from survey.collection.models import CollectionSurvey
from survey.collection.queries import Plan
from survey.collection.results import Cell, results_of
from survey.collection.services import draw_survey, hand_out
from survey.desk import survey_plots, survey_words
from survey.desk.survey_table import csv_of
from survey.examination.models import Visit
from tests.collection.store import examine, handed_out, small_store
from tests.desk.conftest import text_of
from tests.factories import PersonFactory

pytestmark = pytest.mark.django_db

ASKED = {
    "name": "The two rooms",
    "branch": "",
    "studio": "",
    "divided_by": "room",
    "margin_points": "20",
    "number": "",
    "expected_percent": "50",
    "confidence_percent": "95",
    "minutes_an_object": "15",
    "objects_a_box": "4",
}


def survey_by(person: Person, **plan: Any) -> CollectionSurvey:
    small_store()
    asked: dict[str, Any] = {"divided_by": "room", "margin_points": None, "number": 12}
    return draw_survey(Plan(**(asked | plan)), name="The two rooms", person=person, seed=7)


@pytest.fixture
def walked(conservator: Person) -> CollectionSurvey:
    """Twelve drawn: ten examined, one missing, one not yet."""
    survey = survey_by(conservator, objects_a_box=4)
    hand_out(survey, person=conservator, to=conservator, number=12)
    places = handed_out(survey)
    for number, place in enumerate(places[:10]):
        examine(
            place,
            grade="poor" if number % 3 else "good",
            damage=("tear",) if number % 2 else (),
            features=("plate-mark",),
            work=(("rehouse", 1.5),) if number % 4 == 0 else (),
        )
    stop = places[10].stop
    assert stop is not None
    stop.missing = "Not in its drawer."
    stop.save()
    return survey


def test_the_list_is_reached_from_every_page_and_leads_to_the_design(desk: Client) -> None:
    page = desk.get(reverse("desk:surveys"))
    assert "No survey yet." in text_of(page)
    assert 'href="/surveys/design"' in page.content.decode()
    assert 'href="/surveys"' in desk.get(reverse("desk:home")).content.decode()


def test_a_design_shows_its_parts_and_its_hours_before_anything_is_kept(desk: Client) -> None:
    small_store()
    said = text_of(desk.get(reverse("desk:survey-design"), ASKED))
    # 24.01 / (1 + 23.01 / 40) = 15.2.
    assert "objects in the store 40 drawn 16 " in said
    assert "on the walk, at 15 min each 4 h" in said
    assert "West room 20 8" in said
    assert not CollectionSurvey.objects.exists()


def test_what_is_shown_is_drawn(desk: Client) -> None:
    small_store()
    answer = desk.post(reverse("desk:survey-design"), ASKED, follow=True)
    survey = CollectionSurvey.objects.get()
    assert survey.places.count() == 16
    assert survey.margin_points == 20
    said = text_of(answer)
    assert "The sample is drawn. Hand it out as walks." in said
    assert "16 objects are left." in said


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"number": "41", "margin_points": ""}, "A sample of 41 is larger than the store"),
        ({"number": "3", "margin_points": ""}, "A sample of 3 is too small for 2 strata"),
        ({"number": "9"}, "Say one of the two"),
        ({"margin_points": ""}, "Say one of the two"),
        ({"margin_points": "0"}, "Give a margin above 0"),
        ({"margin_points": "nan"}, "Give a number, as 2.5."),
        ({"expected_percent": "0"}, "Give an expected share above 0 %"),
        ({"confidence_percent": "100"}, "Give a confidence from 50 %"),
        ({"minutes_an_object": "0"}, "at least half a minute"),
        ({"objects_a_box": "0"}, "At least one object goes into a box"),
        ({"studio": "textiles"}, "No objects stand there"),
        ({"name": ""}, "Fill this in."),
    ],
)
def test_slips_are_answered_in_a_sentence_and_nothing_typed_is_lost(
    desk: Client, change: dict[str, str], says: str
) -> None:
    small_store()
    for answer in (
        desk.get(reverse("desk:survey-design"), ASKED | change),
        desk.post(reverse("desk:survey-design"), ASKED | change),
    ):
        assert says in text_of(answer)
        assert 'value="15"' in answer.content.decode() or "minutes_an_object" in change
    assert answer.status_code == 400
    assert not CollectionSurvey.objects.exists()


def test_a_margin_that_asks_for_less_than_two_a_part_says_so(desk: Client) -> None:
    small_store()
    said = text_of(
        desk.get(
            reverse("desk:survey-design"), ASKED | {"divided_by": "shelf", "margin_points": "45"}
        )
    )
    assert "8 are drawn, so that each of the 4 parts has its two" in said


def test_a_walk_is_handed_out_and_taken_back(desk: Client, conservator: Person) -> None:
    survey = survey_by(conservator)
    second = PersonFactory(first_name="Ida", last_name="Reed")
    asked = {"to": second.pk, "number": 5, "words": "Mind the steps."}
    answer = desk.post(reverse("desk:survey-hand-out", args=[survey.pk]), asked, follow=True)
    said = text_of(answer)
    assert "“The two rooms, part 1” is handed to Ida Reed as a visit." in said
    assert "7 objects are left." in said and "Mind the steps." in said
    visit = Visit.objects.get()
    back = reverse("desk:survey-take-back", args=[survey.pk, visit.pk])
    assert "12 objects are left." in text_of(desk.post(back, follow=True))
    assert "taken back already" in text_of(desk.post(back, follow=True))


def test_handing_out_too_many_is_answered_beside_the_form(
    desk: Client, conservator: Person
) -> None:
    survey = survey_by(conservator)
    answer = desk.post(
        reverse("desk:survey-hand-out", args=[survey.pk]), {"to": conservator.pk, "number": 99}
    )
    assert answer.status_code == 400
    assert "12 objects are left to hand out: give a number from 1 to 12." in text_of(answer)


def test_what_was_not_found_is_told_with_its_reason(desk: Client, walked: CollectionSurvey) -> None:
    place = handed_out(walked)[11]
    address = reverse("desk:survey-missing", args=[place.pk])
    assert "no other object takes its place" in text_of(desk.get(address))
    said = text_of(desk.post(address, {"why": "Lent out since."}, follow=True))
    assert "Could not be examined: Lent out since." in said


def test_a_survey_is_taken_out_while_nothing_is_handed_out(
    desk: Client, conservator: Person
) -> None:
    survey = survey_by(conservator)
    desk.post(reverse("desk:survey-remove", args=[survey.pk]))
    assert not CollectionSurvey.objects.exists()


def test_figures_come_with_their_intervals_cautions_plots_and_tables(
    desk: Client, walked: CollectionSurvey
) -> None:
    page = desk.get(reverse("desk:survey", args=[walked.pk]))
    said = text_of(page)
    assert "1 object of 12 is not examined and signed yet." in said
    assert "1 object of 12 could not be examined. No other took their place." in said
    assert "Plate mark 10 of 10 100 %" in said
    assert "Tear 5 of 10 50 %" in said
    found = results_of(walked)
    hours = survey_words.hours_in_words(found.hours.overall)
    assert hours.split(" (")[0] in said
    assert page.content.decode().count("<svg") == 4
    assert "start number 7" in said


def test_before_anything_is_signed_the_page_says_what_to_do(
    desk: Client, conservator: Person
) -> None:
    survey = survey_by(conservator)
    page = desk.get(reverse("desk:survey", args=[survey.pk]))
    assert "Nothing is signed yet." in text_of(page)
    assert "<svg" not in page.content.decode()


def test_the_table_has_a_line_for_each_figure_and_part(
    desk: Client, walked: CollectionSurvey
) -> None:
    answer = desk.get(reverse("desk:survey-table", args=[walked.pk]))
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="the-two-rooms.csv"'
    rows = list(csv.DictReader(answer.content.decode("utf-8-sig").splitlines()))
    poor = [row for row in rows if row["name"] == "Poor"]
    assert [row["part of the store"] for row in poor] == [
        "The whole store",
        "West room",
        "East room",
    ]
    cell = next(one for one in results_of(walked).grades if one.code == "poor").overall
    assert cell.estimate.low is not None
    assert float(poor[0]["low"]) == pytest.approx(100 * cell.estimate.low, rel=1e-3)
    assert (poor[0]["seen"], poor[0]["have it"], poor[0]["unit"]) == ("10", "6", "%")
    assert poor[2]["remark"] == "too few seen" and poor[2]["estimate"] == ""


def test_a_name_that_a_spreadsheet_would_reckon_with_is_text(conservator: Person) -> None:
    drawers = small_store()
    room = drawers[0].parent.parent  # type: ignore[union-attr]
    room.name = "=2+3"  # type: ignore[union-attr]
    room.save()  # type: ignore[union-attr]
    plan = Plan(divided_by="room", margin_points=None, number=12)
    survey = draw_survey(plan, name="Rooms", person=conservator)
    assert "'=2+3" in csv_of(results_of(survey))


def test_couriers_read_and_change_nothing(courier_desk: Client, walked: CollectionSurvey) -> None:
    assert courier_desk.get(reverse("desk:survey", args=[walked.pk])).status_code == 200
    said = text_of(courier_desk.get(reverse("desk:survey-walk", args=[walked.pk])))
    assert "Hand out" not in said and "Cannot be examined?" not in said
    assert courier_desk.get(reverse("desk:survey-design")).status_code == 403
    place = handed_out(walked)[11]
    for name, args in (
        ("survey-hand-out", [walked.pk]),
        ("survey-remove", [walked.pk]),
        ("survey-missing", [place.pk]),
        ("survey-take-back", [walked.pk, place.stop.visit_id]),  # type: ignore[union-attr]
    ):
        assert courier_desk.post(reverse(f"desk:{name}", args=args)).status_code == 403


def test_a_plot_is_one_svg_with_text_as_text_and_in_the_pages_inks(
    walked: CollectionSurvey,
) -> None:
    found = results_of(walked)
    plot = survey_plots.plot_of_grades(found)
    root = ElementTree.fromstring(plot.svg)
    texts = ["".join(text.itertext()) for text in root.iter("text")]
    assert {"Good", "Poor", "The whole store", "West room", "Share of objects, %"} <= set(texts)
    assert "#101010" not in plot.svg and "currentColor" in plot.svg
    assert "font-family" not in plot.svg and "<metadata" not in plot.svg
    assert root.get("role") == "img"
    assert "Good" in (root.get("aria-label") or "")
    other = survey_plots.plot_of_hours(found)
    keys = [
        {element.get("id") for element in ElementTree.fromstring(svg).iter() if element.get("id")}
        for svg in (plot.svg, other.svg)
    ]
    assert keys[0] and not keys[0] & keys[1]
    # Every reference finds what it names.
    for svg, known in zip((plot.svg, other.svg), keys, strict=True):
        assert set(re.findall(r'(?:url\(#|href="#)([^")]+)', svg)) <= known


@pytest.mark.parametrize(
    ("estimate", "words"),
    [
        (Estimate(Sureness.ESTIMATED, 0.31, 0.24, 0.39), "31 % (24 to 39)"),
        (Estimate(Sureness.ROUGH, 0.5, 0.2, 0.8), "50 % (20 to 80), rough"),
        (Estimate(Sureness.ESTIMATED, 0.02, 0.004, 0.06), "2.0 % (0.4 to 6.0)"),
        (Estimate(Sureness.ESTIMATED, 0.0, 0.0, 0.2), "0 % (0 to 20)"),
        (Estimate(Sureness.KNOWN, 0.5, 0.5, 0.5), "50 %, all seen"),
        (Estimate(Sureness.TOO_FEW), "too few"),
        (Estimate(Sureness.NONE_SEEN), "none seen"),
    ],
)
def test_shares_in_words(estimate: Estimate, words: str) -> None:
    assert survey_words.share_in_words(Cell(estimate, 100, 4, 2)) == words


@pytest.mark.parametrize(
    ("estimate", "words"),
    [
        (Estimate(Sureness.ESTIMATED, 412.3, 301.0, 544.0), "410 h (300 to 540)"),
        (Estimate(Sureness.ROUGH, 8.25, 1.5, 14.0), "8.2 h (1.5 to 14), rough"),
        (Estimate(Sureness.KNOWN, 6.0, 6.0, 6.0), "6 h, all seen"),
        (
            Estimate(Sureness.NO_SPREAD, 0.0),
            "0 h, no interval: all that were seen are alike",
        ),
        (Estimate(Sureness.TOO_FEW), "too few"),
    ],
)
def test_totals_in_words(estimate: Estimate, words: str) -> None:
    assert survey_words.hours_in_words(Cell(estimate, 100, 4)) == words


def test_one_box_is_a_box() -> None:
    one = Estimate(Sureness.ESTIMATED, 1.0, 1.0, 3.0)
    assert survey_words.boxes_in_words(Cell(one, 100, 30, 2)) == "1 box (1 to 3)"
