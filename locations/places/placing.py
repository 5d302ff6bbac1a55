"""What speaks against where a thing is to stand, or stands: the rules asked with all that is known of it and of its company.

What was found on a thing is known to a part above this one, which says so once (`found_by`). What is planned is refused;
what stands so is stored, kept as Misplaced until it is put right, and urgent where the rules would have refused it.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db.models import QuerySet
from django.utils.translation import gettext, gettext_lazy

from collection.objects.models import Object
from collection.objects.queries import hazards_in_force, material_words, materials_of
from conservation.rules.book import held
from conservation.rules.contraindications import Found, Surface
from conservation.rules.gate import HOLD_LEVEL, Question
from conservation.rules.grading import Hazard
from conservation.rules.neighbours import Clash
from conservation.rules.placing import PLACE, REFUSE, WARN, Need, Objection, Part, Position, apart_within, between, needs_of, shipped_bands
from conservation.rules.placing import place as ask
from conservation.rules.reasons import Reason
from conservation.rules.ruleset import rules_in_force
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import TreatmentRules
from locations.places.company import Company, Settled, decided
from locations.places.models import Misplaced, Movement, Place, Stay
from locations.places.queries import objects_below, path_of
from museum import clock
from museum.errors import DomainError, Invalid
from museum.people.actor import Actor

#: object to what was found on it: pairs of a material and a finding
FoundOn = Mapping[UUID, Sequence[tuple[str, Found]]]
#: words of the tables that are no material
BESIDE: Final = ("emitter", "sufferer", "one", "other")
HUMIDITY: Final = "HUMIDITY"
HUMIDITY_BESIDE: Final = "HUMIDITY-BESIDE"
#: between what several things beside ask for
_JOINED: Final = "+"


class PlacingRefused(DomainError):
    """The rules do not let it be put there."""

    code = "placing_refused"
    template = gettext_lazy(
        "It is not to be put there: %(why)s. Instead: %(instead)s. Nothing was stored. If it already stands so, say so: then it is stored, and put right soon."
    )


class _Known:
    """What a part above tells of findings; without it nothing was found."""

    def __init__(self) -> None:
        self.ask: Callable[[Collection[UUID]], FoundOn] = lambda _keys: {}


_known: Final = _Known()


def found_by(ask_findings: Callable[[Collection[UUID]], FoundOn]) -> None:
    """Says who knows what was found on things."""
    _known.ask = ask_findings


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where and how one thing stands, or is to stand: the places from the nearest up."""

    path: Sequence[Place]
    resting: str = Movement.Resting.SUPPORT

    @property
    def decided_at(self) -> UUID:
        """The place for which somebody decides on the humidity of what stands there: the case it shares, else the nearest."""
        return (self.case or self.path[0]).pk

    @property
    def case(self) -> Place | None:
        """The closed box or case it shares with others."""
        return next((place for place in self.path if place.closed_container), None)

    @property
    def boxed(self) -> bool:
        return any(place.level == Place.Level.BOX or place.closed_container for place in self.path)

    def position(self) -> Position:
        """In the words of the rules; the nearest place that says something counts."""
        floor = next((place.off_floor_cm for place in self.path if place.off_floor_cm is not None), None)
        return Position(
            resting=self.resting, closed_box=self.case is not None, kind=next((place.spot for place in self.path if place.spot), "store"),
            sun=not self.boxed and any(place.sun for place in self.path), off_floor_cm=floor,
        )  # fmt: skip


