from typing import Any

from django.apps import AppConfig
from django.apps import apps as installed_apps
from django.db.models.signals import post_migrate


class VocabularyConfig(AppConfig):
    name = "survey.vocabulary"

    def ready(self) -> None:
        post_migrate.connect(_load_terms, sender=self)


def _load_terms(apps: Any = installed_apps, **signal: Any) -> None:
    from survey.vocabulary import services

    # Migrating this app back to nothing also ends here, with no table left to fill.
    if "term" in apps.all_models["vocabulary"]:
        services.load_terms()
