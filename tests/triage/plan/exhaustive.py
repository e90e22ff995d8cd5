"""The best measure there is, found by trying every plan of a small problem, day by day.

Shares no reckoning with the code it checks: here people take up slots of a quarter of an hour.
"""

from collections.abc import Iterator
from itertools import pairwise, permutations, product

from survey.triage.plan.measure import Measure
from survey.triage.plan.problem import Job, Problem, Worker


def best(problem: Problem) -> Measure | None:
    """None when no plan keeps the pins."""
    jobs = [job for job in problem.jobs if can_be_placed(problem, job)]
    found = [
        measured for lines in every_plan(problem, jobs) if (measured := tried(problem, jobs, lines))
    ]
    return min(found, default=None)


def can_do(one: Worker, job: Job) -> bool:
    return one.key == job.whose or (not job.whose and job.skill in one.skills)


def can_be_placed(problem: Problem, job: Job) -> bool:
    before = [one for one in problem.jobs if one.key in job.after]
    people = [one for one in problem.workers if any(one.quarters) and can_do(one, job)]
    return bool(people) and all(can_be_placed(problem, one) for one in before)


def every_plan(problem: Problem, jobs: list[Job]) -> Iterator[dict[str, tuple[Job, ...]]]:
    """Every way to give each piece of work to somebody or nobody, in every order."""
    choices = [[None, *(one.key for one in problem.workers if can_do(one, job))] for job in jobs]
    for chosen in product(*choices):
        given = {
            one.key: [job for job, key in zip(jobs, chosen, strict=True) if key == one.key]
            for one in problem.workers
        }
        for orders in product(*(permutations(line) for line in given.values())):
            yield dict(zip(given, orders, strict=True))


def tried(problem: Problem, jobs: list[Job], lines: dict[str, tuple[Job, ...]]) -> Measure | None:
    """The measure of one plan, or None when it cannot be kept."""
    slots = {
        one.key: [day for day, number in enumerate(one.quarters) for _ in range(number)]
        for one in problem.workers
    }
    used = dict.fromkeys(slots, 0)
    done: dict[str, tuple[str, int]] = {}
    todo = {key: list(line) for key, line in lines.items()}
    while any(todo.values()):
        ready = [
            key for key, line in todo.items() if line and all(one in done for one in line[0].after)
        ]
        if not ready:
            return None
        key = ready[0]
        job = todo[key].pop(0)
        first = max(
            [job.not_before, *(done[one][1] + 1 for one in job.after if done[one][0] != key)]
            + ([job.pin.day] if job.pin else [])
        )
        while used[key] < len(slots[key]) and slots[key][used[key]] < first:
            used[key] += 1
        taken = slots[key][used[key] : used[key] + round(job.likely * 4)]
        if len(taken) < round(job.likely * 4):
            return None
        if job.pin and (job.pin.worker, job.pin.day) != (key, taken[0]):
            return None
        used[key] += len(taken)
        done[job.key] = (key, taken[-1])
    if any(job.pin and job.key not in done for job in jobs):
        return None
    return measured(problem, jobs, lines, {key: day for key, (_, day) in done.items()})


def measured(
    problem: Problem, jobs: list[Job], lines: dict[str, tuple[Job, ...]], done: dict[str, int]
) -> Measure:
    dated = [job for job in jobs if job.due is not None]
    above = 1 + sum(job.weight for job in dated if not job.is_hazard)
    days = {job.key: done.get(job.key, len(problem.workers[0].quarters)) for job in jobs}
    late = [job for job in dated if job.due and days[job.key] > job.due - job.setting_days]
    late += [job for job in dated if job.due == 0 and days[job.key] > -job.setting_days]
    return Measure(
        late=sum(job.weight + (above if job.is_hazard else 0) for job in late),
        left_out=sum(job.weight for job in jobs if job.key not in done),
        hazards=sum(days[job.key] + 1 for job in jobs if job.is_hazard),
        days_late=sum(
            job.weight * (days[job.key] - ((job.due or 0) - job.setting_days)) for job in late
        ),
        switches=sum(
            (one.skill != other.skill) + (one.project != other.project)
            for line in lines.values()
            for one, other in pairwise(line)
        ),
    )
