"""The best plan that can be found in a given time, and how much better one could at most be.

First a model without any order of work says what can be on time at all; a plan is drafted from
that. Then each part of the measure in turn is made as little as can be, those before it being kept.
Switches are made few over all people at once in a small department, else one person after the
other.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from ortools.sat.python import cp_model

from survey.triage.plan.by_hand import drafted, improve, settle, tidy, with_all_before
from survey.triage.plan.draft import Draft
from survey.triage.plan.fit import fitted
from survey.triage.plan.measure import Measure, Orders, Schedule, measure, timed
from survey.triage.plan.model import ALL_LINEAR, Answer, Effort, InTime, Model, search
from survey.triage.plan.pins import check_pins
from survey.triage.plan.problem import PinsCollide, Problem, check, may_do

Say = Callable[[float, str], None]

# How much the solver works on each part, in its own units of work: see Effort.
WHAT_IS_LATE = 0.1
PROOF = 0.05
HOW_MANY_LATE = 0.05
WORK = {"late": 0.25, "left_out": 0.2, "hazards": 0.25, "days_late": 0.2, "switches": 0.4}
# A department with no more pairs of work that one person might do is planned as a whole. In a
# greater one, what has no date and is no hazard is put in afterwards, where it is in nobody's way.
MOST_PAIRS = 1500
# For a plan fitted again: by the clock, and of the usual work.
REFIT_SECONDS = 2.5
REFIT_SHARE = 0.15
# By the clock, for a bound alone.
LEAST_SECONDS = 2.0


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

    hint     a plan to begin from: it is only left for a better one
    seconds  by the clock, for all
    share    of the usual work of the solver

    Raises WrongInput and PinsCollide with a sentence.
    """
    check(problem)
    check_pins(problem)
    return _Solver(problem, seconds, share, say).run(hint)


def refit(problem: Problem, last: Orders, *, say: Say = lambda share, step: None) -> Solved:
    """A plan after a small change, soon: from the last plan on, with less work by the solver.

    Raises WrongInput and PinsCollide with a sentence.
    """
    check(problem)
    check_pins(problem)
    hint = fitted(problem, last)
    return solve(problem, hint=hint, seconds=REFIT_SECONDS, share=REFIT_SHARE, say=say)


def least_late(problem: Problem) -> tuple[int, dict[str, str]]:
    """The least that can be late in any plan, and who then does what; see ``InTime``."""
    solver = _Solver(problem, LEAST_SECONDS, 1.0, lambda share, step: None)
    return solver.least_late(problem.late_costs, PROOF)


