from django.apps import AppConfig


class RenovationConfig(AppConfig):
    name = "renovation"
    label = "renovation"

    def ready(self) -> None:
        from renovation import checks  # noqa: F401, PLC0415 (registers itself once apps are there)
