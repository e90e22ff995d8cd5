"""A week plan as a constraint model for CP-SAT of OR-Tools.

Every piece of work may stand once, at one person, as a stretch of that person's working time;
stretches of one person do not overlap. Days come in only where they matter: for each such piece of
work and each day stands a yes or no, "done by the end of this day".
"""

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from ortools.sat.python import cp_model

from survey.triage.plan.measure import Orders, Placed, Schedule, switch
from survey.triage.plan.problem import Job, Problem, Worker, able

SEED = 1955
# One thread: the same input gives the same plan on every machine.
WORKERS = 1
# How much the solver reckons with linear relaxations: all for bounds, little where order counts.
LITTLE_LINEAR, ALL_LINEAR = 1, 2


@dataclass(frozen=True)
class Effort:
    """How long a search may last.

    work     in the solver's own units of work, near a second each; the same on every machine
    seconds  by the clock: a guard for slow machines, after which the plan may differ from run to
             run
    """

    work: float
    seconds: float


@dataclass(frozen=True)
class Answer:
    """What a search came to.

    found   None when nothing was found
    bound   no plan has less of what was made least
    """

    found: Any
    bound: float
    is_proven: bool
    is_impossible: bool
    was_cut: bool


class Model:
    """All or some of the work of a problem.

    jobs   must hold what its jobs wait for, unless ``stand`` says when that is done
    stand  a plan in which all other work stands still: these jobs stay with their people, and
           nothing that counts is done on a later day than there
    """

    def __init__(
        self,
        problem: Problem,
        jobs: Iterable[Job] | None = None,
        stand: Schedule | None = None,
    ) -> None:
        self.problem = problem
        self.jobs = tuple(problem.placeable if jobs is None else jobs)
        self.stand = stand
        self.cp = cp_model.CpModel()
        self.able = {
            job.key: able(problem, job) if stand is None else [stand[job.key].worker]
            for job in self.jobs
        }
        self.at: dict[tuple[str, str], Any] = {}
        self.start: dict[tuple[str, str], Any] = {}
        self.low: dict[tuple[str, str], int] = {}
        self.out: dict[str, Any] = {}
        self._done_by: dict[str, list[Any]] = {}
        self._in_time: InTime | None = None
        for job in self.jobs:
            self._place(job)
        for worker in problem.workers:
            self._one_at_a_time(worker)
        inside = {job.key for job in self.jobs}
        for job in self.jobs:
            for key in job.after:
                if key in inside:
                    self._wait(problem.by_key[key], job)
                elif stand is not None:
                    self._wait_for_standing(stand[key], job)
        if stand is not None:
            awaited = {key for job in problem.jobs if job.key not in inside for key in job.after}
            for job in self.jobs:
                self._be_no_later(job, stand[job.key], job.key in awaited)

    # What can be made least, each as in Measure.

    @cached_property
    def late(self) -> Any:
        return sum(self.problem.late_costs[key] * one for key, one in self.is_late.items())

    @cached_property
    def left_out(self) -> Any:
        return sum(job.weight * self.out[job.key] for job in self.jobs if job.key in self.out)

    @cached_property
    def hazards(self) -> Any:
        return sum(self._done_day(job) + 1 for job in self.jobs if job.is_hazard)

    @cached_property
    def days_late(self) -> Any:
        parts = []
        for job in self.jobs:
            last = job.last_day
            if last is not None and last < self.problem.days:
                # A day below 0 cannot be reached: those before the first count in full.
                before = max(0, -last)
                later = [1 - one for one in self.done_by(job)[max(last, 0) :]]
                parts.append(job.weight * (before + sum(later)))
        return sum(parts)

    @cached_property
    def switches(self) -> Any:
        return sum(self._switches_of(worker) for worker in self.problem.workers)

    @cached_property
    def is_late(self) -> dict[str, Any]:
        """For each piece of work that may be late: 1 if it is."""
        in_time = InTime(self.problem, self.cp)
        for (key, last), people in in_time.by.items():
            for worker, one in people.items():
                if (key, worker) in self.at:
                    job = self.problem.by_key[key]
                    most = self._until(worker, last) - job.quarters
                    self.cp.add_implication(one, self.at[key, worker])
                    self.cp.add(self.start[key, worker] <= most).only_enforce_if(one)
                else:
                    self.cp.add(one == 0)
        self._in_time = in_time
        return in_time.late()

    def keep(self, expression: Any, most: int) -> None:
        self.cp.add(expression <= most)

    def hint(self, schedule: Schedule) -> None:
        """Begin the search from a plan."""
        self.cp.clear_hints()
        for (key, worker), at in self.at.items():
            placed = schedule.get(key)
            is_here = placed is not None and placed.worker.key == worker
            self.cp.add_hint(at, is_here)
            low = self.low[key, worker]
            self.cp.add_hint(
                self.start[key, worker],
                placed.start if is_here and placed is not None else low,
            )
        for key, out in self.out.items():
            self.cp.add_hint(out, key not in schedule)
        for key, days in self._done_by.items():
            placed = schedule.get(key)
            hinted = set()
            for day, one in enumerate(days):
                if one.index not in hinted:
                    hinted.add(one.index)
                    self.cp.add_hint(one, placed is not None and placed.done <= day)
        if self._in_time is not None:
            self._in_time.hint(schedule)

    def search(self, least: Any, effort: Effort) -> Answer:
        self.cp.minimize(least)
        return search(self.cp, effort, self._orders)

    def done_by(self, job: Job) -> list[Any]:
        """For each day: true only if the work is done by its end."""
        if job.key not in self._done_by:
            self._done_by[job.key] = self._made_done_by(job)
        return self._done_by[job.key]

    def _place(self, job: Job) -> None:
        here = []
        for worker in self.able[job.key]:
            low, high = worker.before(job.not_before), worker.in_all - job.quarters
            if job.pin is not None:
                low = worker.before(job.pin.day)
                high = min(high, worker.until[job.pin.day] - 1)
            if low > high:
                continue
            at = self.cp.new_bool_var("")
            self.at[job.key, worker.key] = at
            self.start[job.key, worker.key] = self.cp.new_int_var(low, high, "")
            self.low[job.key, worker.key] = low
            here.append(at)
        if job.pin is not None:
            self.cp.add_exactly_one(here)
        else:
            self.out[job.key] = self.cp.new_bool_var("")
            self.cp.add_exactly_one([*here, self.out[job.key]])

    def _one_at_a_time(self, worker: Worker) -> None:
        stretches = [
            self.cp.new_optional_fixed_size_interval_var(
                self.start[job.key, worker.key], job.quarters, self.at[job.key, worker.key], ""
            )
            for job in self.jobs
            if (job.key, worker.key) in self.at
        ]
        self.cp.add_no_overlap(stretches)
        self.cp.add(
            sum(
                job.quarters * self.at[job.key, worker.key]
                for job in self.jobs
                if (job.key, worker.key) in self.at
            )
            <= worker.in_all
        )

    def _wait(self, before: Job, job: Job) -> None:
        """The rule of ``measure.timed``: on at once by the same person, by another the next day."""
        if before.key in self.out:
            if job.key in self.out:
                self.cp.add_implication(self.out[before.key], self.out[job.key])
            else:
                self.cp.add(self.out[before.key] == 0)
        done_by = (
            self.done_by(before)
            if len(self.able[before.key]) > 1 or (self.able[job.key] != self.able[before.key])
            else []
        )
        for worker in self.able[job.key]:
            key = worker.key
            if (job.key, key) not in self.at:
                continue
            here, start = self.at[job.key, key], self.start[job.key, key]
            same = self.at.get((before.key, key))
            if same is not None:
                self.cp.add(start >= self.start[before.key, key] + before.quarters).only_enforce_if(
                    here, same
                )
            apart = [here] if same is None else [here, same.negated()]
            if done_by:
                self.cp.add(start >= worker.until[0]).only_enforce_if(apart)
            for day, one in enumerate(done_by[:-1]):
                if worker.until[day + 1] > worker.until[day]:
                    self.cp.add(start >= worker.until[day + 1]).only_enforce_if(
                        *apart, one.negated()
                    )
            if done_by:
                self.cp.add_bool_or(done_by[-1], *[one.negated() for one in apart])

    def _wait_for_standing(self, before: Placed, job: Job) -> None:
        for worker in self.able[job.key]:
            self.cp.add(self.start[job.key, worker.key] >= worker.until[before.done])

    def _be_no_later(self, job: Job, placed: Placed, is_awaited: bool) -> None:
        """Than it must be, or than it is."""
        last = self.problem.days - 1
        if job.last_day is not None:
            last = min(last, max(job.last_day, placed.done))
        if job.is_hazard or is_awaited:
            last = min(last, placed.done)
        worker = placed.worker
        self.cp.add(self.start[job.key, worker.key] <= worker.until[last] - job.quarters)
        self.cp.add(self.at[job.key, worker.key] == 1)

    def _made_done_by(self, job: Job) -> list[Any]:
        people = [worker for worker in self.able[job.key] if (job.key, worker.key) in self.at]
        found: list[Any] = []
        for day in range(self.problem.days):
            # On a day on which nobody works nothing becomes done.
            if found and not any(worker.quarters[day] for worker in people):
                found.append(found[-1])
                continue
            one = self.cp.new_bool_var("")
            if found:
                self.cp.add_implication(found[-1], one)
            for worker in people:
                here, most = self.at[job.key, worker.key], worker.until[day] - job.quarters
                if most < 0:
                    self.cp.add_bool_or(here.negated(), one.negated())
                elif most < worker.in_all - job.quarters:
                    self.cp.add(self.start[job.key, worker.key] <= most).only_enforce_if(here, one)
            if job.key in self.out:
                self.cp.add_implication(self.out[job.key], one.negated())
            found.append(one)
        return found

    def _done_day(self, job: Job) -> Any:
        return sum(1 - one for one in self.done_by(job))

    def _until(self, key: str, day: int) -> int:
        return next(one.until[day] for one in self.problem.workers if one.key == key)

    def _switches_of(self, worker: Worker) -> Any:
        """A way through all that one person does, from a beginning back to it."""
        jobs = [job for job in self.jobs if (job.key, worker.key) in self.at]
        if len(jobs) < 2:
            return 0
        arcs, costs = [], []
        nothing = self.cp.new_bool_var("")
        arcs.append((0, 0, nothing))
        for number, job in enumerate(jobs, 1):
            here = self.at[job.key, worker.key]
            self.cp.add_implication(nothing, here.negated())
            arcs.append((number, number, here.negated()))
            arcs.append((0, number, self.cp.new_bool_var("")))
            arcs.append((number, 0, self.cp.new_bool_var("")))
            for next_number, other in enumerate(jobs, 1):
                if other is job or other.key in job.after:
                    continue
                arc = self.cp.new_bool_var("")
                arcs.append((number, next_number, arc))
                self.cp.add(
                    self.start[other.key, worker.key]
                    >= self.start[job.key, worker.key] + job.quarters
                ).only_enforce_if(arc)
                costs.append(switch(job, other) * arc)
        self.cp.add_circuit(arcs)
        return sum(costs)

    def _orders(self, solver: cp_model.CpSolver) -> Orders:
        lines: dict[str, list[tuple[int, str]]] = {
            worker.key: [] for worker in self.problem.workers
        }
        for (key, worker), at in self.at.items():
            if solver.value(at):
                lines[worker].append((solver.value(self.start[key, worker]), key))
        return {key: tuple(name for _, name in sorted(line)) for key, line in lines.items()}


