"""Putting the museum into the database."""

import hashlib
import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
import pytest
from django.contrib.auth import authenticate
from django.utils import timezone

from survey.access.models import Person
from survey.catalogue.models import Location, Move, Object
from survey.demo import services
from survey.demo.museum.before import BEFORE
from survey.demo.museum.rounds import CASES
from survey.demo.rows.watermarks import watermarks_of
from survey.demo.services import NotEmpty, seed, truth_path
from survey.demo.sheet.recipe import SheetRecipe
from survey.demo.sheet.recipe import Watermark as Figure
from survey.desk.years import years_of
from survey.examination.models import (
    Amendment,
    Examination,
    Measurement,
    Observation,
    Photograph,
    Recommendation,
    Visit,
    Watermark,
)
from survey.examination.shapes import check_placing
from survey.imaging.geometry import inverse, mapped
from survey.loans.models import Display, ExposureLimit, Responsivity
from survey.reading.models import Reading
from survey.reading.queries import date_questions
from survey.sync.conflict import value_of
from survey.sync.files import stored_of, stored_path
from survey.sync.models import Change, Counter, FieldState, OpenQuestion
from survey.triage.gather import standings
from survey.triage.models import (
    Absence,
    Estimate,
    Need,
    Piece,
    Readiness,
    Skill,
    Weights,
    WorkingWeek,
)
from tests.factories import ExaminationFactory, ObjectFactory

pytestmark = pytest.mark.django_db

# A full set with hinges on the verso, one with mould, one with nothing seen, one unsigned.
FEW = (CASES[0], CASES[13], CASES[3], CASES[37])


def seed_a_little() -> list[str]:
    said: list[str] = []
    seed(said.append, objects=400, cases=FEW, longest_px=150, workers=1, is_surveyed=False)
    return said


@pytest.fixture
def seeded() -> list[str]:
    return seed_a_little()


def test_all_rows_are_there_and_logged_so_that_tablets_pull_them(seeded: list[str]) -> None:
    rows = {
        "location": Location, "object": Object, "move": Move, "visit": Visit,
        "examination": Examination, "photograph": Photograph, "observation": Observation,
        "measurement": Measurement, "recommendation": Recommendation, "amendment": Amendment,
        "watermark": Watermark,
    }  # fmt: skip
    for name, model in rows.items():
        count = model.objects.count()
        assert count > 0, name
        assert Change.objects.filter(entity=name, base=0).count() == count
        assert not model.objects.filter(revision=0).exists()
    assert Object.objects.count() == 400
    assert Examination.objects.count() == len(FEW)
    assert Weights.objects.count() == 1
    assert Need.objects.filter(due__gt=date.today()).exists()
    assert Readiness.objects.exists()
    assert seeded[-1].startswith("Done: 400 objects, 4 examinations")


def test_photographs_are_stored_with_the_truth_beside_them(seeded: list[str]) -> None:
    for photograph in Photograph.objects.all():
        assert stored_of([photograph.sha256]) == [photograph.sha256]
        content = stored_path(photograph.sha256).read_bytes()
        assert hashlib.sha256(content).hexdigest() == photograph.sha256
        assert len(content) == photograph.size_bytes
        truth = json.loads(truth_path(photograph.sha256).read_text())
        assert truth["side"] == photograph.side


def test_photographs_lie_on_their_sheet_as_well_as_taps_and_a_ruler_can_tell(
    seeded: list[str],
) -> None:
    for photograph in Photograph.objects.select_related("examination"):
        truth = json.loads(truth_path(photograph.sha256).read_text())
        width, height = truth["sheet_mm"]
        true, told = (
            np.array(numbers).reshape(3, 3)
            for numbers in (truth["homography"], photograph.homography)
        )
        assert photograph.placing is not None
        assert check_placing(photograph.placing) == photograph.placing
        assert not np.array_equal(true, told)
        for corner in ((0, 0), (width, 0), (width, height), (0, height)):
            there = mapped(told, mapped(inverse(true), [corner]))[0]
            # Four times the standard uncertainty that the placing itself tells of.
            assert np.abs(there - corner).max() < 4 * photograph.placing["uncertainty_mm"] + 0.5


