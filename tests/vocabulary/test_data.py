"""The data files hold together: every code that is named exists, and every word is there."""

import re
from collections import Counter
from typing import Any

import pytest

from survey.vocabulary import queries
from survey.vocabulary.models import Term

TERMS = queries.read_data("terms")
NO_SOURCE = "Common practice, no source"

CORE_TERMS = """
handling crease | soft fold | planar distortion | cockling | hinge | hinge residue | skinned area
thinned area | tear | loss | puncture | abrasion | foxing | tideline | mat burn | light darkening
local stain | adhesive stain | offset | smudging | flaking | fading | insect grazing | active mould
old mould | fill | lining | fixative | varnish | incised lines | plate mark | chain lines
chain shadows | laid lines | watermark | brush marks from drying | collector's stamp
"""


def codes(entries: list[dict[str, Any]]) -> list[str]:
    return [entry["code"] for entry in entries]


def sentences() -> list[str]:
    """Every sentence a person reads, from every file."""
    found: list[str] = []

    def walk(value: Any) -> None:
        if isinstance(value, dict):
            for part in value.values():
                walk(part)
        elif isinstance(value, list):
            for part in value:
                walk(part)
        elif isinstance(value, str):
            found.append(value)

    for name in ("lights", "terms", "cautions", "hazards", "grades", "kinds_of_work", "groups"):
        walk(queries.read_data(name))
    return found


def test_the_five_lights_stand_in_their_order():
    assert codes(queries.lights()) == ["normal", "raking", "transmitted", "specular", "ultraviolet"]
    assert [light["code"] for light in queries.lights() if light["has_azimuth"]] == ["raking"]


def test_there_are_at_least_eighty_terms():
    assert len(TERMS) >= 80


@pytest.mark.parametrize("name", re.split(r"[|\n]", CORE_TERMS.strip()))
def test_the_core_terms_are_there_by_name(name):
    assert name.strip() in {term["name"].lower() for term in TERMS}


def test_codes_and_names_are_unique():
    for entries in (TERMS, queries.lights(), queries.cautions(), queries.hazards()):
        for key in ("code", "name"):
            counted = Counter(entry[key].lower() for entry in entries)
            assert [value for value, times in counted.items() if times > 1] == []


def test_material_codes_are_unique_throughout():
    counted = Counter(code for entries in queries.materials().values() for code in codes(entries))
    assert set(queries.materials()) == {"supports", "media", "mounts"}
    assert [code for code, times in counted.items() if times > 1] == []


def test_codes_are_slugs_that_fit_their_column():
    for term in TERMS:
        assert re.fullmatch(r"[a-z0-9-]{1,64}", term["code"]), term["code"]


def test_terms_name_only_codes_that_exist():
    lights, hazards = set(codes(queries.lights())), set(codes(queries.hazards()))
    for term in TERMS:
        assert term["group"] in Term.Group.values, term["code"]
        assert term["lights"] and set(term["lights"]) <= lights, term["code"]
        assert len(set(term["lights"])) == len(term["lights"]), term["code"]
        assert set(term["hazards"]) <= hazards, term["code"]
        assert term.get("caution") in {None, *codes(queries.cautions())}, term["code"]


def test_terms_are_defined_in_sentences_that_say_more_than_their_names():
    for term in TERMS:
        assert len(term["definition"].split()) >= 9, term["code"]
        assert term["definition"].endswith("."), term["code"]


def test_terms_that_may_be_damage_have_three_different_anchors():
    for term in TERMS:
        if term["anchors"] or not term["may_be_feature"]:
            assert list(term["anchors"]) == ["slight", "moderate", "severe"], term["code"]
            assert len(set(term["anchors"].values())) == 3, term["code"]
            assert all(len(words.split()) >= 3 for words in term["anchors"].values()), term["code"]


def test_no_severity_anchor_borrows_the_authority_of_a_source():
    for term in TERMS:
        if term["anchors"] and term["source"] != NO_SOURCE:
            assert term["source"].endswith("; the severity anchors are our own"), term["code"]


