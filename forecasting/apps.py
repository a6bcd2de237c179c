from django.apps import AppConfig


class ForecastingConfig(AppConfig):
    name = "forecasting"
    verbose_name = "Forecasting"
