"""What the worker is given to do."""

from django_tasks import task

from survey.reading import services
from survey.reading.models import Reading


@task()
def read(key: str) -> None:
    """Make one reading, unless it is gone, made or being made."""
    reading = Reading.objects.select_related("examination__object").filter(pk=key).first()
    if reading is not None:
        services.run(reading)