class _Solver:
    def __init__(self, problem: Problem, seconds: float, share: float, say: Say) -> None:
        self.problem = problem
        self.share = share
        self.say = say
        self.began = time.monotonic()
        self.bound = self.fewest = 0
        self.ends = self.began + seconds
        self.was_cut = False
        self.proven: list[str] = []
        self.orders: Orders = {}
        self.best = Measure(0, 0, 0, 0, 0)
        self.model: Model | None = None
        self.found = False

    def run(self, hint: Orders | None) -> Solved:
        self.say(0.05, "Drafting a plan")
        self._begin(hint)
        self.say(0.3, "Making as little late as can be")
        self._lessen("late", self.bound)
        self.bound = self.least
        self._lessen("left_out", 0)
        # In a large department a plan that is fitted again keeps its order, which was made good
        # before: soon, and so that little moves.
        if self.is_small or hint is None:
            self._make_good()
        draft = Draft(self.problem, self.orders)
        tidy(draft)
        return Solved(
            draft.lines,
            measure(self.problem, draft.lines),
            self.bound,
            self.fewest,
            tuple(self.proven),
            self.was_cut,
            time.monotonic() - self.began,
        )

    def _make_good(self) -> None:
        """What comes after what is late, part after part."""
        self.say(0.5, "Bringing hazards forward")
        self._lessen("hazards", self._least_hazards())
        self.say(0.65, "Making late work less late")
        if self.is_small or not self.best.days_late:
            self._lessen("days_late", 0)
        self.say(0.75, "Taking out switches")
        self._fewer_switches()

    def _begin(self, hint: Orders | None) -> None:
        """A first plan, and the least that can be late."""
        if hint is not None:
            self._draft(lambda: Draft(self.problem, hint))
        if not self.found or (self.best.late and hint is None):
            self._draft(lambda: drafted(self.problem))
        if not self.found or self.best.late:
            costs = self.problem.late_costs
            self.bound, given = self.least_late(costs, WHAT_IS_LATE)
            if not self.found or hint is None or self.is_small:
                self._draft(lambda: drafted(self.problem, given))
        if not self.found:
            self._search_any()
        if self.best.late:
            costs = dict.fromkeys(self.problem.late_costs, 1)
            self.fewest, _ = self.least_late(costs, HOW_MANY_LATE)

    def _draft(self, begin: Callable[[], Draft]) -> None:
        try:
            draft = begin()
        except (PinsCollide, ValueError):
            return
        settle(draft)
        self._offer(draft.lines)

    def least_late(self, costs: dict[str, int], work: float) -> tuple[int, dict[str, str]]:
        """The least that can be late, and who then does what, as far as hours tell."""
        cp = cp_model.CpModel()
        in_time = InTime(self.problem, cp)
        late = in_time.late()
        cp.minimize(sum(costs[key] * one for key, one in late.items()))
        if self.found:
            in_time.hint(self._placed())
        answer = search(cp, self._effort(work), in_time.given, ALL_LINEAR)
        self._note(answer)
        return whole(answer.bound), answer.found or {}

    def _search_any(self) -> None:
        """Where rules found no plan: any that keeps the pins, or the proof that none does."""
        model = Model(self.problem)
        answer = model.search(model.late, self._effort(WORK["late"]))
        self._note(answer)
        if answer.found is not None:
            self._take(answer.found)
            return
        names = ", ".join(job.name for job in self.problem.placeable if job.pin is not None)
        found = "No plan keeps" if answer.is_impossible else "In this time no plan was found with"
        raise PinsCollide(
            f"{found} all these pins together: {names}. Take one of them away, or pin it to a "
            "later day."
        )

    def _take(self, orders: Orders) -> None:
        """What a search found, with all that it had no reason to place or to put in turn."""
        self._draft(lambda: Draft(self.problem, orders))
        if not self.is_small:
            placed = timed(self.problem, orders)
            assert placed is not None
            given = {key: one.worker.key for key, one in placed.items() if not one.is_late}
            self._draft(lambda: drafted(self.problem, given))

    def _model(self) -> Model:
        """Of everything; in a large department, of what may be late, hazards, pins, and what they
        wait for. What no plan of that can do, no plan of everything can."""
        if self.model is None:
            jobs = self.problem.placeable
            if not self.is_small:
                telling = (job for job in jobs if job.due is not None or job.is_hazard or job.pin)
                keys = with_all_before(self.problem, telling)
                jobs = tuple(job for job in jobs if job.key in keys)
            self.model = Model(self.problem, jobs)
        return self.model

    def _placed(self) -> Schedule:
        placed = timed(self.problem, self.orders)
        assert placed is not None
        return placed

    def _offer(self, orders: Orders) -> bool:
        """Take a plan if it keeps the pins and is better. Raises ValueError when it cannot be
        kept."""
        there = {key for line in orders.values() for key in line}
        if any(job.pin and job.key not in there for job in self.problem.placeable):
            return False
        found = measure(self.problem, orders)
        if self.found and found >= self.best:
            return False
        self.orders, self.best, self.found = orders, found, True
        return True

    def _lessen(self, part: str, least: int) -> None:
        """Make one part of the measure as little as can be, those before it being kept.

        least  what it cannot be less than, known beforehand
        """
        self.least = least
        if getattr(self.best, part) > least and self._has_time():
            model = self._model()
            for earlier in Measure._fields[: Measure._fields.index(part)]:
                model.keep(getattr(model, earlier), getattr(self.best, earlier))
            expression = getattr(model, part)
            model.hint(self._placed())
            answer = model.search(expression, self._effort(WORK[part]))
            self._note(answer)
            self.least = max(least, whole(answer.bound))
            if answer.found is not None:
                self._take(answer.found)
        is_proven = getattr(self.best, part) <= self.least
        if is_proven and len(self.proven) == Measure._fields.index(part):
            self.proven.append(part)

    def _least_hazards(self) -> int:
        """The soonest that hazards could be done were there nothing else to do."""
        keys = with_all_before(
            self.problem, (job for job in self.problem.placeable if job.is_hazard)
        )
        if not self._has_time() or not keys or len(keys) == len(self.problem.placeable):
            return 0
        model = Model(self.problem, (job for job in self.problem.placeable if job.key in keys))
        answer = model.search(model.hazards, self._effort(WORK["hazards"]))
        self._note(answer)
        return whole(answer.bound)

    def _fewer_switches(self) -> None:
        if self.is_small:
            self._lessen("switches", 0)
            return
        draft = Draft(self.problem, self.orders)
        improve(draft)
        self._offer(draft.lines)
        for worker in self.problem.workers:
            self._fewer_of(worker.key)

    def _fewer_of(self, key: str) -> None:
        """Fewer switches of one person, who keeps their work; nobody else's changes."""
        line = self.orders.get(key, ())
        if len(line) < 3 or not self._has_time():
            return
        placed = self._placed()
        model = Model(self.problem, [self.problem.by_key[name] for name in line], placed)
        least = model.switches
        model.hint(placed)
        work = WORK["switches"] / len(self.problem.workers)
        answer = model.search(least, self._effort(work))
        self._note(answer)
        if answer.found is not None:
            self._offer({**self.orders, key: answer.found[key]})

    @cached_property
    def is_small(self) -> bool:
        jobs, people = self.problem.placeable, self.problem.workers
        pairs = (sum(may_do(worker, job) for job in jobs) ** 2 for worker in people)
        return sum(pairs) <= MOST_PAIRS

    def _has_time(self) -> bool:
        if time.monotonic() < self.ends:
            return True
        self.was_cut = True
        return False

    def _effort(self, work: float) -> Effort:
        return Effort(work * self.share, max(0.05, self.ends - time.monotonic()))

    def _note(self, answer: Answer) -> None:
        self.was_cut = self.was_cut or answer.was_cut


def whole(bound: float) -> int:
    """Least whole number that a bound allows."""
    return max(0, int(-(-round(bound, 6) // 1)))
