"""What a tablet may say of visits and examinations, sent as tablets send it."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from survey.examination.models import Observation, Photograph
from survey.vocabulary.models import Term
from tests.examination.round import begin
from tests.factories import ExaminationFactory, ObjectFactory, ObservationFactory, TermFactory
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def test_the_signed_in_person_is_the_examiner_and_is_named() -> None:
    on = begin()
    person = on.tablet.device.person
    assert on.examination().examiner == person
    rows = {row["id"]: row["fields"] for row in on.tablet.pull()}
    assert rows[on.key]["examiner_name"] == person.name
    assert rows[on.key]["examiner"] == str(person.pk)
    assert rows[on.visit]["person_name"] == person.name


def test_words_are_kept_as_typed_to_the_last_space() -> None:
    on = begin(notes="Foxing along ")
    assert on.examination().notes == "Foxing along "


def test_all_parts_of_an_examination_are_taken_and_pulled_again() -> None:
    on = begin()
    observation = on.part("observation", lights=["raking"], severity="slight", nature="feature")
    keys = {
        on.part("photograph", light="raking", azimuth_deg=315.5, side="verso"),
        on.part("measurement", observation=observation),
        on.part("recommendation", hours=2.5, hazards=["flaking-media"]),
        on.part("watermark", chain_interval_mm=25.5),
        observation,
    }
    assert keys <= {row["id"] for row in on.tablet.pull()}


def test_a_visit_ends_after_it_started() -> None:
    on = begin()
    reasons = on.tablet.refusal("visit", on.visit, ended_at="2001-01-01T00:00:00Z")
    assert "ends after it started" in reasons["ended_at"]


@pytest.mark.parametrize("entity", ["visit", "examination"])
def test_it_refuses_a_start_that_lies_more_than_a_day_ahead(entity: str) -> None:
    on = begin()
    key = on.visit if entity == "visit" else on.key
    ahead = timezone.now() + timedelta(days=1, hours=1)
    reasons = on.tablet.refusal(entity, key, started_at=ahead.isoformat())
    assert "more than a day ahead: check the date on this device" in reasons["started_at"]
    near = timezone.now() + timedelta(hours=20)
    assert on.tablet.push(entity, key, started_at=near.isoformat())["outcome"] == "applied"


def test_it_refuses_an_examination_before_the_object_existed() -> None:
    tablet, item = WireTablet(), ObjectFactory(earliest_year=1998, latest_year=1999)
    visit = tablet.made("visit", purpose="bench", name="Bench")
    fields = {"visit": visit, "object": str(item.pk)}
    reasons = tablet.refusal("examination", **fields, started_at="1997-12-31T12:00:00Z")
    assert reasons["started_at"] == (
        "31 December 1997 is before the object existed (1998 at the earliest): mend the date "
        "of the examination."
    )
    tablet.made("examination", **fields, started_at="1998-01-01T12:00:00Z")


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"sheet_width_mm": 0}, "sheet_width_mm", "A size is at least 1 mm"),
        ({"sheet_height_mm": 10_001}, "sheet_height_mm", "A size is at most 10000 mm"),
        ({"sheet_width_mm": "Infinity"}, "sheet_width_mm", "This is not a number"),
        ({"sheet_uncertainty_mm": 0}, "sheet_uncertainty_mm", "at least 0.01 mm"),
        ({"grade": "splendid"}, "grade", "“splendid” is not a grade. Use one of: fair, good"),
        ({"position": {"latitude": 95}}, "position", "A position is a latitude"),
        ({"position": []}, "position", "A position is a latitude"),
        (
            {"position": {"latitude": 0, "longitude": 0, "accuracy_m": -1}},
            "position",
            "an accuracy in metres",
        ),
        ({"verso_seen": "perhaps"}, "verso_seen", "“perhaps” is not one of the choices"),
        ({"examiner": "999999"}, "examiner", "No record has the key “999999”"),
    ],
)
def test_it_checks_an_examination(fields: dict[str, Any], field: str, said: str) -> None:
    on = begin()
    assert said in on.tablet.refusal("examination", on.key, **fields)[field]


def test_it_takes_a_position_only_as_tapped() -> None:
    place = {"latitude": 54.1, "longitude": -3.2, "accuracy_m": 12}
    assert begin(position=place).examination().position == place


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"light": "moonlight"}, "light", "“moonlight” is not a light. Use one of: normal"),
        ({"light": "raking"}, "azimuth_deg", "set its azimuth, in degrees clockwise"),
        ({"light": "raking", "azimuth_deg": 360}, "azimuth_deg", "not including, 360°"),
        ({"light": "raking", "azimuth_deg": -1}, "azimuth_deg", "less than 0"),
        ({"light": "normal", "azimuth_deg": 45}, "azimuth_deg", "Only raking light"),
        ({"sha256": "ABC"}, "sha256", "64 digits from 0 to 9 and a to f"),
        ({"sha256": "G" * 64}, "sha256", "64 digits from 0 to 9 and a to f"),
        ({"size_bytes": 0}, "size_bytes", "1"),
        ({"width_px": 0}, "width_px", "1"),
        ({"content_type": "text/html"}, "content_type", "This file is not a picture"),
        ({"side": "front"}, "side", "“front” is not one of the choices"),
        ({"homography": [1] * 8}, "homography", "nine numbers"),
        ({"homography": [0] * 9}, "homography", "nine numbers"),
        ({"homography": [True] * 9}, "homography", "nine numbers"),
        ({"homography": {}}, "homography", "nine numbers"),
    ],
)
def test_it_checks_a_photograph(fields: dict[str, Any], field: str, said: str) -> None:
    reasons = begin().refusal("photograph", **fields)
    assert said in reasons[field]


def test_a_photograph_takes_a_homography_and_a_new_light_with_its_azimuth() -> None:
    on = begin()
    scale = [0.1, 0, 0, 0, 0.1, 0, 0, 0, 1]
    key = on.part("photograph", homography=scale)
    on.tablet.push("photograph", key, light="raking", azimuth_deg=0)
    photograph = Photograph.objects.get(pk=key)
    assert (photograph.light, photograph.azimuth_deg) == ("raking", 0)
    assert photograph.homography == scale


def test_the_picture_of_a_photograph_never_changes() -> None:
    on = begin()
    key = on.part("photograph")
    reasons = on.tablet.refusal("photograph", key, sha256="f" * 64)
    assert "add a new photograph" in reasons["sha256"]


KEY = "01890a5d-ac96-774b-bcce-b302099a8057"
TRIANGLE = [[0, 0], [10, 0], [0, 10]]


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"term": "no-such-term"}, "term", "No record has the key “no-such-term”"),
        ({"lights": ["moonlight"]}, "lights", "“moonlight” is not a light"),
        ({"lights": ["normal", "normal"]}, "lights", "stands here twice"),
        ({"lights": "normal"}, "lights", "a list of codes"),
        ({"severity": "dreadful"}, "severity", "“dreadful” is not one of the choices"),
        ({"mark": {"photograph": KEY, "x": 1.2, "y": 0.5}}, "mark", "x and y from 0 to 1"),
        ({"mark": {"photograph": "this one", "x": 0.2, "y": 0.5}}, "mark", "names a photograph"),
        ({"mark": {}}, "mark", "names a photograph"),
        ({"region": {"kind": "polygon", "points": TRIANGLE[:2]}}, "region", "at least three"),
        ({"region": {"kind": "circle", "points": TRIANGLE}}, "region", "A region is a polygon"),
        ({"region": {"kind": "polygon", "points": [[0, 0]] * 3}}, "region", "three different"),
        ({"region": {"kind": "polygon", "points": [[0, "a"]] * 3}}, "region", "millimetres"),
        ({"region": {"kind": "polygon", "points": [0, 1, 2]}}, "region", "millimetres"),
    ],
)
def test_it_checks_an_observation(fields: dict[str, Any], field: str, said: str) -> None:
    assert said in begin().refusal("observation", **fields)[field]


def test_an_observation_takes_a_mark_and_a_region() -> None:
    mark = {"photograph": KEY, "x": 0, "y": 1}
    region = {"kind": "polygon", "points": TRIANGLE}
    key = begin().part("observation", mark=mark, region=region)
    seen = Observation.objects.get(pk=key)
    assert (seen.mark, seen.region) == (mark, region)


def test_a_retired_term_is_not_picked_anew_but_stays_in_old_records() -> None:
    on = begin()
    term = TermFactory(name="Old word")
    old = on.part("observation", term=term.code)
    Term.objects.filter(pk=term.pk).update(retired_at=timezone.now())
    assert "“Old word” was retired" in on.refusal("observation", term=term.code)["term"]
    taken = on.tablet.push("observation", old, term=term.code, note="Still so.")
    assert taken["outcome"] == "applied"


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"value": 0}, "value", "more than 0 and at most 10000 mm"),
        ({"value": 10_001}, "value", "more than 0 and at most 10000 mm"),
        ({"value": 1e9, "unit": "mm2"}, "value", "at most 1e+08 mm²"),
        ({"uncertainty": -1}, "uncertainty", "less than 0"),
        ({"unit": "inch"}, "unit", "“inch” is not one of the choices"),
        ({"what": " "}, "what", "may not stay empty"),
    ],
)
def test_it_checks_a_measurement(fields: dict[str, Any], field: str, said: str) -> None:
    assert said in begin().refusal("measurement", **fields)[field]


def test_a_measurement_is_of_an_observation_of_the_same_examination() -> None:
    other = ObservationFactory()
    reasons = begin().refusal("measurement", observation=str(other.pk))
    assert "belongs to another examination" in reasons["observation"]


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"kind_of_work": "polish"}, "kind_of_work", "“polish” is not a kind of work"),
        ({"hours": -1}, "hours", "Hours are 0 or more"),
        ({"hours": 2001}, "hours", "more than 2000 hours"),
        ({"hazards": ["dragons"]}, "hazards", "“dragons” is not a hazard"),
    ],
)
def test_it_checks_a_recommendation(fields: dict[str, Any], field: str, said: str) -> None:
    assert said in begin().refusal("recommendation", **fields)[field]


def test_a_part_that_comes_before_its_examination_is_told_to_wait() -> None:
    reasons = WireTablet().refusal("observation", examination=KEY, term="tear")
    assert "send that record first" in reasons["examination"]


def test_a_scope_leaves_out_examinations_of_objects_elsewhere() -> None:
    on = begin()
    other = ExaminationFactory()
    scope = {"locations": [str(other.object.location_id)]}
    on.tablet.request("put", "/api/sync/scope", scope, "application/json")
    assert on.key not in {row["id"] for row in on.tablet.pull()}
