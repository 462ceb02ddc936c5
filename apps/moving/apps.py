from django.apps import AppConfig


class MovingConfig(AppConfig):
    name = "apps.moving"
    label = "moving"