def test_a_watermark_is_noted_where_it_is(seeded: list[str]) -> None:
    mark = Watermark.objects.select_related("examination").get()
    first = mark.examination.photographs.first()
    assert first is not None
    truth = json.loads(truth_path(first.sha256).read_text())
    [outline] = [one["outline_mm"] for one in truth["regions"] if one["term"] == "watermark"]
    assert mark.region == {"kind": "polygon", "points": outline}
    assert mark.chain_interval_mm == pytest.approx(
        mark.width_mm + mark.to_left_chain_mm + mark.to_right_chain_mm, abs=2.5
    )


def test_one_watermark_agrees_with_the_date_of_its_object_and_another_does_not() -> None:
    dated = {"date_text": "1650s", "earliest_year": 1650, "latest_year": 1659}
    recipe = SheetRecipe(3, 200, 150, watermark=Figure("bell", 100, 75, 40))
    sheets = [(recipe, ExaminationFactory(object__support="", **{
        f"object__{name}": value for name, value in dated.items()
    })) for _ in range(3)]  # fmt: skip
    marks = watermarks_of([(replace(recipe, watermark=None), ExaminationFactory()), *sheets])
    assert [mark.repertory for mark in marks] == ["Marks of the Elder mills"] * 2 + [""]
    Watermark.objects.bulk_create(marks)
    asked = [[one.rule.code for one in date_questions(mark.examination.object)] for mark in marks]
    assert asked == [[], ["watermark-variant"], []]


def test_a_few_sheets_are_read_when_it_is_served_and_only_once(seeded: list[str]) -> None:
    assert not Reading.objects.exists()
    with patch("survey.reading.services.enqueue"):
        asked = services.ask_for_readings()
        assert asked == Reading.objects.count() > 0
        assert services.ask_for_readings() == 0


def test_observations_follow_the_truth_and_lie_within_their_sheets(seeded: list[str]) -> None:
    placed = Observation.objects.exclude(region=None).select_related("examination__object")
    assert placed.exists()
    for observation in placed:
        examination = observation.examination
        first = examination.photographs.first()
        assert first is not None
        regions = json.loads(truth_path(first.sha256).read_text())["regions"]
        assert observation.region is not None
        points = observation.region["points"]
        assert [observation.term_id, observation.side, points] in [
            [one["term"], one["side"], one["outline_mm"]] for one in regions
        ]
        for x, y in points:
            assert 0 <= x <= examination.object.width_mm
            assert 0 <= y <= examination.object.height_mm


def test_marks_point_into_a_photograph_of_the_same_side(seeded: list[str]) -> None:
    marked = Observation.objects.exclude(mark=None)
    assert marked.exists()
    for observation in marked:
        assert observation.mark is not None
        photograph = Photograph.objects.get(pk=observation.mark["photograph"])
        assert photograph.side == observation.side
        assert photograph.examination_id == observation.examination_id
        assert 0 < observation.mark["x"] < 1
        assert 0 < observation.mark["y"] < 1


def test_an_examination_runs_in_order_and_none_lies_ahead(seeded: list[str]) -> None:
    now = timezone.now()
    for examination in Examination.objects.all():
        assert examination.visit.started_at <= examination.started_at < now
        for photograph in examination.photographs.all():
            assert examination.started_at < photograph.taken_at
            assert examination.signed_at is None or photograph.taken_at < examination.signed_at
    assert Examination.objects.filter(nothing_seen=True).count() == 1
    assert Examination.objects.filter(signed_at=None).count() == 1


def test_mould_cannot_wait(seeded: list[str]) -> None:
    alarmed = [one for one in standings(date.today()) if one.hazards]
    assert [one.hazards[0].alarm.hazard for one in alarmed] == ["active-mould"]


def test_two_people_disagree_on_a_sheet_that_is_not_signed(seeded: list[str]) -> None:
    asked = OpenQuestion.objects.select_related("shown__person", "kept__person")
    said = [
        (one.field, value_of(one.shown, one.field), value_of(one.kept, one.field))
        for one in asked.order_by("field")
    ]
    assert said == [("grade", "fair", "poor"), ("severity", "moderate", "severe")]
    examination = Examination.objects.get(signed_at=None)
    assert examination.grade == "fair"
    for one in asked:
        assert one.shown.person == examination.visit.person
        assert one.kept.person != one.shown.person


