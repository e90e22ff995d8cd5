"""What the worker is given to do."""

from contextlib import suppress

from django_tasks import task

from survey.reading import services
from survey.reading.models import Reading
from survey.reading.trouble import Stopped


@task()
def read(key: str) -> None:
    """Make one reading, unless it is gone, made or being made."""
    reading = Reading.objects.select_related("examination__object").filter(pk=key).first()
    if reading is not None:
        with suppress(Stopped):  # The worker ends, and the reading waits for the next one.
            services.run(reading)
