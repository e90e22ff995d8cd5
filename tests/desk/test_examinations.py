"""Visits, examinations with their amendments, and single photographs."""

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.sync.models import StoredFile
from tests.desk.conftest import text_of
from tests.factories import (
    AmendmentFactory,
    ExaminationFactory,
    MeasurementFactory,
    ObservationFactory,
    PhotographFactory,
    RecommendationFactory,
    TermFactory,
    VisitFactory,
    WatermarkFactory,
    examined,
)

pytestmark = pytest.mark.django_db


def page_of(client, examination):
    return client.get(reverse("desk:examination", args=[examination.pk]))


def test_an_amendment_shows_what_was_signed_and_what_was_said_since(desk):
    examination = examined()
    tear = ObservationFactory(
        examination=examination, term=TermFactory(name="Long tear"), severity="slight"
    )
    AmendmentFactory(
        examination=examination,
        subject=f"observation:{tear.pk}",
        field="severity",
        before="slight",
        after="severe",
        reason="Opened when lifted.",
        signed_name="Ines Marchetti",
    )
    page = text_of(page_of(desk, examination))
    assert "Amended: Long tear: severity As signed Slight Amended to Severe" in page
    assert "Opened when lifted. Ines Marchetti" in page
    assert "Damage; slight;" in page


def test_an_amendment_of_words_alone_needs_no_field(desk):
    amendment = AmendmentFactory(reason="The mount was changed since.")
    assert "The mount was changed since." in text_of(page_of(desk, amendment.examination))


def test_codes_are_said_in_words(desk):
    examination = examined(grade="unstable", verso_seen="part")
    ObservationFactory(
        examination=examination, nature="unsure", extent="edge", severity="", lights=["raking"]
    )
    RecommendationFactory(examination=examination, kind_of_work="mount-and-frame", hours=1.5)
    page = text_of(page_of(desk, examination))
    assert (
        "Not yet decided; severity not said; along an edge; recto. Shown by raking light." in page
    )
    assert "Mount and frame 1.5 h" in page
    assert "Unstable" in page and "Verso seen in part" in page


def test_measurements_carry_unit_and_uncertainty(desk):
    one = MeasurementFactory(what="Longest side", value=12.25, uncertainty=0.5)
    assert "Longest side 12.25 mm ± 0.5 mm The sheet" in text_of(page_of(desk, one.examination))


def test_watermarks_lamp_time_and_checks_of_shots_are_told(desk):
    examination = examined(lamp_s=125)
    mark = WatermarkFactory(
        examination=examination,
        motif="Crown over a shield",
        seen_from="mould",
        width_mm=24.0,
        repertory="Marks of the Reed Mills",
        repertory_from_year=1710,
        repertory_to_year=1715,
        match="variant",
    )
    AmendmentFactory(
        examination=examination,
        subject=f"watermark:{mark.pk}",
        field="width_mm",
        before=24.0,
        after=25.0,
    )
    page = text_of(page_of(desk, examination))
    assert "Watermark: Crown over a shield Seen and measured from Recto, mould side" in page
    assert "Width, across the chain lines 24 ± 0.5 mm" in page
    assert "Repertory Marks of the Reed Mills, 1710–1715 Match A variant" in page
    assert "UV lamp 2 min 5 s" in page
    assert "Amended: Watermark: crown over a shield: width, mm As signed 24 mm" in page

    said = {"sharp": True, "steady": True, "exposed": False, "sentences": ["Too bright."]}
    photograph = PhotographFactory(examination=examination, shot_check=said)
    page = text_of(desk.get(reverse("desk:photograph", args=[photograph.pk])))
    assert "The shot Checked after the shot. Too bright." in page


def test_nothing_seen_is_told_apart_from_nothing_recorded(desk):
    assert "Nothing seen." in text_of(page_of(desk, examined(nothing_seen=True)))
    assert "No observations yet." in text_of(page_of(desk, examined(signed=False)))


def test_a_feature_of_making_raises_no_alarm(desk):
    examination = examined()
    term = TermFactory(hazards=["flaking-media"])
    ObservationFactory(examination=examination, term=term, nature="feature", severity="")
    assert "Flaking media" not in text_of(page_of(desk, examination))


def test_deleted_parts_are_left_out(desk):
    examination = examined()
    gone = timezone.now()
    ObservationFactory(examination=examination, term=TermFactory(name="Gone"), deleted_at=gone)
    photograph = PhotographFactory(examination=examination, deleted_at=gone)
    assert "Gone" not in text_of(page_of(desk, examination))
    assert desk.get(reverse("desk:photograph", args=[photograph.pk])).status_code == 404
    examination.deleted_at = gone
    examination.save()
    assert page_of(desk, examination).status_code == 404


def test_a_photograph_stands_large_with_the_others_one_step_away(desk):
    examination = examined()
    raking = PhotographFactory(examination=examination, light="raking", azimuth_deg=135)
    normal = PhotographFactory(examination=examination, light="normal")
    StoredFile.objects.create(sha256=raking.sha256, size_bytes=1)
    page = desk.get(reverse("desk:photograph", args=[raking.pk]))
    content = page.content.decode()
    assert f"/api/photographs/{raking.sha256}/preview" in content
    assert f"/api/photographs/{raking.sha256}/original" in content
    assert reverse("desk:photograph", args=[normal.pk]) in content
    assert "135° clockwise from the sheet’s top edge" in text_of(page)
    assert "4000 × 3000 px" in text_of(page)


def test_visits_are_listed_newest_first_with_counts(desk, django_assert_max_num_queries):
    for name in ("Earlier", "Later"):
        visit = VisitFactory(name=name)
        ExaminationFactory(visit=visit, signed=True)
        ExaminationFactory(visit=visit)
        ExaminationFactory(visit=visit, deleted_at=timezone.now())
    with django_assert_max_num_queries(8):
        page = text_of(desk.get(reverse("desk:visits")))
    assert page.index("Later Storage round") < page.index("Earlier Storage round")
    assert "No location given 2 1" in page


def test_a_visit_lists_its_examinations_in_order(desk, django_assert_max_num_queries):
    visit = VisitFactory(name="Morning round")
    for title in ("Seen first", "Seen second"):
        examination = ExaminationFactory(visit=visit, object__title=title)
        ObservationFactory.create_batch(3, examination=examination)
        PhotographFactory.create_batch(2, examination=examination)
    with django_assert_max_num_queries(10):
        page = text_of(desk.get(reverse("desk:visit", args=[visit.pk])))
    assert page.index("Seen first") < page.index("Seen second")
    assert "Fair 3 2 Not yet signed" in page
