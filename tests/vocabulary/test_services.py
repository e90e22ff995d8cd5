"""Loading our terms, and a department's own: added, retired, offered again."""

import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command

from survey.vocabulary import queries, services
from survey.vocabulary.models import Term
from tests.factories import ObservationFactory

pytestmark = pytest.mark.django_db

GOOD = {
    "group": "media",
    "name": "Wax drip",
    "definition": "A drop of wax from a candle, standing on the face with a halo round it.",
    "lights": ["specular", "raking"],
    "anchors": {"slight": "One drop.", "moderate": "Up to five.", "severe": "More than five."},
}


def refusal(**changes: object) -> dict[str, list[str]]:
    with pytest.raises(ValidationError) as refused:
        services.add_term(**(GOOD | changes))  # type: ignore[arg-type]
    return refused.value.message_dict


def by_code(code: str) -> queries.Entry:
    return next(term for term in queries.terms() if term["code"] == code)


def test_migrating_leaves_every_term_of_the_file_in_the_table():
    in_file = [term["code"] for term in queries.read_data("terms")]
    assert [term["code"] for term in queries.terms()] == in_file


def test_migrating_again_loads_a_term_that_went_missing():
    Term.objects.get(code="tear").delete()
    call_command("migrate", verbosity=0)
    assert Term.objects.filter(code="tear").exists()


def test_loading_twice_changes_nothing():
    before = list(Term.objects.values())
    services.load_terms()
    assert list(Term.objects.values()) == before


def test_loading_brings_an_altered_term_back_to_the_file():
    written = by_code("foxing")
    Term.objects.filter(code="foxing").update(definition="Spots.", caution="mould", order=1)
    services.load_terms()
    assert by_code("foxing") == written
    assert Term.objects.get(code="foxing").order > 1


def test_loading_leaves_a_departments_own_terms_alone():
    own = services.add_term(**GOOD)
    Term.objects.filter(code="tear").update(is_departmental=True, definition="Our own words.")
    services.load_terms()
    assert Term.objects.get(code=own.code).definition == GOOD["definition"]
    assert Term.objects.get(code="tear").definition == "Our own words."


def test_loading_does_not_offer_a_retired_term_again():
    retired_at = services.retire_term("fly-specks").retired_at
    services.load_terms()
    assert Term.objects.get(code="fly-specks").retired_at == retired_at


def test_it_adds_a_term_under_a_code_made_from_its_name():
    services.add_term(**GOOD)
    added = by_code("wax-drip")
    assert added["is_departmental"] and not added["retired"]
    assert added["lights"] == ["specular", "raking"]
    assert added["source"] == "Common practice, no source"
    assert added["caution"] is None


def test_a_departments_term_stands_after_ours():
    services.add_term(**GOOD)
    assert queries.terms()[-1]["code"] == "wax-drip"


def test_a_feature_needs_no_anchors_but_damage_does():
    assert services.add_term(**(GOOD | {"may_be_feature": True, "anchors": None})).anchors == {}
    assert "anchors" in refusal(name="Other drip", anchors=None)
    assert "anchors" in refusal(name="Other drip", anchors={"slight": "One.", "severe": "Many."})


@pytest.mark.parametrize(
    "name", ["Tear", "  tear ", "Pressure-sensitive TAPE", "Collector’s stamp"]
)
def test_it_refuses_a_name_that_is_taken(name):
    assert "already" in refusal(name=name)["name"][0]


def test_it_points_to_the_retired_term_of_that_name():
    services.retire_term("tear")
    assert "Offer it again" in refusal(name="Tear")["name"][0]


@pytest.mark.parametrize(
    ("field", "value", "word"),
    [
        ("name", " …", "letters"),
        ("name", "x" * 81, "80"),
        ("group", "sundries", "support-structure"),
        ("definition", "  ", "neighbours"),
        ("lights", [], "light"),
        ("lights", ["moonlight"], "moonlight"),
        ("hazards", ["dragons"], "dragons"),
        ("caution", "dragons", "dragons"),
        ("source", "x" * 301, "300"),
    ],
)
def test_it_says_of_each_field_what_to_mend(field, value, word):
    wrong = refusal(**{field: value})
    assert list(wrong) == [field]
    assert word in wrong[field][0]
    assert not Term.objects.filter(is_departmental=True).exists()


def test_it_names_all_that_is_wrong_at_once():
    assert set(refusal(group="", lights=[], definition="")) == {"group", "lights", "definition"}


def test_an_observation_of_a_retired_term_still_reads():
    observation = ObservationFactory(term=services.add_term(**GOOD))
    services.retire_term("wax-drip")
    observation.refresh_from_db()
    assert observation.term.name == "Wax drip"
    read = by_code("wax-drip")
    assert read["retired"] and read["definition"] == GOOD["definition"]


def test_retiring_again_keeps_the_first_date():
    first = services.retire_term("tear").retired_at
    assert services.retire_term("tear").retired_at == first


def test_a_retired_term_can_be_offered_again():
    services.retire_term("tear")
    services.offer_term_again("tear")
    assert not by_code("tear")["retired"]


def test_retiring_an_unknown_term_is_an_error():
    with pytest.raises(Term.DoesNotExist):
        services.retire_term("no-such-term")
