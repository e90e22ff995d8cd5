"""Charts: words stay words, ink is the page's, and nothing leaks into the page around them."""

import re
from datetime import date
from xml.etree import ElementTree

from survey.desk.charts import Bar, lying, upright, week_name

BARS = [Bar("4 May", 3, 5, "8 h"), Bar("11 May", 0, 0, "0 h"), Bar("18 May", 10, 2.5, "12.5 h")]


def words(drawing: str) -> list[str]:
    svg = ElementTree.fromstring(drawing)
    return [text.text for text in svg.iter("text")]


def test_names_and_values_are_text():
    chart = upright(BARS, width_pt=280, height_pt=100, told="Hours by week")
    assert sorted(words(chart.drawing)) == sorted(
        ["4 May", "11 May", "18 May", "8 h", "0 h", "12.5 h"]
    )


def test_people_are_named_and_their_hours_marked():
    bars = [Bar("Maren & Søren", 30, 5, "30 h of 40 h", mark=40), Bar("Ida", 0, 0, "0 h")]
    drawing = lying(bars, width_pt=280, row_pt=20, told="Who is full").drawing
    assert set(words(drawing)) == {"Maren & Søren", "Ida", "30 h of 40 h", "0 h"}


def test_what_is_said_to_those_who_do_not_see_it_is_escaped():
    drawing = upright(BARS, width_pt=280, height_pt=100, told='"<b>Hours</b>"').drawing
    svg = ElementTree.fromstring(drawing)
    assert (svg.get("role"), svg.get("aria-label")) == ("img", '"<b>Hours</b>"')


def test_there_is_no_colour_but_the_pages_ink_and_a_hatch_tells_the_parts():
    drawing = upright(BARS, width_pt=280, height_pt=100, told="Hours").drawing
    assert not re.search(r"#[0-9a-fA-F]{6}", drawing)
    assert "currentColor" in drawing and "<pattern" in drawing


def test_no_style_and_no_common_names_reach_the_page():
    one = upright(BARS, width_pt=280, height_pt=100, told="Hours").drawing
    other = lying(BARS, width_pt=280, row_pt=20, told="People").drawing
    assert "<style" not in one and "<metadata" not in one
    clashing = set(re.findall(r' id="([^"]+)"', one)) & set(re.findall(r' id="([^"]+)"', other))
    # A hatch is the same thing in both.
    assert all(name.startswith("h") for name in clashing)


def test_the_same_figures_give_the_same_drawing():
    assert upright(BARS, width_pt=280, height_pt=100, told="Hours") == upright(
        BARS, width_pt=280, height_pt=100, told="Hours"
    )


def test_all_of_nothing_can_be_drawn():
    bars = [Bar("4 May", 0, 0, "0 h")]
    assert "0 h" in words(upright(bars, width_pt=280, height_pt=100, told="None").drawing)


def test_weeks_are_named_by_their_monday():
    assert week_name(date(2026, 5, 4)) == "4 May"