def judged(spots: Mapping[UUID, Spot], *, happened: bool) -> dict[UUID, list[Objection]]:
    """What speaks against each of these things standing there; the questions asked do not grow with their number, but for cases.

    Of what shares a case it is counted once what it is made of and asks for: each thing is compared with that, not with each of the others.
    """
    cases = {case: objects_below(case) for case in {spot.case.pk for spot in spots.values() if spot.case}}
    every = {*spots, *(key for keys in cases.values() for key in keys)}
    materials, found = materials_of(every), _known.ask(list(every))
    dangers = hazards_in_force(list(spots))
    with held():
        rules, vapours = treatment_rules_in_force(), rules_in_force()
    needs = {key: needs_of(_parts(materials.get(key, frozenset()), found.get(key, ())), shipped_bands()) for key in every}
    said = decided(every) if _any_apart(needs.values()) else {}
    shared = {case: Company.of(case, keys, materials, needs, said) for case, keys in cases.items()}
    answer: dict[UUID, list[Objection]] = {}
    for key, spot in spots.items():
        mine, company = materials.get(key, frozenset()), shared[spot.case.pk].without(key) if spot.case else None
        hazards = _hazards(dangers.get(key, {}), spot)
        clashing = between(mine, [company.materials], vapours) if company else []
        question = _Asked(mine, spot.position(), hazards, clashing, found.get(key, ()), happened)
        settled = said.get((key, spot.decided_at), frozenset())
        humidity = [*_humidity(needs[key], settled, spot, happened=happened), *_humidity_beside(needs[key], settled, company, happened=happened)]
        answer[key] = [*_by_rows(question, rules), *humidity]
    return answer


def _any_apart(needs: Iterable[frozenset[Need]]) -> bool:
    """Whether any two of all these things ask for humidities that do not meet; the kinds of need are few, however many things there are."""
    kinds = sorted({need for of_one in needs for need in of_one}, key=lambda need: (need.material, need.band.code))
    return any(one.apart(other) for n, one in enumerate(kinds) for other in kinds[n:])


def _parts(materials: Iterable[str], found: Sequence[tuple[str, Found]]) -> list[Part]:
    """Each material of a thing with what was found on it."""
    return [Part(material, tuple(one for where, one in found if where == material)) for material in sorted(materials)]


