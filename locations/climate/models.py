"""Loggers, where they stand and for what they speak, their files and readings, and what is read by hand."""

from typing import Final

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeOperators
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Q
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Component
from locations.climate.files.forms import Unreadable
from locations.climate.sentences import why
from locations.places.models import Place
from museum import clock
from museum.history.models import AppendOnly, Fact, Record
from museum.papers.models import StoredFile
from museum.people.models import Person


class Real(models.FloatField):  # type: ignore[type-arg]
    """Four bytes: seven digits, more than any logger has."""

    def db_type(self, connection: BaseDatabaseWrapper) -> str:
        return "real"


class Logger(Record):
    """A device that writes down the climate by itself. `number` is what its readings name it by."""

    class Clock(models.TextChoices):
        UTC = "utc", _("universal time (UTC)")
        STANDARD = "standard", _("standard time all the year (winter time)")
        FOLLOWS = "follows", _("the clock on the wall, summer time too")

    number = models.SmallIntegerField(unique=True, editable=False)
    name = models.TextField(help_text="as on its label")
    serial = models.TextField(blank=True, help_text="maker's number, as its files tell it")
    clock_kind = models.TextField(choices=Clock.choices, blank=True, help_text="what its clock shows; empty = nobody has said yet")
    zone = models.TextField(blank=True, help_text="IANA name where it stands; empty = the society's")
    interval = models.PositiveIntegerField(default=3600, help_text="seconds between readings")
    silent_after = models.PositiveSmallIntegerField(default=35, help_text="days without a file until somebody is asked to fetch one")
    battery_on = models.DateField(null=True, blank=True, help_text="last new battery")
    form = models.JSONField(default=dict, help_text="how its last file was read: proposed for the next")
    made_at = models.DateTimeField(default=clock.now)
    ended_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["serial"], condition=~Q(serial="") & Q(ended_on=None), name="logger_serial_once"),
            models.UniqueConstraint(fields=["name"], condition=Q(ended_on=None), name="logger_name_once"),
            models.CheckConstraint(condition=Q(interval__gt=0), name="logger_interval_positive"),
        ]

    def __str__(self) -> str:
        return self.name


class Placement(Fact):
    """A logger was put somewhere at an instant, or (no place) taken away."""

    logger = models.ForeignKey(Logger, models.PROTECT, related_name="placements")
    place = models.ForeignKey(Place, models.PROTECT, null=True, blank=True, related_name="+")
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    note = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"{self.logger_id} at {self.place_id}"


class Calibration(Fact):
    """A check of a logger against known humidity: corrected = (raw - offset) / slope, for corrected values low..high."""

    logger = models.ForeignKey(Logger, models.PROTECT, related_name="calibrations")
    slope = models.FloatField()
    offset = models.FloatField()
    low = models.FloatField()
    high = models.FloatField()
    points = models.JSONField(default=list, help_text="pairs of what it showed and what was true, in %, with the salt")
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    note = models.TextField(blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(slope__gte=0.5, slope__lte=2), name="calibration_slope_sane")]

    def __str__(self) -> str:
        return f"calibration of {self.logger_id}"


class Coverage(Fact):
    """From an instant on a place is spoken for by this logger; without one, by the nearest up the tree again."""

    place = models.ForeignKey(Place, models.PROTECT, related_name="+")
    logger = models.ForeignKey(Logger, models.PROTECT, null=True, blank=True, related_name="+")
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    reason = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"{self.place_id} heard by {self.logger_id}"


