"""A plan without a solver, quickly: by the rules that a person would follow.

Dated work stands in the order of its last days, which makes the greatest lateness of one person
as small as can be (Jackson, J. R. (1955), “Scheduling a production line to minimize maximum
tardiness”, Research Report 43, Management Science Research Project, University of California, Los
Angeles). Where something must be late, the longest of the least important that stand so far is put
back; for one person and work of one importance that makes the fewest late (Moore, J. M. (1968),
“An n job, one machine sequencing algorithm for minimizing the number of late jobs”, Management
Science 15 (1), 102–109; in the simpler form that Moore ascribes to T. J. Hodgson).
"""

from collections.abc import Iterable, Mapping

from survey.triage.plan.draft import Draft, Line
from survey.triage.plan.measure import Orders, timed
from survey.triage.plan.pins import check_pins
from survey.triage.plan.problem import NEVER, Job, PinsCollide, Problem, last_or_never

# How often the whole plan is gone through for something better.
ROUNDS = 2


def plan_by_hand(problem: Problem) -> Orders:
    """A plan that keeps all the rules and is seldom the best. The same input, the same plan.

    Raises PinsCollide with a sentence.
    """
    draft = drafted(problem)
    improve(draft)
    tidy(draft)
    return draft.lines


def drafted(problem: Problem, on_time: Mapping[str, str] | None = None) -> Draft:
    """A first plan.

    on_time  who does the dated work that is to be on time; all other dated work is put back.
             None leaves both open.

    Raises PinsCollide with a sentence.
    """
    check_pins(problem)
    draft = Draft(problem)
    put_back: list[Job] = []
    for job in in_turn(problem):
        if not draft.can_follow(job):
            continue
        if on_time is None or _is_bound(draft, job):
            other = _make_room(draft, job)
        elif job.last_day is not None and job.key not in on_time:
            other = job
        else:
            other = None
            draft.prefer(job, on_time.get(job.key))
        if other is not None:
            put_back.append(other)
        if other is not job:
            insert(draft, job)
    for job in sorted(put_back, key=lambda one: (-one.weight, last_or_never(one), one.key)):
        draft.wanted[job.key] = NEVER
        insert(draft, job)
    lost = next((job for job in problem.placeable if job.pin and job.key not in draft.home), None)
    if lost is not None:
        raise PinsCollide(
            f"By hand, no way was found to begin {lost.name} on its pinned day. Take a pin away, "
            "or pin it to a later day."
        )
    return draft


def by_due_day(jobs: Iterable[Job]) -> Line:
    """The keys in the order of their last days: Jackson's rule."""
    return tuple(job.key for job in sorted(jobs, key=lambda job: (last_or_never(job), job.key)))


def insert(draft: Draft, job: Job) -> bool:
    """Put it in where the whole is best, dated work in its turn. Returns whether it fitted."""
    is_dated = draft.wanted[job.key] < NEVER
    turns = {worker.key: _turn(draft, worker.key, job) for worker in draft.able[job.key]}
    best: tuple[tuple[int, ...], str, Line] | None = None
    for number, (worker, at, line) in enumerate(draft.with_job(job)):
        found = draft.tried(worker.key, line)
        if found is None:
            continue
        ahead = sum(draft.problem.by_key[key].quarters for key in line[:at])
        rest = (
            (abs(at - turns[worker.key]), ahead, found.switches)
            if is_dated
            else (0, found.switches, ahead)
        )
        score = (*found[:4], *rest, number)
        if best is None or score < best[0]:
            best = (score, worker.key, line)
    if best is None:
        return False
    draft.set(best[1], best[2])
    return True


def improve(draft: Draft) -> None:
    """Move single pieces of work within their person's line while that makes the whole better."""
    for _ in range(ROUNDS):
        before = draft.measure
        settle(draft)
        for job in draft.problem.placeable:
            if job.key in draft.home:
                move(draft, job, is_everywhere=False)
        if draft.measure == before:
            return


def tidy(draft: Draft) -> None:
    """Among orders that are as good, what is wanted sooner or counts for more comes first, and
    nobody waits for the day of something held or pinned while they have other work."""
    wanted, jobs = draft.problem.wanted, draft.problem.by_key

    def turn(key: str) -> tuple[int, int, str]:
        return wanted[key], -jobs[key].weight, key

    for key in draft.workers:
        went_on = True
        while went_on:
            went_on = False
            for at in range(len(draft.lines[key]) - 1):
                line = draft.lines[key]
                one, other = line[at], line[at + 1]
                if turn(one) <= turn(other):
                    continue
                swapped = (*line[:at], other, one, *line[at + 2 :])
                if _is_as_good(draft, key, swapped):
                    draft.set(key, swapped)
                    went_on = True
        _fill_gaps(draft, key)


def _is_as_good(draft: Draft, key: str, line: Line, is_sooner: bool = False) -> bool:
    """Whether a line makes nothing worse and its person is through no later.

    is_sooner  and the work in it is done sooner, by the sum of its days
    """
    found = draft.tried_days(key, line)
    if found is None or found[0] > draft.measure:
        return False
    days = [draft.done[name] for name in draft.lines[key]]
    return found[1] <= max(days) and (not is_sooner or found[2] < sum(days))


