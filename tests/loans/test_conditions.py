"""What was agreed on, in words, and what a check found, held against it."""

import pytest

from survey.loans.conditions import agreed_on, held_against, outside, packed_before
from survey.loans.models import LoanCheck, LoanedObject
from tests.factories import LoanCheckFactory, LoanFactory, examined

pytestmark = pytest.mark.django_db

AGREED = {
    "coolest_c": 18.0,
    "warmest_c": 22.0,
    "dampest_percent": 55.0,
    "hours_to_acclimatise": 24.0,
    "most_lux": 50.0,
    "steepest_display_deg": 20.0,
}


def held(**found: object) -> dict[str, tuple[str, str, str, bool]]:
    """(agreed, found, judged, outside) by name, of a check that found this."""
    loan = LoanFactory(**AGREED)
    check = LoanCheckFactory(loan=loan, **found)
    loaned = LoanedObject.objects.get(loan=loan)
    loaned.glazing = "Acrylic"
    rows = held_against(check, loaned)
    return {one.name: (one.agreed, one.found, one.judged, one.is_outside) for one in rows}


def test_conditions_have_their_units():
    assert agreed_on(LoanFactory(**AGREED)) == [
        ("Light at the object", "At most 50 lx"),
        ("Temperature", "18 to 22 °C"),
        ("Relative humidity", "At most 55 %"),
        ("Steepest display", "At most 20° from lying flat"),
        ("Crate closed before it is opened", "At least 24 h"),
    ]
    assert agreed_on(LoanFactory()) == []


@pytest.mark.parametrize(
    ("found", "name", "judged"),
    [
        ({"temperature_c": 22.0}, "Temperature", "Within what was agreed"),
        ({"temperature_c": 23.5}, "Temperature", "1.5 °C warmer than agreed"),
        ({"temperature_c": -2.0}, "Temperature", "20 °C cooler than agreed"),
        ({"humidity_percent": 20.0}, "Relative humidity", "Within what was agreed"),
        (
            {"humidity_percent": 55.1},
            "Relative humidity",
            "0.1 percentage points higher than agreed",
        ),
        ({"humidity_percent": 56.0}, "Relative humidity", "1 percentage point higher than agreed"),
        ({"hours_acclimatised": 22.0}, "Time in the closed crate", "2 h less than agreed"),
        ({"hours_acclimatised": 0.0}, "Time in the closed crate", "24 h less than agreed"),
        ({}, "Temperature", "Not noted"),
        ({"crate": "crate 2 "}, "Crate", "As listed"),
        ({"crate": "Crate 3"}, "Crate", "Another crate than the list says"),
        ({"seals": "0417", "seals_whole": "no"}, "Seals", "Not found whole"),
        ({"seals": "0417"}, "Seals", "Not said whether they were whole"),
        ({"glazing": "none"}, "Glazing", "Listed as glazed, and is not"),
        ({"glazing": "cracked"}, "Glazing", "Damaged"),
        ({"glazing": "whole"}, "Glazing", "In order"),
    ],
)
def test_what_is_found_is_judged_in_words(found, name, judged):
    assert held(**found)[name][2] == judged


def test_what_is_outside_is_told_as_such():
    check = LoanCheckFactory(
        loan=LoanFactory(**AGREED), temperature_c=25.0, seals_whole="no", glazing="whole"
    )
    assert [one.name for one in outside(held_against(check, None))] == ["Seals", "Temperature"]


def test_nothing_agreed_and_nothing_found_is_left_out():
    assert held_against(LoanCheckFactory(loan=LoanFactory()), None) == []
    rows = held_against(LoanCheckFactory(loan=LoanFactory(), temperature_c=3.0), None)
    assert [(one.agreed, one.judged) for one in rows] == [("", "Nothing was agreed on this")]


def sealed(first: LoanCheck, stage: str, days_ago: int, seals: str, **values: object) -> LoanCheck:
    """A later check of the same object on the same loan."""
    examination = examined(days_ago, object=first.examination.object)
    return LoanCheckFactory(
        loan=first.loan, examination=examination, stage=stage, seals=seals, **values
    )


def seals_of(check: LoanCheck) -> tuple[str, str, bool]:
    rows = held_against(check, None, packed_before(check))
    return next((one.agreed, one.judged, one.is_outside) for one in rows if one.name == "Seals")


def test_seals_are_held_against_those_noted_at_packing():
    packed = LoanCheckFactory(
        examination=examined(30), stage="outgoing", seals="PE 0521, PE 0522", statement="{}"
    )
    other = sealed(packed, "arrival", 10, "XX 9999")
    assert seals_of(other) == (
        "PE 0521, PE 0522, noted at packing",
        "Other seals than at packing: PE 0521, PE 0522. Not said whether they were whole",
        True,
    )
    [said] = outside(held_against(other, None, packed_before(other)))
    assert said.name == "Seals"
    same = sealed(packed, "arrival", 9, "pe 0522 and PE 0521", seals_whole="yes")
    assert seals_of(same)[1:] == ("The same seals as at packing. Found whole", False)
    assert seals_of(sealed(packed, "arrival", 8, ""))[1:] == ("Not noted", False)
    # A crate that was opened since was sealed anew, so that other seals are no fault.
    assert packed_before(sealed(packed, "return", 2, "7")) == packed
    arrived = sealed(packed, "arrival", 7, "PE 0521, PE 0522", statement="{}")
    back = sealed(packed, "return", 1, "PE 0600", seals_whole="yes")
    assert packed_before(back) == arrived
    assert seals_of(back)[1:] == (
        "Other seals than at the arrival check: PE 0521, PE 0522. Found whole",
        False,
    )


def test_the_packing_of_a_crate_is_held_against_no_other_and_waits_for_nothing():
    loan = LoanFactory(**AGREED)
    check = LoanCheckFactory(loan=loan, stage="outgoing", seals="PE 0521", seals_whole="yes")
    names = [one.name for one in held_against(check, None, packed_before(check))]
    assert "Time in the closed crate" not in names
    assert seals_of(check) == ("", "Found whole", False)
