from django.apps import AppConfig


class TradesConfig(AppConfig):
    name = "apps.trades"
    label = "trades"