class Wall(Fact):
    """From a day on a place stands against a wall, or a floor, that goes colder than its room: by so many K all the year, or by its thermal quality
    with the air outdoors; neither: it was moved off.

    What was measured once stands for all the year, so what follows from it is an estimate; told anew, the newer counts from its day on.
    """

    place = models.ForeignKey(Place, models.PROTECT, related_name="walls")
    colder = models.FloatField(null=True, blank=True, help_text="K")
    quality = models.FloatField(null=True, blank=True, help_text="f_Rsi, worked out from the three readings")
    room_t = models.FloatField(null=True, blank=True, help_text="°C, read at one time with the two others")
    wall_t = models.FloatField(null=True, blank=True, help_text="°C")
    outdoor_t = models.FloatField(null=True, blank=True, help_text="°C")
    measured_on = models.DateField(null=True, blank=True, help_text="the day on which a surface thermometer was held to it")
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    reason = models.TextField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(colder=None) | Q(colder__gt=0, colder__lte=15), name="wall_colder_sane"),
            models.CheckConstraint(
                condition=Q(colder=None, quality=None, measured_on=None)
                | Q(colder__isnull=False, quality=None, measured_on__isnull=False)
                | Q(colder=None, quality__isnull=False, measured_on__isnull=False),
                name="wall_was_measured",
            ),
            models.CheckConstraint(
                condition=Q(quality=None, room_t=None, wall_t=None, outdoor_t=None)
                | Q(quality__isnull=False, quality__gt=0, quality__lt=1, room_t__isnull=False, wall_t__isnull=False, outdoor_t__isnull=False),
                name="wall_quality_was_read",
            ),
        ]
        indexes = [models.Index(fields=["place"], name="wall_of_place")]

    @property
    def stands(self) -> bool:
        """Whether it tells of a wall; else the place was moved off it."""
        return bool(self.colder or self.quality)

    def __str__(self) -> str:
        return f"{self.place_id} {self.colder or self.quality}"


class LoggerStay(models.Model):
    """Where a logger stood, during when: made from placements. No two of one logger overlap."""

    logger = models.ForeignKey(Logger, models.CASCADE, related_name="stays")
    place = models.ForeignKey(Place, models.CASCADE, related_name="logger_stays")
    during = DateTimeRangeField()
    placement = models.UUIDField()

    class Meta:
        constraints = [
            ExclusionConstraint(
                name="logger_in_one_place", expressions=[("logger", RangeOperators.EQUAL), ("during", RangeOperators.OVERLAPS)],
            ),
        ]  # fmt: skip
        indexes = [models.Index(fields=["place"], name="logger_stay_place")]

    def __str__(self) -> str:
        return f"{self.logger_id} {self.during}"


