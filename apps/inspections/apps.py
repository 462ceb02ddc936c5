from django.apps import AppConfig


class InspectionsConfig(AppConfig):
    name = "apps.inspections"
    label = "inspections"
