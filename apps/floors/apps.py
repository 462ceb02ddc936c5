from django.apps import AppConfig


class FloorsConfig(AppConfig):
    name = "apps.floors"
    label = "floors"