class CalibrationSpan(models.Model):
    """Which check counts for a logger, during when: forward from the check until the next."""

    logger = models.ForeignKey(Logger, models.CASCADE, related_name="calibration_spans")
    calibration = models.ForeignKey(Calibration, models.CASCADE, related_name="+")
    during = DateTimeRangeField()

    class Meta:
        constraints = [
            ExclusionConstraint(
                name="one_calibration_at_a_time", expressions=[("logger", RangeOperators.EQUAL), ("during", RangeOperators.OVERLAPS)],
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.calibration_id} {self.during}"


class CoverageSpan(models.Model):
    """Which logger speaks for a place by word of somebody, during when."""

    place = models.ForeignKey(Place, models.CASCADE, related_name="coverage_spans")
    logger = models.ForeignKey(Logger, models.CASCADE, related_name="coverage_spans")
    during = DateTimeRangeField()
    coverage = models.UUIDField()

    class Meta:
        constraints = [
            ExclusionConstraint(
                name="one_logger_speaks_for_a_place", expressions=[("place", RangeOperators.EQUAL), ("during", RangeOperators.OVERLAPS)],
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.place_id} {self.during}"


class ClimateFile(Record):
    """A file of a logger: how it is read, and what came of it. Its bytes are a stored file; `number` names it in readings."""

    class State(models.TextChoices):
        ASKS = "asks", _("has a question")
        READY = "ready", _("waiting to be read")
        RUNNING = "running", _("being read")
        DONE = "done", _("read")
        REFUSED = "refused", _("refused")

    #: the question of a file that says otherwise than what is stored of its logger
    CONTRADICTS: Final = "contradicts"
    number = models.IntegerField(unique=True, editable=False)
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    name = models.TextField()
    logger = models.ForeignKey(Logger, models.PROTECT, null=True, related_name="files")
    state = models.TextField(choices=State.choices)
    form = models.JSONField(default=dict, help_text="how it is read")
    questions = models.JSONField(default=list, help_text="what has to be answered first")
    counts = models.JSONField(default=dict, help_text="what came of its lines")
    error = models.TextField(blank=True)
    first_at = models.DateTimeField(null=True)
    last_at = models.DateTimeField(null=True)
    sent_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    sent_at = models.DateTimeField(default=clock.now)
    job = models.UUIDField(null=True)

    class Meta:
        indexes = [models.Index(fields=["logger", "-sent_at"], name="climate_file_of_logger")]

    @property
    def contradicts(self) -> bool:
        """Whether it waits because it says otherwise than what is stored of its logger."""
        return any(one["code"] == self.CONTRADICTS for one in self.questions)

    @property
    def refusal(self) -> str:
        """Why it is not read: of the program in the reader's language, of a person as they wrote it."""
        return why(Unreadable.of(self.counts["refused"])) if "refused" in self.counts else self.error

    def __str__(self) -> str:
        return self.name


class Reading(AppendOnly):
    """What a logger wrote down at an instant: t °C, rh %, lux; as read, not corrected. No act of its own but that of its file.

    Unit and clock of the file are already resolved, by the form its file keeps. `flags` says what the import noticed.
    Keyed by small numbers and without foreign keys, since a museum has tens of millions of them.
    """

    pk = models.CompositePrimaryKey("logger", "at")
    logger = models.SmallIntegerField()
    flags = models.SmallIntegerField(default=0)
    file = models.IntegerField()
    at = models.DateTimeField()
    t = Real(null=True)
    rh = Real(null=True)
    lux = Real(null=True)

    def __str__(self) -> str:
        return f"{self.logger} {self.at}"


class Rival(AppendOnly):
    """Another value for an instant that already has one: both stay, neither is used until somebody says which holds."""

    logger = models.SmallIntegerField()
    flags = models.SmallIntegerField(default=0)
    file = models.IntegerField()
    at = models.DateTimeField()
    t = Real(null=True)
    rh = Real(null=True)
    lux = Real(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["logger", "at", "t", "rh", "lux"], name="rival_once", nulls_distinct=False),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.logger} {self.at}"


class Verdict(Fact):
    """What somebody found about the readings of a logger from `begin` to before `end`; it stands beside them."""

    class Says(models.TextChoices):
        GOOD = "good", _("they hold")
        LEFT_OUT = "left_out", _("not to be used")
        FIRST = "first", _("of two values the one that was in first holds")
        LATER = "later", _("of two values the later one holds")
        NEITHER = "neither", _("of two values neither is to be used")

    #: what is said of every reading of the time
    OF_ALL: Final = (Says.GOOD, Says.LEFT_OUT)
    #: what is said of the instants of which a file brought another value, and of these only
    OF_TWO: Final = (Says.FIRST, Says.LATER, Says.NEITHER)

    logger = models.ForeignKey(Logger, models.PROTECT, related_name="verdicts")
    begin = models.DateTimeField()
    end = models.DateTimeField()
    says = models.TextField(choices=Says.choices)
    file = models.ForeignKey(ClimateFile, models.PROTECT, null=True, related_name="+", help_text="of two values, which file brought the later one")
    reason = models.TextField()
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(end__gt=models.F("begin")), name="verdict_has_length"),
            models.CheckConstraint(condition=~Q(says="later") | Q(file__isnull=False), name="verdict_names_the_file"),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.says} {self.begin} {self.end}"


