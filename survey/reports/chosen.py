"""The photographs of a treatment's record, so that a state is found beside its like."""

from dataclasses import dataclass

from survey.reports.pictures import Plate, plates_of
from survey.treatment.models import ChosenPhotograph, TreatmentRecord
from survey.vocabulary import queries as vocabulary


@dataclass(frozen=True)
class Chosen:
    chosen: ChosenPhotograph
    plate: Plate


def chosen_of(record: TreatmentRecord) -> list[Chosen]:
    """By side, light and azimuth; under one light before, during, after."""
    chosen = {
        one.photograph_id: one
        for one in record.chosen.select_related("photograph__examination__object")
    }
    plates = plates_of({one.photograph.examination_id for one in chosen.values()})
    shown = [
        Chosen(chosen[plate.photograph.pk], plate)
        for of_one in plates.values()
        for plate in of_one
        if plate.photograph.pk in chosen
    ]
    moments = list(ChosenPhotograph.Moment)
    lights = [light["code"] for light in vocabulary.lights()]
    return sorted(
        shown,
        key=lambda one: (
            one.plate.photograph.side,
            lights.index(one.plate.photograph.light),
            one.plate.photograph.azimuth_deg or 0,
            moments.index(ChosenPhotograph.Moment(one.chosen.moment)),
            one.plate.photograph.taken_at,
        ),
    )
