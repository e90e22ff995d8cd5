"""What a plan leaves late, by how much, and the least that would bring it back in time.

A way out counts only if a plan with it is found in which this work is on time and nothing is late
instead. That no less would do is said only where the hours alone prove it: for ``InTime`` is the
least that any plan can have late.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from survey.triage.plan.by_hand import drafted, insert, move, settle
from survey.triage.plan.draft import Draft
from survey.triage.plan.measure import Orders, measure, timed
from survey.triage.plan.problem import Job, PinsCollide, Problem, Worker, last_or_never, may_do

# Tells the least that can be late under a problem, and who then does what.
Least = Callable[[Problem], tuple[int, dict[str, str]]]


# In greater departments the rest of the plan stays as it is while ways out are looked for.
MOST_JOBS = 120


@dataclass(frozen=True)
class Way:
    """One way out for one piece of work.

    kind      ``hours``: so many more quarters of an hour of a person, on any days until its last;
              ``person``: that somebody can do it who cannot now; ``hold``: its hold ends so many
              days sooner; ``date``: so many days later; ``scope``: so many quarters of an hour
              less work
    amount    of that; 0 for a person
    worker    whose hours, or who
    is_least  proven that no less would do
    """

    kind: str
    amount: int
    worker: str = ""
    is_least: bool = False


@dataclass(frozen=True)
class Late:
    """Work that is late in a plan.

    days     working days of its person after its last day; None when it does not fit at all
    ways     what would bring it back in time, the least of each kind
    """

    job: Job
    days: int | None
    ways: tuple[Way, ...]


def what_is_late(problem: Problem, orders: Orders, least: Least | None = None) -> list[Late]:
    """Everything late, what matters most first, with ways out.

    least  proves that no less would do; None where there is no solver
    """
    placed = timed(problem, orders)
    if placed is None:
        raise ValueError("These orders cannot be kept.")
    found = []
    for job in problem.placeable:
        one = placed.get(job.key)
        last = job.last_day
        if last is None or (one.done if one else problem.days) <= last:
            continue
        days = None
        if one is not None:
            after = one.worker.quarters[max(0, last + 1) : one.done + 1]
            days = sum(quarters > 0 for quarters in after)
        found.append(Late(job, days, tuple(_Ways(problem, orders, job, least))))
    return sorted(found, key=lambda late: (-problem.late_costs[late.job.key], late.job.key))


class _Ways:
    def __init__(self, problem: Problem, orders: Orders, job: Job, least: Least | None) -> None:
        self.problem = problem
        self.orders = orders
        self.job = job
        self.least = least
        self.is_thorough = least is not None and len(problem.jobs) <= MOST_JOBS
        # What may be late with a way out: all that is now, but for this.
        self.most = measure(problem, orders).late - problem.late_costs[job.key]

    def __iter__(self) -> Iterator[Way]:
        job, problem = self.job, self.problem
        last = job.last_day
        assert last is not None
        if last >= problem.today:
            hours = [
                way
                for worker in problem.workers
                if may_do(worker, job)
                for way in self._least("hours", job.quarters, worker)
            ]
            yield from sorted(hours, key=lambda way: (way.amount, way.worker))[:1]
            for worker in problem.workers:
                if not job.whose and worker.in_all and not may_do(worker, job):
                    way = Way("person", 0, worker.key)
                    if self._is_any_way(self._with(way)):
                        yield way
            yield from self._least("hold", job.not_before - problem.today)
            yield from self._least("scope", job.quarters - 1)
        yield from self._least("date", problem.days - 1 - last)

    def _least(self, kind: str, most: int, worker: Worker | None = None) -> Iterator[Way]:
        """The least amount that is a way out, if any is."""

        def ways(amount: int) -> Problem:
            return self._with(Way(kind, amount, worker.key if worker else ""))

        if most < 1 or not self._is_any_way(ways(most)):
            return
        some = _bisected(0, most, lambda amount: self._is_any_way(ways(amount)))
        late, _ = self._least_of(ways(some - 1))
        yield Way(kind, some, worker.key if worker else "", late > self.most)

    def _with(self, way: Way) -> Problem:
        """The problem with a way out taken."""
        job, problem = self.job, self.problem
        if way.kind == "hours":
            assert job.last_day is not None
            # On the last day: what helps there helps on any day before.
            return _with_worker(problem, way.worker, lambda one: _more(one, job, way.amount))
        if way.kind == "person":
            return _with_worker(
                problem, way.worker, lambda one: replace(one, skills=one.skills | {job.skill})
            )
        if way.kind == "date":
            assert job.due is not None
            changed = replace(job, due=job.due + way.amount)
        elif way.kind == "hold":
            changed = replace(job, not_before=job.not_before - way.amount)
        else:
            hours = (job.quarters - way.amount) / 4
            changed = replace(job, likely=hours, low=min(job.low, hours))
        jobs = tuple(changed if one.key == job.key else one for one in problem.jobs)
        return replace(problem, jobs=jobs)

    def _is_way(self, problem: Problem) -> bool:
        """Whether it is on time and no more is late than now, others staying where they are."""
        job = problem.by_key[self.job.key]
        try:
            draft = Draft(problem, self.orders)
        except ValueError:
            return False
        if job.key in draft.home:
            move(draft, job, is_everywhere=True)
        elif draft.can_follow(job):
            insert(draft, job)
        return self._is_good(draft, job)

    def _is_any_way(self, problem: Problem) -> bool:
        return self._is_way(problem) or (self.is_thorough and self._is_way_anew(problem))

    def _is_way_anew(self, problem: Problem) -> bool:
        """The same, all work being given out anew."""
        late, given = self._least_of(problem)
        if late > self.most:
            return False
        try:
            draft = drafted(problem, given)
        except PinsCollide:
            return False
        settle(draft)
        return self._is_good(draft, problem.by_key[self.job.key]) or self._is_way(problem)

    def _least_of(self, problem: Problem) -> tuple[int, dict[str, str]]:
        return self.least(problem) if self.least else (0, {})

    def _is_good(self, draft: Draft, job: Job) -> bool:
        is_in_time = draft.done.get(job.key, draft.problem.days) <= last_or_never(job)
        return is_in_time and measure(draft.problem, draft.lines).late <= self.most


def _bisected(none: int, some: int, is_way: Callable[[int], bool]) -> int:
    """The least amount that is one, between one that is none and one that is."""
    while some - none > 1:
        tried = (none + some) // 2
        if is_way(tried):
            some = tried
        else:
            none = tried
    return some


def _with_worker(problem: Problem, key: str, change: Callable[[Worker], Worker]) -> Problem:
    workers = tuple(change(one) if one.key == key else one for one in problem.workers)
    return replace(problem, workers=workers)


def _more(worker: Worker, job: Job, amount: int) -> Worker:
    last = min(job.last_day or 0, len(worker.quarters) - 1)
    quarters = list(worker.quarters)
    quarters[last] += amount
    return replace(worker, quarters=tuple(quarters))
