"""An object over the years: states on a timeline, places matched, growth plotted, people's word."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.access.models import AuditEntry
from survey.desk.years import years_of
from survey.examination.models import Measurement, Observation, Photograph
from survey.reading.models import Reading, SamePlace
from tests.desk.conftest import text_of
from tests.desk.readings import photographed
from tests.factories import AmendmentFactory, MeasurementFactory, ObjectFactory, ObservationFactory

pytestmark = pytest.mark.django_db

REGION = {"kind": "polygon", "points": [[10, 10], [30, 10], [30, 30], [10, 30]]}
FAR = {"kind": "polygon", "points": [[210, 10], [230, 10], [230, 30], [210, 30]]}


@pytest.fixture
def item():
    return ObjectFactory()


def state(item, years_ago, *, length=None, severity="slight", region=REGION, **values):
    """A signed examination with one tear."""
    moment = timezone.now() - timedelta(days=365.25 * years_ago)
    made = photographed("normal", signed=True, object=item, **values)
    made.started_at = moment
    made.save()
    Photograph.objects.filter(examination=made).update(taken_at=moment)
    tear = ObservationFactory(
        examination=made, term_id="tear", nature="damage", severity=severity, region=region
    )
    if length is not None:
        MeasurementFactory(
            examination=made,
            observation=tear,
            what="Length of tear",
            value=length,
            uncertainty=0.5,
            unit=Measurement.Unit.MM,
        )
    return made


def page_of(client, item):
    return client.get(reverse("desk:years", args=[item.pk]))


def test_states_are_told_in_time_order_and_drawn_to_scale(desk, item):
    for ago in (1, 9, 8):
        state(item, ago)
    answer = page_of(desk, item)
    stops = answer.context["timeline"].stops
    assert [one.state.number for one in stops] == [1, 2, 3]
    share = (stops[1].x - stops[0].x) / (stops[2].x - stops[0].x)
    assert share == pytest.approx(1 / 8, abs=0.01)
    page = text_of(answer)
    assert "3 signed examinations" in page and "Fair. 1 damage noted." in page
    assert answer.content.decode().count("/thumbnail") >= 3


def test_an_unsigned_examination_is_left_out_and_said_so(desk, item):
    state(item, 3)
    photographed("normal", signed=False, object=item)
    assert "1 not yet signed is left out" in text_of(page_of(desk, item))


def test_an_object_without_signed_examinations_says_what_is_missing(desk, item):
    assert "Nothing to lay side by side yet" in text_of(page_of(desk, item))


def test_a_place_is_followed_with_its_severity_in_words_and_its_amendment(desk, item):
    first = state(item, 5)
    state(item, 3, severity="moderate", region=FAR)
    state(item, 1, severity="severe")
    tear = first.observations.get()
    AmendmentFactory(
        examination=first, subject=f"observation:{tear.pk}", field="severity",
        before="slight", after="moderate",
    )  # fmt: skip
    places = years_of(item).followed
    assert [[cell.words for cell in one.cells] for one in places] == [
        ["Moderate, amended from slight", "Not noted", "Severe"],
        ["Not noted", "Moderate", "Not noted"],
    ]


def test_growth_is_plotted_with_uncertainties_and_a_rate_from_three_measurements_on(desk, item):
    for ago, length in ((6, 10.0), (4, 14.1)):
        state(item, ago, length=length)
    answer = page_of(desk, item)
    page = text_of(answer)
    assert "Length of tear: 10.0 ± 0.5 mm to 14.1 ± 0.5 mm in 2.0 years." in page
    assert "a rate is told from 3 on" in page
    html = answer.content.decode()
    assert html.count('class="dot"') == 2 and 'class="band"' not in html
    state(item, 2, length=18.0)
    answer = page_of(desk, item)
    page = text_of(answer)
    assert "Longer by 2.0 ± 0.2 mm a year, as a straight line through 3 measurements" in page
    html = answer.content.decode()
    assert html.count('class="dot"') == 3 and html.count('class="whisker"') == 3
    assert 'class="band"' in html and "foretells nothing" in page


def test_no_steady_change_is_told_as_none(desk, item):
    for ago, length in ((6, 10.0), (4, 10.2), (2, 10.1)):
        state(item, ago, length=length)
    assert "No steady change beyond the uncertainty" in text_of(page_of(desk, item))


def test_measures_of_a_unit_belong_together_whatever_they_were_called(desk, item):
    for ago, length in ((6, 10.0), (4, 12.0)):
        state(item, ago, length=length)
    Measurement.objects.filter(value=10.0).update(what="Tear, along it")
    [place] = years_of(item).followed
    [series] = place.series
    assert (series.what, len(series.values)) == ("Length of tear", 2)


def said(client, item, before, after, same, **fields):
    return client.post(
        reverse("desk:years-say", args=[item.pk]),
        {"before": before.pk, "after": after.pk, "same": same, **fields},
        follow=True,
    )


def test_a_person_parts_two_and_joins_them_again(desk, conservator, item):
    one, other = (state(item, ago).observations.get() for ago in (4, 2))
    page = text_of(page_of(desk, item))
    assert "100 % of the smaller outline lies in the larger" in page
    page = text_of(said(desk, item, one, other, "no", reason="another edge"))
    assert "Kept: not the same place." in page
    assert "Said not to be the same place" in page and "another edge" in page
    assert len(years_of(item).followed) == 2
    assert AuditEntry.objects.filter(action="not the same place said").exists()
    said(desk, item, one, other, "yes")
    [place] = years_of(item).followed
    assert place.joined[0].link.is_said and place.joined[0].said.person == conservator
    assert SamePlace.objects.count() == 2


def test_a_person_joins_what_lies_far_apart(desk, item):
    one = state(item, 4).observations.get()
    other = state(item, 2, region=FAR).observations.get()
    assert "It is the same place as one before" in text_of(page_of(desk, item))
    page = text_of(said(desk, item, one, other, "yes"))
    assert "Kept: the same place." in page and len(years_of(item).followed) == 1


def test_a_word_on_two_of_other_objects_or_the_wrong_way_round_is_refused(desk, item):
    one, other = (state(item, ago).observations.get() for ago in (4, 2))
    assert "an earlier and one of a later" in text_of(said(desk, item, other, one, "no"))
    foreign = state(ObjectFactory(), 2).observations.get()
    assert said(desk, item, one, foreign, "yes").status_code == 404
    Observation.objects.filter(pk=other.pk).update(side="verso")
    assert "choose two of one side" in text_of(said(desk, item, one, other, "yes"))
    assert not SamePlace.objects.exists()


def test_a_courier_sees_and_says_nothing(courier_desk, item):
    one, other = (state(item, ago).observations.get() for ago in (4, 2))
    page = text_of(page_of(courier_desk, item))
    assert "Why these are taken for one place" in page and "Not the same place" not in page
    assert said(courier_desk, item, one, other, "no").status_code == 403


def compare(client, item, earlier, later):
    address = reverse("desk:years-compare", args=[item.pk])
    return client.post(address, {"earlier": earlier, "later": later}, follow=True)


def test_two_states_lead_to_what_changed_between_them(desk, item):
    first, _, last = (state(item, ago) for ago in (6, 4, 2))
    # Chosen the wrong way round, it is still the later that is compared with the earlier.
    answer = compare(desk, item, last.pk, first.pk)
    address, _ = answer.redirect_chain[-1]
    key = str(first.photographs.get().pk)
    assert address.startswith(reverse("desk:changes", args=[last.pk])) and key in address
    html = answer.content.decode()
    assert f'<option value="{key}" selected>' in html
    reading = Reading.objects.get()
    assert (reading.kind, reading.examination, reading.given["earlier"]) == ("changes", last, key)
    compare(desk, item, first.pk, last.pk)
    assert Reading.objects.count() == 1


def test_a_courier_is_led_to_what_was_read_and_asks_for_nothing(courier_desk, item):
    first, last = state(item, 6), state(item, 2)
    assert compare(courier_desk, item, first.pk, last.pk).status_code == 200
    assert not Reading.objects.exists()


def test_states_that_cannot_be_compared_say_why(desk, item):
    first, last = state(item, 6, placed=False), state(item, 2)
    assert "lying on the sheet" in text_of(compare(desk, item, first.pk, last.pk))
    assert "two different" in text_of(compare(desk, item, last.pk, last.pk))
    assert "Choose an earlier" in text_of(compare(desk, item, "nonsense", last.pk))


def test_the_number_of_queries_does_not_grow_with_the_examinations(
    desk, item, django_assert_max_num_queries
):
    for ago in range(1, 8):
        state(item, ago, length=20.0 - ago)
    with django_assert_max_num_queries(22):
        page_of(desk, item)


def test_the_object_leads_there(desk, item):
    state(item, 3)
    page = desk.get(reverse("desk:object", args=[item.pk])).content.decode()
    assert reverse("desk:years", args=[item.pk]) in page
