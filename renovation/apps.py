from django.apps import AppConfig


class RenovationConfig(AppConfig):
    name = "renovation"
    label = "renovation"

    def ready(self) -> None:
        # They register themselves, once apps are there.
        from renovation import checks, request_ids, schema  # noqa: F401, PLC0415