def _fill_gaps(draft: Draft, key: str) -> None:
    """Put later work of one person where they would wait for the day of what is held or pinned."""
    jobs = draft.problem.by_key
    at = 0
    while at < len(line := draft.lines[key]):
        if not (jobs[line[at]].not_before or jobs[line[at]].pin):
            at += 1
            continue
        placed = timed(draft.problem, draft.lines)
        assert placed is not None
        free_from = placed[line[at - 1]].end if at else 0
        earlier = (
            (*line[:at], line[later], *line[at:later], *line[later + 1 :])
            for later in range(at + 1, len(line))
            if placed[line[at]].start > free_from
        )
        filled = next((one for one in earlier if _is_as_good(draft, key, one, True)), None)
        if filled is None:
            at += 1
        else:
            draft.set(key, filled)


def settle(draft: Draft) -> None:
    """Put in what is missing, and move hazards and what is late to anybody who does them sooner."""
    for job in in_turn(draft.problem):
        if job.key not in draft.home:
            if draft.can_follow(job):
                insert(draft, job)
        elif job.is_hazard or (job.last_day is not None and draft.done[job.key] > job.last_day):
            move(draft, job, is_everywhere=True)


def move(draft: Draft, job: Job, is_everywhere: bool) -> None:
    """Move one piece of work to where the whole is best, if anywhere is better than where it is."""
    home = draft.home[job.key]
    kept, best = draft.state, draft.measure
    lines = {home: tuple(key for key in draft.lines[home] if key != job.key)}
    if is_everywhere and job.key not in draft.followers:
        draft.set(home, lines[home])
        lines = {worker.key: draft.lines[worker.key] for worker in draft.able[job.key]}
    found: tuple[str, Line] | None = None
    for key, line in lines.items():
        for at in range(len(line) + 1):
            tried = (*line[:at], job.key, *line[at:])
            measured = draft.tried(key, tried)
            if measured is not None and measured < best:
                best, found = measured, (key, tried)
    if found is None:
        draft.state = kept
    else:
        draft.set(*found)


def _make_room(draft: Draft, job: Job) -> Job | None:
    """What is best put back, so that nothing is late for this work: another, which is taken out,
    or this itself; None where there is room, or putting something back is no help."""
    if job.last_day is None or _is_bound(draft, job):
        return None
    jobs, costs, before = draft.problem.by_key, draft.problem.late_costs, draft.measure.late
    best: tuple[tuple[int, int, int, str], str, Line] | None = None
    for worker in draft.able[job.key]:
        at = _turn(draft, worker.key, job)
        old = draft.lines[worker.key]
        line = (*old[:at], job.key, *old[at:])
        found = draft.tried(worker.key, line)
        if found is not None and found.late == before:
            return None
        for other in map(jobs.__getitem__, line):
            if other.last_day is None or _is_bound(draft, other):
                continue
            without = tuple(key for key in line if key != other.key)
            then = draft.tried(worker.key, without)
            if then is not None and then.late <= before:
                score = (then.late + costs[other.key], -other.quarters, other.weight, other.key)
                if best is None or score < best[0]:
                    best = (score, worker.key, tuple(key for key in without if key != job.key))
    if best is None:
        return None
    other = jobs[best[0][3]]
    if other is not job:
        draft.set(best[1], best[2])
    return other


def _is_bound(draft: Draft, job: Job) -> bool:
    """Whether other work or a pin says when it is done."""
    return job.pin is not None or bool(job.after) or job.key in draft.followers


def _turn(draft: Draft, key: str, job: Job) -> int:
    """Its place in a line in the order of last days."""
    wanted, line = draft.wanted, draft.lines[key]
    sooner = (at for at, one in enumerate(line, 1) if wanted[one] <= wanted[job.key])
    return max(sooner, default=0)


def with_all_before(problem: Problem, jobs: Iterable[Job]) -> set[str]:
    """Their keys, and those of all that they wait for."""
    found: set[str] = set()
    more = [job.key for job in jobs]
    while more:
        key = more.pop()
        if key not in found:
            found.add(key)
            more += problem.by_key[key].after
    return found


def in_turn(problem: Problem) -> list[Job]:
    """All work in the order in which it is given out: pins and what they wait for, dated work,
    hazards (which then go before it, as far as that makes nothing late), the rest."""
    wanted, depths = problem.wanted, problem.depths
    pinned = with_all_before(problem, (job for job in problem.placeable if job.pin is not None))
    urgent = with_all_before(problem, (job for job in problem.placeable if job.is_hazard))
    return sorted(
        problem.placeable,
        key=lambda job: (
            job.key not in pinned,
            depths[job.key] if job.key in pinned else 0,
            wanted[job.key],
            job.key not in urgent,
            depths[job.key],
            -job.weight,
            job.quarters,
            job.key,
        ),
    )
