"""The days of the demo's stories, counted back from today."""

from datetime import datetime, timedelta

from museum import clock


def ago(days: int) -> datetime:
    """Ten in the morning so many days ago; never later than now."""
    instant = datetime.combine(clock.today() - timedelta(days=days), datetime.min.time(), clock.zone()) + timedelta(hours=10)
    return min(instant, clock.now())