class InTime:
    """Who does what by which day, without any order: what is on time fits into the hours until
    then. No plan has less late; without pins and waiting, some plan has as little.

    For each person and each last day that matters for a piece of work (its own, and those of all
    that waits for it) stands a yes or no: done by this person by then.
    """

    def __init__(self, problem: Problem, cp: cp_model.CpModel) -> None:
        self.problem = problem
        self.cp = cp
        days = self._days()
        self.by: dict[tuple[str, int], dict[str, Any]] = {}
        for job in problem.placeable:
            before: dict[str, Any] = {}
            for last in days[job.key]:
                before = self._done_by(job, last, before)
        self._fit(days)
        for job in problem.placeable:
            for last in days[job.key]:
                for key in job.after:
                    cp.add(sum(self.by[job.key, last].values()) <= sum(self.by[key, last].values()))

    def late(self) -> dict[str, Any]:
        """For each piece of work that may be late, 1 if it is, as an expression."""
        return {
            job.key: 1 - sum(self.by[job.key, job.last_day].values())
            for job in self.problem.placeable
            if job.last_day is not None and job.last_day < self.problem.days
        }

    def hint(self, schedule: Schedule) -> None:
        for (key, last), people in self.by.items():
            placed = schedule.get(key)
            for worker, one in people.items():
                is_by = placed is not None and placed.worker.key == worker and placed.done <= last
                self.cp.add_hint(one, is_by)

    def given(self, solver: cp_model.CpSolver) -> dict[str, str]:
        """Who does each piece of work that is on time or that such work waits for."""
        return {
            job: worker
            for (job, _), people in self.by.items()
            for worker, one in people.items()
            if solver.value(one)
        }

    def _days(self) -> dict[str, list[int]]:
        """The last days that matter for each piece of work, earliest first."""
        problem = self.problem
        found: dict[str, set[int]] = {job.key: set() for job in problem.placeable}
        for job in sorted(problem.placeable, key=lambda one: -problem.depths[one.key]):
            if job.last_day is not None and job.last_day < problem.days:
                found[job.key].add(job.last_day)
            for key in job.after:
                found[key] |= found[job.key]
        return {key: sorted(days) for key, days in found.items()}

    def _done_by(self, job: Job, last: int, before: dict[str, Any]) -> dict[str, Any]:
        """before  the same for the day before it that matters"""
        here = {
            worker.key: self.cp.new_bool_var("")
            for worker in able(self.problem, job)
            if last >= 0 and worker.until[last] - worker.before(job.not_before) >= job.quarters
        }
        for key, one in before.items():
            self.cp.add_implication(one, here[key])
        self.cp.add_at_most_one(here.values())
        self.by[job.key, last] = here
        return here

    def _fit(self, days: dict[str, list[int]]) -> None:
        for worker in self.problem.workers:
            for last in sorted({day for some in days.values() for day in some if day >= 0}):
                parts = []
                for job in self.problem.placeable:
                    latest = max((day for day in days[job.key] if day <= last), default=None)
                    if latest is not None and worker.key in self.by[job.key, latest]:
                        parts.append(job.quarters * self.by[job.key, latest][worker.key])
                self.cp.add(sum(parts) <= worker.until[last])


def search(
    cp: cp_model.CpModel,
    effort: Effort,
    read: Callable[[cp_model.CpSolver], Any],
    linear: int = LITTLE_LINEAR,
) -> Answer:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.random_seed = SEED
    solver.parameters.linearization_level = linear
    # Looking long at a model before searching is no gain with these.
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.symmetry_level = 0
    solver.parameters.max_presolve_iterations = 1
    solver.parameters.max_deterministic_time = effort.work
    solver.parameters.max_time_in_seconds = effort.seconds
    began = time.monotonic()
    status = solver.solve(cp)
    is_found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    is_proven = status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return Answer(
        found=read(solver) if is_found else None,
        bound=solver.best_objective_bound,
        is_proven=is_proven,
        is_impossible=status == cp_model.INFEASIBLE,
        was_cut=not is_proven and time.monotonic() - began >= effort.seconds,
    )
