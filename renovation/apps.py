from django.apps import AppConfig


class RenovationConfig(AppConfig):
    name = "renovation"
    label = "renovation"
