"""The page of an object's light: history, year, proposal, category, and what is said of slips."""

from datetime import date

import pytest
from django.urls import reverse
from django.utils import timezone

from survey.access.models import AuditEntry
from survey.desk.exposure_plot import MOST_YEARS, plot_of
from survey.desk.exposure_words import grouped, lux_hours_in_words
from survey.loans import services
from survey.loans.exposure import Exposure
from survey.loans.models import Display, Responsivity
from tests.desk.conftest import text_of
from tests.factories import (
    LoanedObjectFactory,
    LoanFactory,
    ObjectFactory,
    PersonFactory,
    examined,
)

pytestmark = pytest.mark.django_db

SPRING = {
    "place": "Gallery 3",
    "first_day": "2025-03-03",
    "last_day": "2025-05-25",
    "lux": "50",
    "hours_a_day": "8",
    "days_a_week": "6",
    "basis": "measured",
    "uncertainty_percent": "10",
}


@pytest.fixture
def item():
    return ObjectFactory()


def noted(item, **changes):
    fields = {
        "place": "Gallery 3",
        "first_day": date(2025, 3, 3),
        "last_day": date(2025, 5, 25),
        "lux": 50.0,
        "hours_a_day": 8.0,
        "days_a_week": 6.0,
        "basis": "measured",
        "uncertainty_percent": 10.0,
    }
    return services.note_display(item, person=PersonFactory(), **(fields | changes))


def put_in(item, category):
    services.set_responsivity(item, person=PersonFactory(), category=category, reason="Reeds")


def page_of(client, item, **query):
    return client.get(reverse("desk:light", args=[item.pk]), query)


def sent(client, item, **changes):
    return client.post(reverse("desk:display-add", args=[item.pk]), SPRING | changes)


def test_a_page_without_history_says_that_unknown_is_not_dark(desk, item):
    page = text_of(page_of(desk, item))
    assert "No display is noted." in page and "not the same as dark" in page
    assert "No category set yet, so no limit is named." in page
    assert "None noted" in page and "0 lx·h" not in page
    put_in(item, "medium")
    page = text_of(desk.get(reverse("desk:object", args=[item.pk])))
    assert "Medium responsivity. No display is noted." in page


def test_the_history_is_told_with_who_how_and_how_well(desk, item):
    noted(item, ultraviolet_uw_lm=95.0, remark="Below a skylight")
    put_in(item, "medium")
    page = text_of(page_of(desk, item))
    assert "Gallery 3 Below a skylight 3 Mar 2025 to 25 May 2025" in page
    assert "50 lx, 8 h a day, 6 days a week" in page
    assert "95 µW/lm ultraviolet More than 75 µW/lm" in page
    assert "28 800 ± 2 900 lx·h Measured, ± 10 %" in page
    assert "2025 28 800 ± 2 900 lx·h 19 % Within the limit" in page
    assert "from memory" in page


def test_what_hung_too_brightly_is_said_so(desk, item):
    noted(item, lux=80.0)
    put_in(item, "medium")
    assert "More than 50 lx" in text_of(page_of(desk, item))


def test_a_year_that_is_used_up_says_so_here_and_on_the_objects_page(desk, item):
    year = timezone.localdate().year
    noted(item, first_day=date(year, 1, 1), last_day=date(year, 2, 14), days_a_week=7.0)
    put_in(item, "high")
    # 45 days × 8 h × 50 lx = 18 000 lx·h of 15 000.
    said = "18 000 ± 1 800 lx·h, 120 % of 15 000 lx·h: 3 000 ± 1 800 lx·h over the limit."
    assert f"Over the limit {said}" in text_of(page_of(desk, item))
    page = text_of(desk.get(reverse("desk:object", args=[item.pk])))
    assert said in page and "Over the limit" in page


def test_the_limit_is_shown_as_whose_it_is(desk, head, item):
    put_in(item, "medium")
    assert "The limit of CIE 157:2004 (CIE 157:2004, from memory)" in text_of(page_of(desk, item))
    services.set_limit("medium", person=head, lux=40, lux_hours_a_year=90_000, reason="Agreed")
    page = text_of(page_of(desk, item))
    assert "The department’s own, set by Ottilie Crane on" in page
    assert "CIE 157:2004 has 150 000 lx·h a year and 50 lx" in page


