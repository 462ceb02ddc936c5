from django.apps import AppConfig


class PropertyConfig(AppConfig):
    name = "apps.property"
    label = "property"
