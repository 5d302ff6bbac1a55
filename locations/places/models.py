"""The place tree, movements, and where everything stood when."""

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeOperators
from django.contrib.postgres.indexes import GistIndex
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Component, Object
from museum.history.models import Fact, Record
from museum.people.models import Person


class Place(Record):
    """A node of the tree: building > room > unit > shelf > box. A fixed one never changes its parent."""

    class Level(models.TextChoices):
        BUILDING = "building", _("building")
        ROOM = "room", _("room")
        UNIT = "unit", _("unit")
        SHELF = "shelf", _("shelf")
        BOX = "box", _("box")

    class Use(models.TextChoices):
        STORE = "store", _("store")
        DISPLAY = "display", _("display")
        QUARANTINE = "quarantine", _("quarantine")
        WORK = "work", _("workroom")
        OUTSIDE = "outside", _("outside our care")

    class Spot(models.TextChoices):
        ATTIC = "attic", _("attic")
        CELLAR = "cellar", _("cellar")
        OUTSIDE_WALL = "outside_wall", _("outside wall")
        BOILER_ROOM = "boiler_room", _("boiler room, pipe run")
        OUTDOORS = "outdoors", _("outdoors, in the open air")

    parent = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="children")
    level = models.TextField(choices=Level.choices)
    mobile = models.BooleanField(default=False, help_text="a box, crate or trolley: it has stays of its own and no parent")
    closed_container = models.BooleanField(default=False, help_text="a closed box or case: vapours stay inside")
    spot = models.TextField(choices=Spot.choices, blank=True, help_text="where nothing should stand; empty = none of these")
    sun = models.BooleanField(default=False, help_text="the sun or a spotlight reaches it")
    off_floor_cm = models.PositiveSmallIntegerField(null=True, blank=True, help_text="lowest height of what stands there; empty = not measured")
    use = models.TextField(choices=Use.choices, blank=True, help_text="empty = as the place above it")
    code = models.TextField(help_text="short, as on its label: unique among open places")
    name = models.TextField()
    walk = models.PositiveIntegerField(default=0, help_text="order in which one walks past it among its siblings")
    path_key = models.TextField(blank=True, help_text="walking order of the whole tree, for sorting")
    closed_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["code"], condition=Q(closed_on=None), name="place_code_once", violation_error_message=_("Another place has this code."),
            ),
            models.CheckConstraint(condition=Q(mobile=False) | Q(parent=None), name="mobile_place_has_stays_not_parent"),
            models.CheckConstraint(condition=Q(mobile=True) | Q(level="building") | Q(parent__isnull=False), name="fixed_place_has_parent"),
        ]  # fmt: skip
        indexes = [models.Index(fields=["parent", "walk"], name="place_children"), models.Index(fields=["path_key"], name="place_walk")]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Movement(Fact):
    """The second axis: a component or a mobile place goes somewhere. What has happened is always stored."""

    class To(models.TextChoices):
        PLACE = "place", _("in a place")
        TRANSIT = "transit", _("in transit")
        ON_LOAN = "on_loan", _("away on loan")
        WITH_OTHERS = "with_others", _("with others")
        UNLOCATED = "unlocated", _("unlocated")
        GONE = "gone", _("gone")

    class Resting(models.TextChoices):
        SUPPORT = "support", _("on a form or support of its own")
        BRIM = "brim", _("on its brim, peak or neck guard")
        HANGING = "hanging", _("hanging")
        STACK = "stack", _("stacked or nested with another")

    component = models.ForeignKey(Component, models.PROTECT, null=True, blank=True, related_name="movements")
    mobile = models.ForeignKey(Place, models.PROTECT, null=True, blank=True, related_name="movements")
    to = models.TextField(choices=To.choices)
    place = models.ForeignKey(Place, models.PROTECT, null=True, blank=True, related_name="arrivals")
    reason = models.TextField(blank=True)
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    return_by = models.DateField(null=True, blank=True)
    resting = models.TextField(choices=Resting.choices, default=Resting.SUPPORT)
    objections = models.JSONField(default=list, help_text="what the rules said against it when it was told")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(component=None) ^ Q(mobile=None), name="movement_of_one_thing"),
            models.CheckConstraint(condition=Q(to="place") ^ Q(place=None), name="movement_place_if_in_place"),
        ]
        indexes = [models.Index(fields=["component"], name="movement_component"), models.Index(fields=["mobile"], name="movement_mobile")]

    def __str__(self) -> str:
        return f"to {self.to}"


class Home(Fact):
    """The normal place of a component."""

    component = models.ForeignKey(Component, models.PROTECT, related_name="homes")
    place = models.ForeignKey(Place, models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"home {self.place_id}"


class Stay(models.Model):
    """Where a component or mobile place was told to be, and during when: made from the movements, rebuilt at will.

    The database lets no two stays of one thing overlap. A box has its own stays; its contents' stays name the box.
    """

    component = models.ForeignKey(Component, models.CASCADE, null=True, related_name="stays")
    mobile = models.ForeignKey(Place, models.CASCADE, null=True, related_name="own_stays")
    to = models.TextField(choices=Movement.To.choices)
    place = models.ForeignKey(Place, models.CASCADE, null=True, related_name="stays")
    during = DateTimeRangeField()
    movement = models.UUIDField()

    class Meta:
        constraints = [
            ExclusionConstraint(
                name="component_in_one_place", condition=Q(component__isnull=False),
                expressions=[("component", RangeOperators.EQUAL), ("during", RangeOperators.OVERLAPS)],
            ),
            ExclusionConstraint(
                name="mobile_in_one_place", condition=Q(mobile__isnull=False),
                expressions=[("mobile", RangeOperators.EQUAL), ("during", RangeOperators.OVERLAPS)],
            ),
            models.CheckConstraint(condition=Q(component=None) ^ Q(mobile=None), name="stay_of_one_thing"),
        ]  # fmt: skip
        indexes = [
            GistIndex(fields=["during"], name="stay_during"),
            models.Index(fields=["place"], name="stay_place_now", condition=Q(during__upper_inf=True)),
        ]

    def __str__(self) -> str:
        return f"{self.to} {self.during}"


class HumidityDecision(Fact):
    """Somebody decided that a thing stands in a place though no humidity suits all there, with the reason; it counts for the pairs it was told of."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="humidity_decisions")
    place = models.ForeignKey(Place, models.PROTECT, related_name="+")
    pairs = models.JSONField(help_text="rows of a material, the other, and the bands they ask for ('?' = not known for sure)")
    reason = models.TextField()
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="humidity_decided_with_reason")]
        indexes = [models.Index(fields=["object"], name="humidity_by_object")]

    def __str__(self) -> str:
        return f"{self.object_id} in {self.place_id}"


class Misplaced(models.Model):
    """What the rules say against where a thing stands today: made from the facts, rebuilt at will. Level 'refuse' is urgent."""

    object = models.ForeignKey(Object, models.CASCADE, related_name="misplaced")
    place = models.ForeignKey(Place, models.CASCADE, related_name="misplaced")
    level = models.TextField(help_text="refuse or warn")
    code = models.TextField(help_text="of the prohibition, or NEIGHBOUR, HUMIDITY, FLOOR")
    why = models.JSONField(help_text="code of the sentence and its values")
    instead = models.JSONField()
    since = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["level", "since"], name="misplaced_urgent_first"), models.Index(fields=["place"], name="misplaced_by_place")]

    def __str__(self) -> str:
        return f"{self.level} {self.code}"