def test_the_lamp_is_told_in_minutes_and_apart_from_lux_hours(desk, item):
    examined(30, object=item, lamp_s=90)
    examined(3, object=item, lamp_s=150)
    page = text_of(page_of(desk, item))
    assert "4 min in all, on 2 examinations." in page
    assert "1 min 30 s" in page and "lux hours do not measure it" in page


PROPOSAL = {
    "first_day": "2027-03-01",
    "last_day": "2027-04-09",
    "lux": "50",
    "hours_a_day": "8",
    "days_a_week": "7",
    "uncertainty_percent": "10",
}


def test_a_proposal_says_what_it_uses_and_leaves(desk, item):
    put_in(item, "medium")
    page = text_of(page_of(desk, item, **PROPOSAL))
    # 40 days × 8 h × 50 lx = 16 000; 150 000 − 16 000 = 134 000.
    assert "1 March 2027 to 9 April 2027, 40 days; 50 lx, 8 h a day, 7 days a week; 320 h" in page
    assert "By these figures it stays within the limit." in page
    assert "16 000 ± 1 600 lx·h, 11 % of 150 000 lx·h; 134 000 ± 1 600 lx·h left." in page
    assert "50 lx is no more than the limiting illuminance of 50 lx." in page
    assert "the department decides" in page
    assert not Display.objects.exists()


def test_a_loan_that_is_noted_nowhere_is_where_a_proposal_begins(desk, item):
    days = {"first_day": date(2025, 10, 1), "last_day": date(2051, 1, 31)}
    loan = LoanFactory(reference="L.4", title="Reeds", most_lux=45.0, **days)
    LoanedObjectFactory(loan=loan, object=item)
    page = page_of(desk, item)
    assert "The days are those of loan L.4 Reeds , which agreed on 45 lx at most" in text_of(page)
    for value in ("2025-10-01", "2051-01-31", "45"):
        assert f'value="{value}"' in page.content.decode()
    noted(item, last_day=date(2025, 10, 1))
    assert "The days are those of loan" not in text_of(page_of(desk, item))


def test_a_proposal_that_goes_over_says_for_how_many_days_there_is_light(desk, head, item):
    put_in(item, "high")
    services.set_limit("high", person=head, lux=40, lux_hours_a_year=12_000, reason="Agreed")
    page = text_of(page_of(desk, item, **PROPOSAL))
    assert "By these figures it goes over the limit of 2027." in page
    assert "50 lx is more than the limiting illuminance of 40 lx." in page
    # 12 000 / 400 lx·h a day = 30 days.
    assert "At this pace the year has light left for 30 of the 40 days." in page
    assert "Over the limit: 16 000 ± 1 600 lx·h, 107 % of 15 000 lx·h" in page


def test_a_proposal_near_the_limit_asks_for_a_measurement(desk, item):
    put_in(item, "high")
    near = PROPOSAL | {"last_day": "2027-04-03", "uncertainty_percent": "20"}
    # 34 days: 13 600 ± 2 720 lx·h of 15 000.
    page = text_of(page_of(desk, item, **near))
    assert "twice the uncertainty reaches past it" in page


def test_a_proposal_across_new_year_has_a_row_for_each_year(desk, item):
    put_in(item, "medium")
    across = PROPOSAL | {"first_day": "2026-12-22", "last_day": "2027-01-10"}
    answer = page_of(desk, item, **across)
    assert [(one.year, one.days) for one in answer.context["proposed"]] == [(2026, 10), (2027, 10)]


def test_a_proposal_without_a_category_is_reckoned_but_held_against_nothing(desk, item):
    page = text_of(page_of(desk, item, **PROPOSAL))
    assert "No category is set for this object yet" in page
    assert "16 000 ± 1 600 lx·h" in page


def test_nothing_limits_what_does_not_answer_to_light(desk, item):
    put_in(item, "irresponsive")
    page = text_of(page_of(desk, item, **PROPOSAL))
    assert "No exposure limits an object of this category." in page