class Suspicion(Fact):
    """Something speaks against the readings of a logger from `begin` to before `end`. Nothing follows from it until somebody settles it."""

    class Kind(models.TextChoices):
        DRIFT = "drift", _("its humidity drifts")
        CLOCK = "clock", _("its clock is wrong")
        SWAPPED = "swapped", _("exchanged with another")
        STUCK = "stuck", _("its humidity stands still")
        MIRRORED = "mirrored", _("one channel is made from the other")
        SALTS = "salts", _("far off over salts")

    logger = models.ForeignKey(Logger, models.PROTECT, related_name="suspicions")
    other = models.ForeignKey(Logger, models.PROTECT, null=True, related_name="+", help_text="the logger it was compared with, where it is one")
    kind = models.TextField(choices=Kind.choices)
    begin = models.DateTimeField()
    end = models.DateTimeField()
    evidence = models.JSONField(default=dict, help_text="the figures it rests on")

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(end__gt=models.F("begin")), name="suspicion_has_length")]
        indexes = [models.Index(fields=["logger", "kind"], name="suspicion_of_logger")]

    @property
    def question(self) -> str:
        """What somebody has to find out, in a sentence."""
        if self.kind == self.Kind.DRIFT and self.other:
            return _now("Does %(logger)s drift, or does %(other)s?") % {"logger": self.logger.name, "other": self.other.name}
        return str(_QUESTIONS[Suspicion.Kind(self.kind)]) % {"logger": self.logger.name, "other": self.other.name if self.other else "?"}

    def __str__(self) -> str:
        return f"{self.kind} {self.begin} {self.end}"


_QUESTIONS = {
    Suspicion.Kind.DRIFT: _("Does %(logger)s drift?"),
    Suspicion.Kind.CLOCK: _("Is the clock of %(logger)s wrong?"),
    Suspicion.Kind.SWAPPED: _("Were %(logger)s and %(other)s exchanged?"),
    Suspicion.Kind.STUCK: _("Does the humidity of %(logger)s stand still?"),
    Suspicion.Kind.MIRRORED: _("Is one channel of %(logger)s made from the other?"),
    Suspicion.Kind.SALTS: _("%(logger)s was far off over salts: which of its readings hold?"),
}


class Settlement(Fact):
    """What somebody found out about a suspicion. Where readings are not to be used, a verdict over their time stands beside it."""

    class Says(models.TextChoices):
        HOLDS = "holds", _("the readings hold")
        LEFT_OUT = "left_out", _("not to be used")

    suspicion = models.OneToOneField(Suspicion, models.PROTECT, related_name="settlement")
    verdict = models.OneToOneField(Verdict, models.PROTECT, null=True, related_name="+")
    says = models.TextField(choices=Says.choices)
    reason = models.TextField()
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    def __str__(self) -> str:
        return f"{self.says} {self.suspicion_id}"


class Spot(Fact):
    """Read by a person at an instant: the dial, a light meter, litres emptied from a machine's tank, insects in a trap."""

    place = models.ForeignKey(Place, models.PROTECT, related_name="spots")
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    t = models.FloatField(null=True, blank=True)
    rh = models.FloatField(null=True, blank=True)
    lux = models.FloatField(null=True, blank=True)
    uv = models.FloatField(null=True, blank=True, help_text="microwatt per lumen")
    litres = models.FloatField(null=True, blank=True)
    insects = models.PositiveIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(t__gte=-40, t__lte=60) | Q(t=None), name="spot_t_range",
            ),
            models.CheckConstraint(condition=Q(rh__gt=0, rh__lte=100) | Q(rh=None), name="spot_rh_range"),
            models.CheckConstraint(
                condition=~Q(t=None, rh=None, lux=None, uv=None, litres=None, insects=None) | Q(withdraws=True), name="spot_says_something",
            ),
        ]  # fmt: skip
        indexes = [models.Index(fields=["place", "-happened_on"], name="spot_of_place")]

    def __str__(self) -> str:
        return f"{self.place_id} {self.happened_at}"


