"""Which prohibitions and cautions meet a surface: by the surface itself, what stands around it, and what is brought to it."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from conservation.rules.grading import NOT_KNOWN, Hazard
from conservation.rules.treatment_tables import ACTIVE_MARK, ANY, CAUTION, COMPOSITE, CONSERVATOR_ONLY, FORBIDDEN, Prohibition, Step, TreatmentRules
from conservation.rules.who import stands_below


@dataclass(frozen=True, slots=True)
class Found:
    """A finding of a zone as far as the gate asks; an activity that is not given counts as not known (1)."""

    term: str
    activity: int | None = None

    @property
    def active(self) -> bool:
        """Above activity 0: not shown to be stable."""
        return (NOT_KNOWN if self.activity is None else self.activity) > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """The layer touched, and all that a prohibition may look at besides: its zone, the whole object, open hazards."""

    material: str
    zone_materials: frozenset[str] = frozenset()
    object_materials: frozenset[str] = frozenset()
    findings: tuple[Found, ...] = ()
    hazards: tuple[Hazard, ...] = ()

    @property
    def terms(self) -> frozenset[str]:
        """Terms of the zone's findings."""
        return frozenset(found.term for found in self.findings)

    @property
    def open_hazards(self) -> frozenset[str]:
        """Codes of the open hazards of any level; level 0 is none."""
        return frozenset(hazard.code for hazard in self.hazards if hazard.level > 0)

    @property
    def whole(self) -> frozenset[str]:
        """Every material of the object, the zone and the surface included."""
        return self.object_materials | self.zone_materials | {self.material}


@dataclass(frozen=True, slots=True)
class _Here:
    """A surface as the conditions of rows ask it: codes that are true alone, and all that a pair looks at."""

    material: str
    alone: frozenset[str]
    around: frozenset[str]

    def meets(self, row: Prohibition) -> bool:
        """Whether one of the row's conditions is true of it."""
        return any(condition <= self.alone if len(condition) == 1 else self.material in condition and condition <= self.around for condition in row.surfaces)


def _here(surface: Surface, rules: TreatmentRules) -> _Here:
    said, whole = surface.terms | surface.open_hazards, surface.whole
    composite = {COMPOSITE} if len(whole) > 1 and not whole <= rules.gate.freezable else set()
    return _Here(surface.material, frozenset({ANY, surface.material, *said, *composite}), whole | said)


def meets(row: Prohibition, surface: Surface, rules: TreatmentRules) -> bool:
    """Whether one of the row's conditions is true of this surface."""
    return _here(surface, rules).meets(row)


def matching(surface: Surface, agents: Collection[str], rules: TreatmentRules) -> tuple[Prohibition, ...]:
    """The rows that match the surface and one of the agents, lowest code first."""
    here = _here(surface, rules)
    return tuple(row for row in rules.prohibitions if not row.agents.isdisjoint(agents) and here.meets(row))


def warnings(surfaces: Iterable[Surface], rules: TreatmentRules) -> tuple[Prohibition, ...]:
    """All that is not to be done to any of these surfaces, whatever is planned: what is shown beside an object."""
    seen = [_here(surface, rules) for surface in surfaces]
    return tuple(row for row in rules.prohibitions if any(here.meets(row) for here in seen))


def refusing(rows: Iterable[Prohibition], role: str) -> Prohibition | None:
    """The row that refuses this person: a forbidding one first, then one for conservators; the lowest code of each."""
    ordered = sorted(rows, key=lambda row: row.code)
    forbidding = [row for row in ordered if row.severity == FORBIDDEN]
    reserved = [row for row in ordered if row.severity == CONSERVATOR_ONLY and role != "conservator"]
    return next(iter([*forbidding, *reserved]), None)


def unfit(step: Step, surface: Surface) -> str | None:
    """The code for which a step does not fit here: the surface itself, a term, a material or a hazard; None = it fits."""
    if not step.fits(surface.material):
        return surface.material
    active = {found.term + ACTIVE_MARK for found in surface.findings if found.active}
    here = surface.terms | active | surface.zone_materials | surface.open_hazards
    ruled_out = sorted(step.not_on & here) or (sorted(surface.whole - step.surfaces) if step.only else [])
    return ruled_out[0].removesuffix(ACTIVE_MARK) if ruled_out else None


def ruled_out(step: Step, surface: Surface, rules: TreatmentRules) -> str | None:
    """The code that rules a step out here, whoever does it; None = it stands.

    A row for conservators rules a step out where the step itself asks for less.
    """
    row = refusing(matching(surface, step.agents, rules), step.who)
    return row.code if row and (row.severity == FORBIDDEN or stands_below(step.who, "conservator")) else unfit(step, surface)


def cautions(rows: Iterable[Prohibition]) -> tuple[Prohibition, ...]:
    """Of rows that did not refuse, those to be shown and ticked: cautions, and what a conservator alone may do."""
    return tuple(row for row in rows if row.severity in (CAUTION, CONSERVATOR_ONLY))
