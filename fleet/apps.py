from django.apps import AppConfig


class FleetConfig(AppConfig):
    name = "fleet"
    verbose_name = "Fleet"

    def ready(self) -> None:
        from fleet import checks  # noqa: F401  (registers the system checks)
