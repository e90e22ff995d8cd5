"""What the worker is given to do."""

from contextlib import suppress

from django_tasks import task

from survey.reading.trouble import Stopped
from survey.reports import services
from survey.reports.models import Report


# Somebody waits for it; readings, of which there may be hundreds, go on afterwards.
@task(priority=10)
def make(key: str) -> None:
    """Make one report, unless it is gone, made or being made."""
    report = Report.objects.select_related("asked_by").filter(pk=key).first()
    if report is not None:
        with suppress(Stopped):  # The worker ends, and the report waits for the next one.
            services.run(report)
