"""Whether the worker in the background seems to run, by what it has begun."""

from datetime import datetime, timedelta

from django.utils import timezone

from survey.reading.models import Reading
from survey.reports.models import Report

# A worker that runs takes up what waits within seconds.
WORKER_LOOKS_WITHIN = timedelta(seconds=30)


def seems_away(waits_since: datetime) -> bool:
    """Whether something waits while nothing at all is being read or made."""
    return (
        timezone.now() - waits_since > WORKER_LOOKS_WITHIN
        and not Reading.objects.filter(state=Reading.State.RUNNING).exists()
        and not Report.objects.filter(state=Report.State.RUNNING).exists()
    )
