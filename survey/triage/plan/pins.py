"""Whether pins can be kept, as far as that can be told without a solver."""

from survey.triage.plan.problem import NEVER, Job, PinsCollide, Problem, Worker, able, day_in_words


def check_pins(problem: Problem) -> None:
    """Raises PinsCollide when the pins cannot all be kept, whatever else is planned."""
    workers = {worker.key: worker for worker in problem.workers}
    lines = pinned_lines(problem)
    for key, line in lines.items():
        worker, at = workers[key], 0
        for name in line:
            job = problem.by_key[name]
            assert job.pin is not None
            day = job.pin.day
            start = max(at, worker.before(day))
            if start >= worker.until[day] or start + job.quarters > worker.in_all:
                others = ", ".join(problem.by_key[one].name for one in line if one != name)
                raise PinsCollide(
                    f"{job.name} cannot begin on {day_in_words(problem.date_of(day))}: "
                    + (
                        f"what is pinned to {worker.name} before it takes that day ({others}). "
                        if start >= worker.until[day]
                        else f"{worker.name} has too few hours left in these weeks. "
                    )
                    + "Take a pin away, or pin it to another day or person."
                )
            at = start + job.quarters
    for job in problem.placeable:
        if job.pin is not None:
            _check_waits(problem, job, workers[job.pin.worker])


def pinned_lines(problem: Problem) -> dict[str, list[str]]:
    """The pinned work of each person, in the order that keeps the most pins: by day, and the
    longest of a day last, since it may go on into the next."""
    lines: dict[str, list[str]] = {}
    pinned = [(job.pin, job) for job in problem.placeable if job.pin is not None]
    for pin, job in sorted(pinned, key=lambda one: (one[0].day, one[1].quarters, one[1].key)):
        lines.setdefault(pin.worker, []).append(job.key)
    return lines


def _check_waits(problem: Problem, job: Job, worker: Worker) -> None:
    """Whether what it waits for can be done in time, were nothing else to do."""
    assert job.pin is not None
    first, by = _earliest(problem, job)
    if first > job.pin.day and by is not None:
        raise PinsCollide(
            f"{job.name} is pinned to {worker.name} on "
            f"{day_in_words(problem.date_of(job.pin.day))}, but it waits for {by.name}, which "
            "cannot be done by then. Pin it to a later day, or let it wait no longer."
        )


def _earliest(problem: Problem, job: Job) -> tuple[int, Job | None]:
    """The first day on which it could begin were there no other work, and what it waits for."""
    found: tuple[int, Job | None] = (job.not_before, None)
    for key in job.after:
        before = problem.by_key[key]
        start, _ = _earliest(problem, before)
        day = NEVER
        for worker in able(problem, before):
            at = worker.before(start)
            if before.pin is not None:
                at = max(at, worker.before(before.pin.day))
            day = min(
                day,
                next(
                    (k for k, until in enumerate(worker.until) if until >= at + before.quarters),
                    NEVER,
                ),
            )
        if day >= found[0]:
            found = (day, before)
    return found
