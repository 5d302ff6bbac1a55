"""Observations for the tests of the rules, named by what matters in each."""

from hypothesis import strategies as st

from conservation.rules.grading import Context, Hazard, PlannedUse, Seen
from conservation.rules.tables import materials, terms, zones

PERCENTS = st.decimals("0.01", 100, places=2).map(float)


def seen(zone: str = "SH", term: str = "SCRATCH", percent: float = 5, severity: int = 2, activity: int | None = 0) -> Seen:
    return Seen(zone, zone, term, percent, severity, activity)


def any_seen() -> st.SearchStrategy[Seen]:
    return st.builds(
        seen,
        st.sampled_from(sorted(zones())),
        st.sampled_from(sorted(terms())),
        PERCENTS,
        st.integers(1, 4),
        st.none() | st.integers(0, 3),
    )


def any_context() -> st.SearchStrategy[Context]:
    return st.builds(
        Context,
        materials=st.frozensets(st.sampled_from(sorted(materials())), max_size=4),
        place=st.sampled_from(["store", "display", "on_loan", "quarantine"]),
        high_significance=st.booleans(),
        planned=st.none() | st.builds(PlannedUse, st.just("loan"), st.integers(-30, 400)),
        unsecured_part=st.booleans(),
        wet=st.booleans(),
        loan_return_new_damage=st.booleans(),
        hazards=st.lists(st.builds(Hazard, st.just("MOULD"), st.integers(0, 3)), max_size=2),
        damp_spells=st.lists(st.tuples(st.floats(0, 100), st.floats(0, 200)), max_size=3),
    )
