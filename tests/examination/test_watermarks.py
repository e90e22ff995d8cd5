"""Watermarks as tablets send them."""

from typing import Any

import pytest

from survey.examination.models import Watermark
from tests.examination.round import begin

pytestmark = pytest.mark.django_db

WHOLE = {
    "kind": "countermark",
    "motif": "Bunch of grapes",
    "letters": "P E",
    "side": "verso",
    "seen_from": "felt",
    "region": {"kind": "polygon", "points": [[100, 80], [140, 80], [140, 130], [100, 130]]},
    "width_mm": 38.5,
    "height_mm": 49,
    "to_left_chain_mm": 3.5,
    "to_right_chain_mm": 9,
    "chain_interval_mm": 51,
    "uncertainty_mm": 0.3,
    "chains_within": 1,
    "repertory": "Marks of the Elder mills",
    "repertory_number": "412",
    "repertory_place": "Aldermere",
    "repertory_from_year": 1612,
    "repertory_to_year": 1618,
    "match": "variant",
    "note": "Left wire mended.",
}


def test_it_keeps_all_that_is_said_of_a_watermark_and_gives_it_back() -> None:
    on = begin()
    key = on.part("watermark", **WHOLE)
    rows = {row["id"]: row["fields"] for row in on.tablet.pull()}
    assert {name: rows[key][name] for name in WHOLE} == WHOLE
    assert Watermark.objects.get(pk=key).get_match_display() == "A variant"


def test_little_needs_to_be_said() -> None:
    on = begin()
    mark = Watermark.objects.get(pk=on.part("watermark", motif=""))
    assert (mark.kind, mark.side, mark.uncertainty_mm) == ("watermark", "recto", 0.5)


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        ({"kind": "stamp"}, "kind", "“stamp” is not one of the choices"),
        ({"side": "front"}, "side", "“front” is not one of the choices"),
        ({"seen_from": "above"}, "seen_from", "“above” is not one of the choices"),
        ({"match": "perhaps"}, "match", "“perhaps” is not one of the choices"),
        ({"width_mm": -1}, "width_mm", "0"),
        ({"uncertainty_mm": 0}, "uncertainty_mm", "0.01"),
        ({"chains_within": -1}, "chains_within", "0"),
        ({"region": {"kind": "polygon", "points": [[0, 0], [1, 1]]}}, "region", "three different"),
        (
            {"repertory_from_year": 1618, "repertory_to_year": 1612},
            "repertory_to_year",
            "end before they begin",
        ),
    ],
)
def test_it_checks_a_watermark(fields: dict[str, Any], field: str, said: str) -> None:
    assert said in begin().refusal("watermark", **fields)[field]


def test_a_later_year_is_weighed_against_the_earlier_one_that_stands() -> None:
    on = begin()
    key = on.part("watermark", repertory_from_year=1612)
    reasons = on.tablet.refusal("watermark", key, repertory_to_year=1600)
    assert "end before they begin" in reasons["repertory_to_year"]


def test_a_signed_one_may_be_amended() -> None:
    on = begin(nothing_seen=True)
    key = on.part("watermark", motif="Bunch of grapes")
    assert on.sign()["outcome"] == "applied"
    assert "Add an amendment" in on.tablet.refusal("watermark", key, motif="Pot")["motif"]
    on.part("amendment", subject=f"watermark:{key}", field="motif", before="Bunch of grapes",
            after="Pot")  # fmt: skip
