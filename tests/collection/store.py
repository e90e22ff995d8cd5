"""A small store, and what is found on a walk through it."""

from typing import Any

from survey.catalogue.models import Location, Object
from survey.collection.models import CollectionSurvey, SurveyPlace
from survey.examination.models import Examination, Visit
from tests.factories import (
    ExaminationFactory,
    LocationFactory,
    ObjectFactory,
    ObservationFactory,
    RecommendationFactory,
)


def place(name: str, kind: str, above: Location | None = None, order: int = 0) -> Location:
    return LocationFactory(name=name, kind=kind, parent=above, order=order)


def small_store(*, a_shelf: int = 10) -> list[Location]:
    """Two rooms of a chest with two drawers each. The names order them against their letters."""
    site = place("Quay", "site")
    drawers = []
    for order, room in enumerate(("West room", "East room")):
        chest = place("Chest", "unit", place(room, "room", site, order))
        drawers += [place(f"Drawer {n}", "shelf", chest, n) for n in (1, 2)]
    for shelf, drawer in enumerate(drawers, 1):
        for number in range(a_shelf, 0, -1):
            ObjectFactory(location=drawer, accession_number=f"{shelf}.{number}", media="Etching")
    return drawers


def examine(place: SurveyPlace, **values: Any) -> Examination:
    """A signed examination on the walk that the place was handed out with."""
    assert place.stop is not None
    return examine_on(place.stop.visit, place.object, **values)


def examine_on(
    visit: Visit,
    item: Object,
    *,
    damage: tuple[str, ...] = (),
    features: tuple[str, ...] = (),
    unsure: tuple[str, ...] = (),
    work: tuple[tuple[str, float | None], ...] = (),
    signed: bool = True,
    **values: Any,
) -> Examination:
    made: Examination = ExaminationFactory(visit=visit, object=item, signed=signed, **values)
    for nature, codes in (("damage", damage), ("feature", features), ("unsure", unsure)):
        for code in codes:
            ObservationFactory(examination=made, term__code=code, nature=nature)
    for kind, hours in work:
        RecommendationFactory(examination=made, kind_of_work=kind, hours=hours)
    return made


def handed_out(survey: CollectionSurvey) -> list[SurveyPlace]:
    return list(survey.places.exclude(stop=None).select_related("stop__visit", "object", "stratum"))