WRONG = [
    ({"last_day": "2025-03-01"}, "It ends on 1 March 2025, before it begins on 3 March 2025."),
    ({"lux": "-5"}, "Illuminance is never below zero"),
    ({"lux": "900000"}, "more than full sunlight gives"),
    ({"hours_a_day": "25"}, "A day has 24 hours"),
    ({"hours_a_day": "0"}, "A day has 24 hours"),
    ({"hours_a_day": ""}, "Say how long it is lit"),
    ({"days_a_week": "8"}, "A week has 7 days"),
    ({"uncertainty_percent": "0"}, "no meter reads without any"),
    ({"first_day": "0025-03-03"}, "Check the year of the first day"),
]


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        *WRONG,
        ({"hours_in_all": "30"}, "not both"),
        ({"hours_a_day": "", "hours_in_all": "99999"}, "These days have 2,016 hours in all"),
        ({"ultraviolet_uw_lm": "-1"}, "Ultraviolet is never below zero"),
    ],
)
def test_a_slip_is_said_in_a_sentence_and_nothing_is_lost(desk, item, changes, sentence):
    answer = sent(desk, item, **changes)
    assert answer.status_code == 400
    assert sentence in text_of(answer)
    assert not Display.objects.exists()
    form = answer.context["display_form"]
    for name, value in (SPRING | changes).items():
        assert form[name].value() == value


@pytest.mark.parametrize(("changes", "sentence"), WRONG)
def test_a_slip_in_a_proposal_is_said_as_in_a_display(desk, item, changes, sentence):
    given = {name: (SPRING | changes)[name] for name in PROPOSAL}
    answer = page_of(desk, item, **given)
    assert sentence in text_of(answer)
    assert answer.context["spell"] is None
    assert answer.context["proposal_form"]["lux"].value() == given["lux"]


def test_an_overlap_is_named_and_nothing_is_lost(desk, item):
    noted(item)
    answer = sent(desk, item, place="Gallery 4", first_day="2025-05-25", last_day="2025-06-01")
    assert answer.status_code == 400
    assert "These days overlap “Gallery 3”, 3 March 2025 to 25 May 2025" in text_of(answer)
    assert answer.context["display_form"]["place"].value() == "Gallery 4"
    over = PROPOSAL | {"first_day": "2025-05-01", "last_day": "2025-05-02"}
    assert "overlap “Gallery 3”" in text_of(page_of(desk, item, **over))


def test_a_display_is_noted_by_who_is_signed_in(desk, conservator, item):
    assert sent(desk, item).status_code == 302
    display = Display.objects.get()
    assert (display.object, display.noted_by) == (item, conservator)
    assert AuditEntry.objects.get(action="display noted").person == conservator


def test_a_display_is_corrected_and_the_first_hand_kept(desk, conservator, item):
    display = noted(item)
    path = reverse("desk:display", args=[display.pk])
    form = desk.get(path).context["form"]
    assert 'value="2025-03-03"' in str(form["first_day"])
    values = {name: form[name].value() for name in form.fields}
    given = {name: "" if value is None else value for name, value in values.items()}
    wrong = desk.post(path, given | {"lux": "-1", "place": "Gallery 5"})
    assert wrong.status_code == 400 and "never below zero" in text_of(wrong)
    assert "“Gallery 3”, 3 March 2025" in text_of(wrong)
    assert desk.post(path, given | {"lux": "65"}).status_code == 302
    display.refresh_from_db()
    assert (display.lux, display.corrected_by) == (65, conservator)
    assert "Corrected by Wren Halloway" in text_of(page_of(desk, item))


def test_a_display_that_never_was_is_taken_out(desk, item):
    display = noted(item)
    assert desk.post(reverse("desk:display-remove", args=[display.pk])).status_code == 302
    assert not Display.objects.exists()
    assert AuditEntry.objects.filter(action="display removed").exists()


