"""The desk: pages for the laptop."""

from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "survey.desk"

    def ready(self) -> None:
        from survey.desk.refusals import speak

        speak()