class LivedMonth(models.Model):
    """What a component of a material lived through in a month (UTC), and the state at its end: made from the facts, rebuilt at will."""

    material = models.TextField(help_text="code")
    month = models.DateField(help_text="its first day")
    known = models.PositiveSmallIntegerField(help_text="hours of which the climate is known")
    unknown = models.PositiveSmallIntegerField(help_text="hours of which it is not")
    over = models.PositiveSmallIntegerField(help_text="hours above its own band")
    under = models.PositiveSmallIntegerField(help_text="hours below its own band")
    damp = models.PositiveSmallIntegerField(help_text="hours above 65 %")
    wet = models.PositiveSmallIntegerField(help_text="hours above 80 % and 0 °C")
    over_longest = models.PositiveIntegerField(help_text="longest run above its band that reached into the month")
    over_tail = models.PositiveIntegerField(help_text="hours of the run still going on at the end")
    damp_longest = models.PositiveIntegerField()
    damp_tail = models.PositiveIntegerField()
    share = models.FloatField(help_text="of the days after which mould is presumed")
    ageing_hours = models.PositiveSmallIntegerField()
    ageing_rate = models.FloatField(help_text="sum of 1 / lifetime multiplier over those hours")
    mould = models.FloatField(help_text="index at the end")
    mould_dry = models.PositiveIntegerField(help_text="dry hours since growth ended")
    mould_highest = models.FloatField()
    mould_highest_hour = models.IntegerField()
    mould_hours = models.PositiveIntegerField(help_text="hours seen since the beginning")
    mould_growth = models.PositiveIntegerField()
    mould_unknown = models.PositiveIntegerField()

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"{self.material} {self.month}"


class Exposure(LivedMonth):
    """By the air of the rooms where it stood."""

    component = models.ForeignKey(Component, models.CASCADE, related_name="exposure")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["component", "material", "month"], name="exposure_once")]
        indexes = [models.Index(fields=["month"], name="exposure_month")]


class WallExposure(LivedMonth):
    """The same at its coldest face: by the surface's air while it stood against a wall told to be colder, else by the room's.

    From the first month on in which it stood against one; there are none of what never did.
    """

    component = models.ForeignKey(Component, models.CASCADE, related_name="wall_exposure")
    against = models.PositiveSmallIntegerField(help_text="hours against such a wall of which the climate is known")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["component", "material", "month"], name="wall_exposure_once")]
        indexes = [models.Index(fields=["month"], name="wall_exposure_month")]


class ExposureMark(models.Model):
    """How far the exposure has been worked out, and how far the history of what it follows from has been read."""

    name = models.TextField(primary_key=True)
    n = models.BigIntegerField(default=0)
    until = models.BigIntegerField(default=0, help_text="hours from 1970 worked out")

    def __str__(self) -> str:
        return f"{self.name} {self.n}"


#: what names the wall among the figures of an alarm
AT_WALL = ("colder", "quality")


class ClimateAlarm(Fact):
    """The climate of a place gave an alarm: its run began at `begin`, it was in force from `raised_at` to before `ended_at` (none: still).

    What more readings say of it is a new fact that corrects this one, under the same `thread`; one that no longer holds is withdrawn.
    """

    class Kind(models.TextChoices):
        DAMP = "damp", _("damp")
        MOULD = "mould", _("mould")

    class Level(models.TextChoices):
        AMBER = "amber", _("amber")
        RED = "red", _("red")

    thread = models.UUIDField(editable=False, help_text="key of the first fact of this alarm")
    place = models.ForeignKey(Place, models.PROTECT, related_name="climate_alarms")
    kind = models.TextField(choices=Kind.choices)
    level = models.TextField(choices=Level.choices)
    begin = models.DateTimeField()
    raised_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    hours = models.PositiveIntegerField(help_text="the longest run without a break, as far as known")
    at_least = models.BooleanField(help_text="hours beside or within it are unknown")
    figures = models.JSONField(default=dict, help_text="its limit, highest humidity, mould index, share of the days to mould")
    formula = models.TextField(help_text="name of the way it was counted")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(raised_at__gte=models.F("begin")), name="alarm_raised_within_its_run"),
            models.CheckConstraint(condition=Q(ended_at=None) | Q(ended_at__gte=models.F("raised_at")), name="alarm_ends_after_it_began"),
        ]
        indexes = [
            models.Index(fields=["place", "-raised_at"], name="alarm_of_place"),
            models.Index(fields=["thread"], name="alarm_thread"),
            models.Index(fields=["place"], name="alarm_open", condition=Q(ended_at=None)),
        ]

    @property
    def at_wall(self) -> bool:
        """Whether it is of the air at a wall, not of the room's."""
        return any(name in self.figures for name in AT_WALL)

    def __str__(self) -> str:
        return f"{self.level} {self.kind} at {self.place_id}"
