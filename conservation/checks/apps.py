from django.apps import AppConfig


class ChecksConfig(AppConfig):
    name = "conservation.checks"
    label = "checks"
    verbose_name = "Condition checks"

    def ready(self) -> None:
        """Tells the part of the places, which knows nothing of checks, who knows what was found."""
        from conservation.checks.found_on import found_on
        from locations.places.placing import found_by

        found_by(found_on)
