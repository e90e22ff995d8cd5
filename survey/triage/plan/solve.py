"""The best plan that can be found in a given time, and how much better one could at most be.

First a model without any order of work says what can be on time at all; a plan is drafted from
that. Then each part of the measure in turn is made as little as can be, those before it being kept.
Switches are made few over all people at once in a small department, else one person after the
other.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from survey.triage.plan.by_hand import drafted, improve, with_all_before
from survey.triage.plan.draft import Draft
from survey.triage.plan.measure import Measure, Orders, measure, timed
from survey.triage.plan.model import Answer, Effort, Model, on_time, search
from survey.triage.plan.problem import PinsCollide, Problem, able, check

Say = Callable[[float, str], None]

# Of the solver's own units for the parts: which work is late at all, the plan of it, and the rest.
WHAT_IS_LATE = 1.5
LATE = 1.5
HAZARDS = 1.0
DAYS_LATE = 1.0
SWITCHES = 1.5
# The most pairs of work one after the other that are weighed for all people at once.
MOST_PAIRS = 1500


@dataclass(frozen=True)
class Solved:
    """A plan, and what is proven of it.

    bound        no plan has less than this in ``Measure.late``
    fewest_late  no plan has fewer pieces of work late
    proven       the parts of the measure, from the first on, that no plan makes less
    was_cut      the clock ended a search: another run may find another plan
    seconds      it took
    """

    orders: Orders
    measure: Measure
    bound: int
    fewest_late: int
    proven: tuple[str, ...]
    was_cut: bool
    seconds: float

    @property
    def is_best(self) -> bool:
        return self.proven == Measure._fields


def solve(
    problem: Problem,
    *,
    hint: Orders | None = None,
    seconds: float = 9.0,
    share: float = 1.0,
    say: Say = lambda share, step: None,
) -> Solved:
    """The best plan found. The same input gives the same plan, unless it was cut.

    hint     a plan to begin from, of which what can be kept is
    seconds  by the clock, for all
    share    of the usual work of the solver

    Raises WrongInput and PinsCollide with a sentence.
    """
    check(problem)
    return _Solver(problem, seconds, share, say).run(hint)


class _Solver:
    def __init__(self, problem: Problem, seconds: float, share: float, say: Say) -> None:
        self.problem = problem
        self.share = share
        self.say = say
        self.began = time.monotonic()
        self.ends = self.began + seconds
        self.was_cut = False
        self.proven: list[str] = []
        self.orders: Orders = {}
        self.best = Measure(0, 0, 0, 0, 0)
        self.model: Model | None = None

    def run(self, hint: Orders | None) -> Solved:
        self.say(0.05, "Asking what can be on time at all")
        self._begin(hint)
        self.say(0.4, "Making as little late as can be")
        self._lessen("late", LATE, self.bound)
        self.bound = max(self.bound, self.least)
        self._lessen("left_out", HAZARDS, 0)
        self.say(0.55, "Bringing hazards forward")
        self._lessen("hazards", HAZARDS, self._least_hazards())
        self.say(0.65, "Making late work less late")
        self._lessen("days_late", DAYS_LATE, 0)
        self.say(0.75, "Taking out switches")
        self._fewer_switches()
        return Solved(
            self.orders,
            self.best,
            self.bound,
            self.fewest,
            tuple(self.proven),
            self.was_cut,
            time.monotonic() - self.began,
        )

    def _begin(self, hint: Orders | None) -> None:
        """A first plan, and the least that can be late."""
        problem = self.problem
        self.bound, assigned = self._relaxed(problem.late_costs)
        self.fewest, _ = self._relaxed(dict.fromkeys(problem.late_costs, 1))
        self.found = False
        for begin in (
            (lambda: Draft(problem, hint)) if hint is not None else None,
            lambda: drafted(problem, assigned),
            lambda: drafted(problem),
        ):
            if begin is None or (self.found and self.best.late == self.bound):
                continue
            try:
                self._offer(begin().lines)
            except (PinsCollide, ValueError):
                continue
        if not self.found:
            self._search_any()

    def _relaxed(self, costs: dict[str, int]) -> tuple[int, dict[str, str]]:
        """The least that can be late were there no pins and no waiting, and who then does what."""
        problem = self.problem
        dated = [job for job in problem.placeable if job.key in costs]
        cp = cp_model.CpModel()
        able_for = {job.key: able(problem, job) for job in dated}
        at = {
            (job.key, worker.key): cp.new_bool_var("")
            for job in dated
            for worker in able_for[job.key]
        }
        for job in dated:
            cp.add_at_most_one(at[job.key, worker.key] for worker in able_for[job.key])
        late = on_time(cp, problem, dated, able_for, at)
        # What cannot be done by anybody in time is late whatever is done.
        if not late:
            return 0, {}
        cp.minimize(sum(costs[key] * one for key, one in late.items()))
        answer = search(
            cp,
            self._effort(WHAT_IS_LATE),
            lambda solver: {
                worker.key: tuple(
                    job.key
                    for job in dated
                    if (job.key, worker.key) in at
                    and solver.value(at[job.key, worker.key])
                    and (job.key not in late or not solver.value(late[job.key]))
                )
                for worker in problem.workers
            },
        )
        self._note(answer)
        orders = answer.orders or {}
        return _whole(answer.bound), {name: key for key, line in orders.items() for name in line}

    def _search_any(self) -> None:
        """Where rules found no plan: any that keeps the pins, or the proof that none does."""
        model = self._whole_model()
        answer = model.search(model.late, self._effort(LATE))
        self._note(answer)
        if answer.orders is not None:
            self._offer(answer.orders)
            return
        names = ", ".join(job.name for job in self.problem.placeable if job.pin is not None)
        found = "No plan keeps" if answer.is_impossible else "In this time no plan was found with"
        raise PinsCollide(
            f"{found} all these pins together: {names}. Take one of them away, or pin it to a "
            "later day."
        )

    def _whole_model(self) -> Model:
        if self.model is None:
            self.model = Model(self.problem)
        return self.model

    def _offer(self, orders: Orders) -> bool:
        """Take a plan if it is better. Raises ValueError when it cannot be kept."""
        found = measure(self.problem, orders)
        if self.found and found >= self.best:
            return False
        self.orders, self.best, self.found = orders, found, True
        return True

    def _lessen(self, part: str, work: float, least: int) -> None:
        """Make one part of the measure as little as can be, those before it being kept.

        least  what it cannot be less than, known beforehand
        """
        self.least = least
        if getattr(self.best, part) > least:
            model = self._whole_model()
            self._keep_before(model, part)
            placed = timed(self.problem, self.orders)
            assert placed is not None
            expression = getattr(model, part)
            model.hint(self.orders, placed)
            answer = model.search(expression, self._effort(work))
            self._note(answer)
            self.least = max(least, _whole(answer.bound))
            if answer.orders is not None:
                self._offer(answer.orders)
        if getattr(self.best, part) <= self.least and len(self.proven) == Measure._fields.index(
            part
        ):
            self.proven.append(part)

    def _keep_before(self, model: Model, part: str) -> None:
        for earlier in Measure._fields[: Measure._fields.index(part)]:
            model.keep(getattr(model, earlier), getattr(self.best, earlier))

    def _least_hazards(self) -> int:
        """The soonest that hazards could be done were there nothing else to do."""
        keys = with_all_before(
            self.problem, (job for job in self.problem.placeable if job.is_hazard)
        )
        if not keys or len(keys) == len(self.problem.placeable):
            return 0
        model = Model(self.problem, (job for job in self.problem.placeable if job.key in keys))
        answer = model.search(model.hazards, self._effort(HAZARDS))
        self._note(answer)
        return _whole(answer.bound)

    def _fewer_switches(self) -> None:
        model = self._whole_model() if self._pairs() <= MOST_PAIRS else None
        if model is not None:
            self._lessen("switches", SWITCHES, 0)
            return
        draft = Draft(self.problem, self.orders)
        improve(draft)
        self._offer(draft.lines)

    def _pairs(self) -> int:
        people = self.problem.workers
        jobs = self.problem.placeable
        return sum(sum(job.skill in worker.skills for job in jobs) ** 2 for worker in people)

    def _effort(self, work: float) -> Effort:
        return Effort(work * self.share, max(0.05, self.ends - time.monotonic()))

    def _note(self, answer: Answer) -> None:
        self.was_cut = self.was_cut or answer.was_cut


def _whole(bound: float) -> int:
    """Least whole number that a bound allows."""
    return max(0, int(-(-round(bound, 6) // 1)))