def test_a_category_is_set_with_a_reason(desk, conservator, item):
    path = reverse("desk:light-category", args=[item.pk])
    for reason in ("", "   "):
        answer = desk.post(path, {"category": "high", "reason": reason})
        assert answer.status_code == 400
        assert answer.context["category_form"]["category"].value() == "high"
    assert desk.post(path, {"category": "high", "reason": "A pink lake"}).status_code == 302
    assert Responsivity.objects.get().set_by == conservator
    page = text_of(page_of(desk, item))
    assert "High responsivity: A pink lake Wren Halloway" in page


def test_the_blue_wool_numbers_of_the_category_tell_how_far_it_has_come(desk, item):
    # 250 days × 24 h × 50 lx = 0.3 Mlx·h: all of number 1 without ultraviolet.
    noted(
        item,
        first_day=date(2024, 1, 1),
        last_day=date(2024, 9, 6),
        hours_a_day=24.0,
        days_a_week=7.0,
    )
    put_in(item, "high")
    page = text_of(page_of(desk, item))
    assert "Number 1 0.22 Mlx·h 0.3 Mlx·h 136 % 100 %" in page


def test_a_courier_reads_the_page_and_changes_nothing(courier_desk, item):
    display = noted(item)
    page = text_of(page_of(courier_desk, item, **PROPOSAL))
    assert "Gallery 3" in page and "16 000" in page
    assert "Note a display" not in page and "Set the category" not in page
    assert sent(courier_desk, item).status_code == 403
    assert courier_desk.get(reverse("desk:display", args=[display.pk])).status_code == 403
    for name, key in (("display-remove", display.pk), ("light-category", item.pk)):
        path = reverse(f"desk:{name}", args=[key])
        answer = courier_desk.post(path, {"category": "high", "reason": "x"})
        assert answer.status_code == 403
    assert Display.objects.count() == 1 and not Responsivity.objects.exists()


def test_the_page_costs_the_same_for_much_as_for_little(desk, item, django_assert_max_num_queries):
    put_in(item, "medium")
    for month in range(1, 13):
        day = date(2024, month, 1)
        noted(item, first_day=day, last_day=day)
        examined(month, object=item, lamp_s=60)
    with django_assert_max_num_queries(9):
        page_of(desk, item, **PROPOSAL)


def test_the_plot_draws_every_year_with_the_limit_and_the_proposal_on_top():
    plot = plot_of(
        {2022: Exposure(100_000, 10_000)}, {2024: Exposure(50_000, 5_000)}, 150_000, 2023
    )
    assert [bar.year for bar in plot.bars] == [2022, 2023, 2024]
    first, dark, proposed = plot.bars
    assert first.noted_height > 0 and first.proposed_height == 0
    assert first.top < first.noted_y < first.bottom
    assert not dark.has_light
    assert proposed.noted_height == 0 and proposed.proposed_height > 0
    assert first.noted_height == pytest.approx(2 * proposed.proposed_height, abs=0.02)
    assert plot.limit is not None and plot.limit.y < first.top
    assert [name for _, name in plot.rules] == [
        grouped(value) for value in (0, 50_000, 100_000, 150_000)
    ]


def test_the_plot_of_a_long_history_says_how_many_years_it_leaves_out():
    years = {year: Exposure(1_000, 0) for year in range(1950, 2026)}
    plot = plot_of(years, {}, None, 2026)
    assert len(plot.bars) == MOST_YEARS and plot.earlier == 77 - MOST_YEARS
    assert plot.bars[-1].named and sum(bar.named for bar in plot.bars) < MOST_YEARS
    assert plot_of({}, {}, 150_000, 2026) is None


def test_lux_hours_have_no_more_figures_than_their_uncertainty():
    def said(value, uncertainty):
        return lux_hours_in_words(Exposure(value, uncertainty)).replace("\u202f", " ")

    assert said(28_812.4, 2_881.2) == "28 800 ± 2 900 lx·h"
    assert said(28_812.4, 12) == "28 812 ± 12 lx·h"
    assert said(28_812.4, 0) == "28 812 lx·h"
    assert said(-3_000, 1_800) == "−3 000 ± 1 800 lx·h"
    assert said(0, 0) == "0 lx·h"
