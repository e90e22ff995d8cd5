from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "survey.reports"

    def ready(self) -> None:
        from survey.reading import waiting
        from survey.reports import queries, services
        from survey.sync.registry import register_namer

        waiting.register("Reports", services.take_up)
        register_namer(queries.uses_of)