def _hazards(levels: Mapping[str, int], spot: Spot) -> tuple[Hazard, ...]:
    """Isolation is a safe step, which a hold lets pass: into quarantine what is held may go."""
    apart = any(place.use == Place.Use.QUARANTINE for place in spot.path)
    return tuple(Hazard(code, level) for code, level in sorted(levels.items()) if not (apart and level >= HOLD_LEVEL))


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is asked of the rows about one thing."""

    materials: frozenset[str]
    position: Position
    hazards: tuple[Hazard, ...]
    clashing: Sequence[Clash]
    found: Sequence[tuple[str, Found]]
    happened: bool


def _by_rows(asked: _Asked, rules: TreatmentRules) -> list[Objection]:
    """The rows are asked of every material as the one that lies there; each row is told once."""
    told: dict[tuple[str, str], Objection] = {}
    for material in sorted(asked.materials) or [""]:
        on_it = tuple(one for where, one in asked.found if where in ("", material))
        whole = asked.materials
        surface = Surface(material=material, zone_materials=frozenset({material}), object_materials=whole, findings=on_it, hazards=asked.hazards)
        question = Question(
            day=clock.today(), person="", role="volunteer", zone="", surface=surface, zone_grade=0, zone_activity=0, act=PLACE,
            happened=asked.happened,
        )  # fmt: skip
        for one in ask(question, asked.position, rules, neighbours=asked.clashing).objections:
            told.setdefault((one.code, str(sorted(one.why.values.items()))), one)
    return list(told.values())


def _humidity_beside(mine: frozenset[Need], settled: Settled, company: "Company | None", *, happened: bool) -> Iterator[Objection]:
    """What is planned is warned of, so that a decision is asked: no program chooses between two humidities. What stands so is urgent.

    It is urgent where it is known for sure and nobody decided on it, of either thing; what was decided here is not asked of a plan again.
    """
    told: dict[tuple[str, str], list[tuple[str, bool]]] = {}
    for pair, open_still in company.apart(mine, settled) if company else ():
        if happened or (pair.one, pair.other, pair.asks) not in settled:
            told.setdefault((pair.one, pair.other), []).append((pair.asks, pair.sure and open_still and happened))
    for (one, other), rows in sorted(told.items()):
        why = Reason("placing_humidity_beside", {"one": one, "other": other, "asks": _JOINED.join(sorted({asks for asks, _urgent in rows}))})
        level = REFUSE if any(urgent for _asks, urgent in rows) else WARN
        yield Objection(level, HUMIDITY_BESIDE, why, Reason("placing_humidity_beside_instead"))


def _humidity(needs: frozenset[Need], settled: Settled, spot: Spot, *, happened: bool) -> Iterator[Objection]:
    """Told of all that stands; of what is planned only for a closed box or case, where alone somebody chooses a humidity, and where nobody decided."""
    if not happened and not spot.case:
        return
    for pair in apart_within(needs):
        if happened or (pair.one, pair.other, pair.asks) not in settled:
            why = Reason("placing_humidity", {"one": pair.one, "other": pair.other, "asks": pair.asks})
            yield Objection(WARN, HUMIDITY, why, Reason("placing_humidity_instead"))


def carried(box_id: UUID, contents: Iterable[UUID], to: Place) -> dict[UUID, Spot]:
    """Where and how what lies in a box stands, once the box stands there."""
    now = clock.now()
    above = path_of(to.pk, now)
    spots = {}
    for key, (spot, _since) in spots_of(contents, now).items():
        up_to = next((n for n, place in enumerate(spot.path, start=1) if place.pk == box_id), len(spot.path))
        spots[key] = replace(spot, path=[*spot.path[:up_to], *above])
    return spots


def demand(objections: Sequence[Objection], reason: str, accepts: str = "") -> None:
    """Raises PlacingRefused where the rules refuse what is planned, Invalid where they warn and no reason was given.

    Of humidities that do not meet a reason for the move is none: `accepts` says who decided on them and why.
    """
    refusing = [one for one in objections if one.level == REFUSE]
    data = [row(one) for one in objections]
    if refusing:
        raise PlacingRefused(why=words(refusing[0].why), instead=words(refusing[0].instead), objections=data)
    humid, others = of_humidity(objections), [one for one in objections if one.code not in (HUMIDITY, HUMIDITY_BESIDE)]
    if humid and not accepts.strip():
        raise Invalid(
            gettext_lazy(
                "The rules warn: %(why)s. Instead: %(instead)s. If it is to be put there all the same, say who decided so, and why: it is asked once for this "
                "thing and this place. Nothing was stored."
            ),
            field="accepts", why=words(humid[0].why), instead=words(humid[0].instead), objections=data,
        )  # fmt: skip
    if others and not reason.strip():
        raise Invalid(
            gettext_lazy("The rules warn: %(why)s. Instead: %(instead)s. If it is to be put there all the same, say why. Nothing was stored."),
            field="reason", why=words(others[0].why), instead=words(others[0].instead), objections=data,
        )  # fmt: skip


def of_humidity(objections: Iterable[Objection]) -> list[Objection]:
    """Those on which somebody decides: humidities that do not meet."""
    return [one for one in objections if one.code in (HUMIDITY, HUMIDITY_BESIDE)]


def pairs_in(objections: Iterable[Objection]) -> list[list[str]]:
    """What is decided on, as a decision keeps it: a material, the other, the bands they ask for."""
    told = [(one.why.values, asks) for one in of_humidity(objections) for asks in str(one.why.values["asks"]).split(_JOINED)]
    return sorted([str(values["one"]), str(values["other"]), asks] for values, asks in told)


def names_in(objections: Iterable[Objection]) -> dict[str, str]:
    """The materials that these objections name, in the reader's language: one query for all, none where none is named."""
    codes = sorted({str(one.why.values[key]) for one in objections for key in BESIDE if key in one.why.values})
    found = material_words(codes) if codes else []
    return dict(zip(codes, found, strict=True)) if len(found) == len(codes) else {}


