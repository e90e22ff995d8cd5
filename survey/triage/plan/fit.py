"""A plan fitted again, after a pin or another small change: as little else moves as can be."""

from collections.abc import Mapping, Sequence

from survey.triage.plan.by_hand import in_turn, insert, settle, with_all_before
from survey.triage.plan.draft import Draft
from survey.triage.plan.measure import Orders
from survey.triage.plan.problem import Problem


def fitted(problem: Problem, last: Mapping[str, Sequence[str]]) -> Orders | None:
    """The last plan with the pins kept and all else in the same order at the same people, as far
    as that can be; None when these rules find no way to keep the pins.

    last  keys of work in the order each person did it; what is no longer there is passed over
    """
    draft = Draft(problem)
    keys = with_all_before(problem, (job for job in problem.placeable if job.pin is not None))
    for job in in_turn(problem):
        if job.key in keys and not (draft.can_follow(job) and insert(draft, job)):
            return None
    _follow(draft, last)
    settle(draft)
    return draft.lines


def _follow(draft: Draft, last: Mapping[str, Sequence[str]]) -> None:
    """Put in the rest in the order of the last plan, between what is pinned."""
    jobs = {job.key: job for job in draft.problem.placeable if job.key not in draft.home}
    waiting = {
        key: [name for name in reversed(last.get(key, ())) if name in jobs] for key in draft.workers
    }
    at = dict.fromkeys(waiting, 0)
    went_on = True
    while went_on:
        went_on = False
        for key, line in waiting.items():
            while line and draft.can_follow(jobs[line[-1]]):
                name = line.pop()
                went_on = True
                if draft.workers[key] in draft.able[name]:
                    at[key] = _put(draft, key, name, at[key])


def _put(draft: Draft, key: str, name: str, first: int) -> int:
    """Put it in as soon as can be from a place in the line on. Returns the place after it."""
    line = draft.lines[key]
    for place in range(first, len(line) + 1):
        tried = (*line[:place], name, *line[place:])
        if draft.tried(key, tried) is not None:
            draft.set(key, tried)
            return place + 1
    return first
