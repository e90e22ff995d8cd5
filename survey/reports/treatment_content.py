"""What the reports of a treatment say: what is proposed, and what was then done."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from survey.access.models import Person
from survey.examination.models import Recommendation
from survey.reading.queries import lies_of
from survey.reports.chosen import chosen_of
from survey.reports.content import Facts, given, lacks_of, made_facts, object_facts
from survey.reports.figures import Figure, figures_of
from survey.reports.job import Say
from survey.reports.treatment_words import decision_in_words, standing_in_words
from survey.reports.words import (
    calendar_day,
    day_in_words,
    entry_name,
    moment_in_words,
)
from survey.treatment.kinds import Warned, warnings_at
from survey.treatment.models import (
    RecordStep,
    TreatmentProposal,
    TreatmentRecord,
)
from survey.treatment.models.steps import Step
from survey.vocabulary import queries as vocabulary


@dataclass(frozen=True)
class StepTold:
    """A step in words. ``beside``: who did it when, or how it fared."""

    number: int
    name: str
    what: str
    material: str
    hours: str
    beside: str
    seen: str = ""


@dataclass(frozen=True)
class LightShown:
    """The photographs of one side under one light, in pairs: (moment, photograph), in the order
    before, during, after."""

    name: str
    pairs: list[list[tuple[str, Figure]]]


@dataclass(frozen=True)
class TreatmentContent:
    """All of the report of a proposal, or of a record with its proposal.

    standing  how it stands, in a sentence
    kind      what the document is called
    done      steps as they were done; none in the report of a proposal
    """

    kind: str
    number: str
    title: str
    day: str
    standing: str
    is_settled: bool
    author: str
    object: Facts
    proposal: Facts
    made: Facts
    aim: str
    steps: list[StepTold]
    planned: str
    risks: str
    alternatives: str
    decisions: list[str]
    warnings: list[Warned]
    is_record: bool
    outcome: str
    look_again_on: str
    done: list[StepTold]
    spent: str
    lights: list[LightShown]
    figures: list[Figure]
    lacks: str

    @property
    def has_scale(self) -> bool:
        return any(figure.scale for figure in self.figures)


def proposal_content_of(
    proposal: TreatmentProposal, maker: Person, tells: str, made_with: str
) -> TreatmentContent:
    """Of what is proposed. maker, tells, made_with: see content_of."""
    steps = list(proposal.steps.all())
    return _content(
        proposal,
        kind="Treatment proposal",
        made=made_facts(maker, tells, made_with, ""),
        steps=[_proposed(number, one, "") for number, one in enumerate(steps, start=1)],
        warned_of=steps,
    )


def record_content_of(
    record: TreatmentRecord, maker: Person, tells: str, made_with: str, say: Say
) -> TreatmentContent:
    """Of what was done, with the proposal it carries out; previews are made where none is kept."""
    proposal = record.proposal
    steps, done = (
        list(proposal.steps.all()),
        list(record.steps.select_related("done_by", "proposed")),
    )
    say(0.05, "Opening the photographs")
    lights = _lights(record)
    figures = [one for light in lights for pair in light.pairs for _, one in pair]
    carried = {one.proposed_id for one in done}
    return _content(
        proposal,
        kind="Treatment record",
        made=made_facts(maker, tells, made_with, lacks_of(figures)),
        steps=[
            _proposed(number, one, "Carried out" if one.pk in carried else "Not carried out")
            for number, one in enumerate(steps, start=1)
        ],
        warned_of=[] if record.is_closed else [*steps, *done],
        record=record,
        done=[_done(number, one) for number, one in enumerate(done, start=1)],
        spent=_hours(done),
        lights=lights,
        figures=figures,
    )


def _content(
    proposal: TreatmentProposal,
    *,
    kind: str,
    made: Facts,
    steps: list[StepTold],
    warned_of: Sequence[Step],
    record: TreatmentRecord | None = None,
    done: Sequence[StepTold] = (),
    spent: str = "",
    lights: Sequence[LightShown] = (),
    figures: Sequence[Figure] = (),
) -> TreatmentContent:
    item = proposal.object
    day = record.closed_at or record.begun_at if record else proposal.put_forward_at
    return TreatmentContent(
        kind=kind,
        number=item.accession_number,
        title=item.title,
        day=day_in_words(day or proposal.made_at),
        standing=standing_in_words(proposal),
        is_settled=record.is_closed if record else not proposal.is_open,
        author=(record.begun_by if record else proposal.proposed_by).name,
        object=object_facts(proposal.examination),
        proposal=_facts(proposal, record),
        made=made,
        aim=proposal.aim,
        steps=steps,
        planned=_hours(proposal.steps.all()),
        risks=proposal.risks,
        alternatives=proposal.alternatives,
        decisions=[decision_in_words(one) for one in reversed(proposal.decisions.all())],
        warnings=warnings_at([one.kind for one in warned_of]),
        is_record=record is not None,
        outcome=record.outcome if record else "",
        look_again_on=calendar_day(record.look_again_on) if record and record.look_again_on else "",
        done=list(done),
        spent=spent,
        lights=list(lights),
        figures=list(figures),
        lacks=lacks_of(list(figures)),
    )


def _facts(proposal: TreatmentProposal, record: TreatmentRecord | None) -> Facts:
    examination = proposal.examination
    work = proposal.recommendation
    seen = f"{day_in_words(examination.started_at)}, {examination.examiner.name}"
    put_forward = moment_in_words(proposal.put_forward_at) if proposal.put_forward_at else "Not yet"
    return given(
        [
            ("Answers to", f"The examination of {seen}"),
            (
                "Takes up",
                work_in_words(work) if work else "",
            ),
            ("Proposed by", proposal.proposed_by.name),
            ("Put forward", put_forward),
            ("Begun", _when(record.begun_by, record.begun_at) if record else ""),
            (
                "Closed",
                _when(record.closed_by, record.closed_at)
                if record and record.closed_by
                else ("Not yet" if record else ""),
            ),
        ]
    )


def work_in_words(work: Recommendation) -> str:
    """``Treat: mend the tear``."""
    kind = entry_name(vocabulary.kinds_of_work(), work.kind_of_work)
    return f"{kind}: {work.note}" if work.note else kind


def _when(person: Person, moment: object) -> str:
    return f"{person.name}, {moment_in_words(moment)}"


def _proposed(number: int, step: Step, beside: str) -> StepTold:
    return StepTold(
        number, step.kind_name, step.what, step.material_in_words, f"{step.hours:g} h", beside
    )


def _done(number: int, step: RecordStep) -> StepTold:
    beside = f"{calendar_day(step.done_on)}, {step.done_by.name}"
    if step.proposed is None:
        beside += "; not foreseen in the proposal"
    return StepTold(
        number,
        step.kind_name,
        step.what,
        step.material_in_words,
        f"{step.hours:g} h",
        beside,
        step.seen,
    )


def _hours(steps: Iterable[Step]) -> str:
    return f"{sum(one.hours for one in steps):g} h"


def _lights(record: TreatmentRecord) -> list[LightShown]:
    """By side and light, so that a state is found beside its like."""
    chosen = chosen_of(record)
    plates = [one.plate for one in chosen]
    examinations = {one.chosen.photograph.examination for one in chosen}
    lies = {key: lie for one in examinations for key, lie in lies_of(one).items()}
    figures = figures_of(plates, [], lies, None, widest=False)
    of: dict[str, list[tuple[str, Figure]]] = {}
    for one, figure in zip(chosen, figures, strict=True):
        of.setdefault(one.plate.name, []).append((one.chosen.get_moment_display(), figure))
    return [
        LightShown(name, [shown[at : at + 2] for at in range(0, len(shown), 2)])
        for name, shown in of.items()
    ]