def test_no_two_terms_are_defined_in_the_same_words():
    openings = Counter(" ".join(term["definition"].lower().split()[:6]) for term in TERMS)
    assert [words for words, times in openings.items() if times > 1] == []


def test_every_light_shows_terms_and_each_group_has_some():
    shown = Counter(light for term in TERMS for light in term["lights"])
    first = Counter(term["lights"][0] for term in TERMS)
    for light in codes(queries.lights()):
        assert shown[light] >= 3
        assert first[light] >= 3, f"{light} should be the most telling light of some terms"
    assert {term["group"] for term in TERMS} == set(Term.Group.values)


def test_every_group_is_described_in_the_order_of_the_report():
    assert codes(queries.groups()) == Term.Group.values
    groups = [term["group"] for term in TERMS]
    assert groups == sorted(groups, key=Term.Group.values.index)


@pytest.mark.parametrize(
    ("code", "hazards"),
    [
        ("active-mould", ["active-mould"]),
        ("old-mould", []),
        ("live-insects", ["live-insects"]),
        ("flaking", ["flaking-media"]),
        ("friable-media", []),
        ("active-offset", ["offsetting-media"]),
        ("offset", []),
        ("wet", ["wet"]),
        ("loose-piece", ["loose-parts"]),
        ("unsafe-hanging", ["unsafe-hanging"]),
    ],
)
def test_a_term_raises_a_hazard_only_while_the_harm_goes_on(code, hazards):
    assert next(term for term in TERMS if term["code"] == code)["hazards"] == hazards


def test_every_hazard_is_raised_by_some_term_and_names_its_caution():
    raised = {hazard for term in TERMS for hazard in term["hazards"]}
    assert raised == set(codes(queries.hazards()))
    assert {hazard["caution"] for hazard in queries.hazards()} <= set(codes(queries.cautions()))


def test_a_term_that_raises_a_hazard_says_what_to_beware_of():
    assert [term["code"] for term in TERMS if term["hazards"] and not term.get("caution")] == []


def test_a_feature_of_making_raises_no_hazard():
    making = [term for term in TERMS if term["group"] == Term.Group.MAKING]
    assert all(term["may_be_feature"] and not term["hazards"] for term in making)


def test_every_caution_defers_to_local_rules_and_is_shown_somewhere():
    shown = {light["caution"] for light in queries.lights()}
    shown |= {term.get("caution") for term in TERMS}
    for caution in queries.cautions():
        assert caution["code"] in shown
        assert len(caution["text"]) >= 3
        assert caution["defer"].endswith(".")
        assert caution["source"]


def test_ultraviolet_warns_of_eyes_and_skin_and_of_the_sheet():
    light = next(light for light in queries.lights() if light["code"] == "ultraviolet")
    caution = next(c for c in queries.cautions() if c["code"] == light["caution"])
    text = " ".join(caution["text"]).lower()
    for word in ("eyes", "skin", "eyewear", "short"):
        assert word in text


def test_mould_asks_for_gloves_respirator_and_isolation():
    text = " ".join(next(c for c in queries.cautions() if c["code"] == "mould")["text"]).lower()
    for word in ("gloves", "respirator", "bag", "isolate"):
        assert word in text


def test_sentences_use_no_doubled_word_and_no_stray_space():
    for sentence in sentences():
        assert sentence == sentence.strip()
        assert "  " not in sentence
        assert not re.search(r"\b(\w+) \1\b", sentence.lower()), sentence


def test_every_number_with_a_length_or_area_has_its_unit():
    for term in TERMS:
        for words in term["anchors"].values():
            for number in re.findall(r"\d+(?: to \d+)?(?= |,|;|\.)[^,;.]*", words):
                assert re.match(r"\d+(?: to \d+)? (mm²?|cm²?)\b|1 cm deep", number), (
                    f"{term['code']}: {words}"
                )
