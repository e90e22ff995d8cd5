from django.apps import AppConfig


class ReadingConfig(AppConfig):
    name = "survey.reading"

    def ready(self) -> None:
        from survey.reading import arrivals, pictures, services, waiting
        from survey.sync.registry import register_check

        arrivals.listen()
        register_check(pictures.altered)
        waiting.register("Readings", services.take_up)
