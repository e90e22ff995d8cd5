"""The data file of steps: what each kind needs, and the cautions that come with it."""

import pytest

from survey.treatment.kinds import step_kinds, traits, warnings_at
from survey.vocabulary import queries as vocabulary

CAUTIONS = {entry["code"] for entry in vocabulary.cautions()}


@pytest.mark.parametrize("kind", step_kinds(), ids=lambda kind: kind["code"])
def test_each_kind_is_whole(kind):
    assert kind["name"] and kind["definition"].endswith(".") and kind["source"]
    assert set(kind["traits"]) <= {one["code"] for one in traits()}
    assert set(kind["cautions"]) <= CAUTIONS
    assert isinstance(kind["needs_material"], bool)
    # No step without a word on what to keep to.
    assert kind["traits"] or kind["cautions"]


@pytest.mark.parametrize("trait", traits(), ids=lambda trait: trait["code"])
def test_each_trait_is_whole_and_defers(trait):
    assert trait["caution"] is None or trait["caution"] in CAUTIONS
    assert trait["source"] and trait["lines"]
    assert "museum" in trait["defer"] or "conservator" in trait["defer"]


@pytest.mark.parametrize("code", ["solvent", "mould", "enzyme", "bleach"])
def test_what_harms_people_tells_of_extraction_gloves_waste_and_the_safety_data_sheet(code):
    [trait] = [one for one in traits() if one["code"] == code]
    assert {"Extraction", "Gloves", "Waste"} <= {line["about"] for line in trait["lines"]}
    assert "safety data sheet" in trait["defer"] and "rules" in trait["defer"]


def test_every_kind_named_for_solvent_or_mould_carries_its_caution():
    for kind in step_kinds():
        for word in ("solvent", "mould"):
            if word in kind["code"]:
                assert word in kind["traits"]


def test_codes_are_told_once():
    codes = [kind["code"] for kind in step_kinds()]
    assert len(codes) == len(set(codes))


def test_cautions_of_several_steps_come_once_each():
    found = [one.code for one in warnings_at(["reduce-stain-solvent", "test-solvent", "wash"])]
    assert found == ["solvent", "aqueous", "solvents"]
    assert warnings_at([]) == [] and warnings_at(["unknown"]) == []
