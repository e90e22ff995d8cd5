from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class VocabularyConfig(AppConfig):
    name = "survey.vocabulary"

    def ready(self) -> None:
        post_migrate.connect(_load_terms, sender=self)


def _load_terms(apps: Any, **signal: Any) -> None:
    from survey.vocabulary import services

    # Migrating this app back to nothing also ends here, with no table left to fill.
    if ("vocabulary", "term") in {
        (m._meta.app_label, m._meta.model_name) for m in apps.get_models()
    }:
        services.load_terms()