def test_everybody_can_sign_in(seeded: list[str]) -> None:
    accounts = services.accounts()
    assert len(accounts) == 4
    for account in accounts:
        person = authenticate(username=account.username, password=account.password)
        assert isinstance(person, Person)
        assert person.name == account.name
    assert Person.objects.filter(role="head").count() == 1


def all_that_could_change(folder: Path) -> Any:
    files = sorted((str(path), path.stat().st_mtime_ns) for path in folder.rglob("*"))
    counts = [
        model.objects.count()
        for model in (Person, Object, Location, Move, Examination, Observation, Need, Change)
    ]
    return files, counts, list(Counter.objects.order_by("name").values_list("name", "value"))


def test_seeding_twice_changes_nothing(seeded: list[str], settings: Any) -> None:
    before = all_that_could_change(settings.PHOTOGRAPHS_DIR)
    said = seed_a_little()
    assert all_that_could_change(settings.PHOTOGRAPHS_DIR) == before
    assert said == ["The Port Ellery museum is already here."]


def test_the_same_photographs_come_out_again(seeded: list[str]) -> None:
    first = sorted(Photograph.objects.values_list("sha256", flat=True))
    for model in (OpenQuestion, FieldState, Change, Weights, Need, Readiness, Display,
                  Estimate, Piece, Skill, WorkingWeek, Absence,
                  Responsivity, ExposureLimit, Amendment, Watermark, Measurement,
                  Recommendation, Observation, Photograph, Examination, Visit, Move,
                  Object):  # fmt: skip
        model.objects.all().delete()
    while Location.objects.exists():
        Location.objects.filter(children=None).delete()
    Person.objects.all().delete()
    seed_a_little()
    assert sorted(Photograph.objects.values_list("sha256", flat=True)) == first


def test_a_catalogue_in_use_is_left_alone() -> None:
    ObjectFactory()
    with pytest.raises(NotEmpty, match="empty folder"):
        seed_a_little()
    assert Object.objects.count() == 1
    assert not Person.objects.exists()


def test_a_sheet_was_examined_some_years_ago_too_before_its_last_damage() -> None:
    before = next(one for one in BEFORE if not one.shorter)
    few = {"objects": 400, "cases": (before.case,), "longest_px": 150, "workers": 1}
    seed([].append, **few, is_surveyed=False)  # type: ignore[arg-type]
    then, now = Examination.objects.order_by("started_at")
    assert then.object == now.object and then.is_signed and not now.is_signed
    assert (now.started_at - then.started_at).days > 1000
    seen = {one.term_id for one in now.observations.all()}
    assert {one.term_id for one in then.observations.all()} == seen - before.not_yet
    assert before.not_yet <= seen
    photograph = then.photographs.get()
    assert photograph.light == "normal" and photograph.homography is not None
    truths = [
        json.loads(truth_path(one.sha256).read_text())["recipe"]["marks"]
        for one in (photograph, now.photographs.get(light="normal", side="recto"))
    ]
    # All that was there lies where it lay.
    assert truths[1][: len(truths[0])] == truths[0]
    assert {mark["term"] for mark in truths[1][len(truths[0]) :]} == before.not_yet
    assert Change.objects.filter(entity="examination", base=0).count() == 2


def test_a_tear_grew_over_four_examinations_with_its_measurements() -> None:
    [case] = {one.case for one in BEFORE if one.shorter}
    few = {"objects": 400, "cases": (case,), "longest_px": 150, "workers": 1}
    seed([].append, **few, is_surveyed=False)  # type: ignore[arg-type]
    examinations = list(Examination.objects.order_by("started_at"))
    assert len(examinations) == 4 and all(one.is_signed for one in examinations)
    lengths = [
        one.measurements.get(what="Length of tear", observation__term="tear").value
        for one in examinations
    ]
    assert lengths == sorted(lengths) and lengths[-1] > 2 * lengths[0]
    years = years_of(examinations[0].object)
    [tear] = [one for one in years.followed if one.name == "Tear"]
    assert all(cell.observation for cell in tear.cells)
    [series] = tear.series
    assert series.trend is not None and series.trend.a_year > 5 * series.trend.a_year_u
    assert {len(one.joined) for one in years.followed if one.name != "Foxing"} == {3}