def words(reason: Reason, materials: Mapping[str, str] | None = None) -> str:
    """A reason in the reader's language, its materials by their names."""
    if materials is None:
        materials = names_in([Objection(WARN, "", reason, reason)])
    names = {key: materials.get(str(reason.values[key]), str(reason.values[key])) for key in BESIDE if key in reason.values}
    said = {key: gettext(str(value)) for key, value in reason.values.items() if value and key not in BESIDE}
    return reason.sentence(gettext, **{**said, **names})


def sentence(one: Objection) -> str:
    """What is wrong and what to do instead."""
    return gettext("%(why)s. Instead: %(instead)s.") % {"why": words(one.why).rstrip("."), "instead": words(one.instead).rstrip(".")}


def row(one: Objection) -> dict[str, Any]:
    """An objection as JSON keeps it."""
    return {
        "level": one.level, "code": one.code, "why": {"code": one.why.code, "values": dict(one.why.values)},
        "instead": {"code": one.instead.code, "values": dict(one.instead.values)},
    }  # fmt: skip


def read(kept: Mapping[str, Any]) -> Objection:
    """The reverse."""
    why, instead = (Reason(kept[name]["code"], kept[name]["values"]) for name in ("why", "instead"))
    return Objection(kept["level"], kept["code"], why, instead)


def read_row(kept: Misplaced) -> Objection:
    """What a row says."""
    return read({"level": kept.level, "code": kept.code, "why": kept.why, "instead": kept.instead})


def company(object_ids: Iterable[UUID], at: datetime | None = None) -> set[UUID]:
    """All that shares a closed box or case with one of these things."""
    cases = {spot.case.pk for spot, _since in spots_of(object_ids, at or clock.now()).values() if spot.case}
    return {key for case in cases for key in objects_below(case)}


def restate(object_ids: Iterable[UUID]) -> None:
    """Says anew what is wrong with where these things stand today, and all that lies beside them in a box or case."""
    touched = set(object_ids)
    keys = sorted(touched | company(touched))
    stands = spots_of(keys, clock.now())
    against = judged({key: spot for key, (spot, _since) in stands.items()}, happened=True)
    Misplaced.objects.filter(object_id__in=keys).delete()
    Misplaced.objects.bulk_create(
        Misplaced(object_id=key, place=stands[key][0].path[0], since=stands[key][1], **row(one)) for key, told in against.items() for one in told
    )


def spots_of(object_ids: Iterable[UUID], at: datetime) -> dict[UUID, tuple[Spot, datetime]]:
    """Where the main components of these things stand and since when, by the last that was told."""
    stays = list(
        Stay.objects.filter(component__object_id__in=list(object_ids), component__sort="main", component__object__withdrawn="", to="place")
        .filter(during__contains=at).values_list("component__object_id", "place_id", "movement", "during")
    )  # fmt: skip
    moves = Movement.objects.filter(pk__in=[movement for _key, _place, movement, _during in stays])
    said = dict(moves.values_list("pk", "resting"))
    paths = {place: path_of(place, at) for place in {place for _key, place, _movement, _during in stays}}
    return {
        key: (Spot(path=paths[place], resting=said[movement]), during.lower)
        for key, place, movement, during in stays if paths[place]
    }  # fmt: skip


def against(object_id: UUID, place: Place, resting: str) -> list[Objection]:
    """What would speak against putting one thing there, asked beforehand."""
    return judged({object_id: Spot(path=path_of(place.pk), resting=resting)}, happened=False)[object_id]


def urgent(actor: Actor, place_ids: Collection[UUID] | None = None) -> QuerySet[Misplaced]:
    """What stands as the rules would refuse it, of what this person may see, the oldest first; of all, or of these places."""
    rows = Misplaced.objects.filter(level=REFUSE, object__in=Object.objects.visible_to(actor))
    rows = rows if place_ids is None else rows.filter(place__in=list(place_ids))
    return rows.select_related("object__card", "place").order_by("since", "id")
