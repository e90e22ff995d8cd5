from django.apps import AppConfig
from django.utils.module_loading import autodiscover_modules


class SyncConfig(AppConfig):
    name = "survey.sync"

    def ready(self) -> None:
        autodiscover_modules("synced")
