from django.apps import AppConfig


class TimberConfig(AppConfig):
    name = "apps.timber"
