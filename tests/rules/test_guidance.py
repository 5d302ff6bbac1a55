"""Guided sequences and lessons fit the tables, and the cautions stand before the work."""

from dataclasses import replace

import pytest

from conservation.rules.book import BadRules
from conservation.rules.guidance import gaps, read_guidance, read_lessons, shipped_guidance, shipped_lessons
from conservation.rules.treatment_tables import shipped

RULES = shipped()
GENTLE = [step.code for step in RULES.steps.values() if step.gentle]


def test_every_gentle_step_is_led_and_taught_and_no_text_speaks_of_a_step_that_is_none() -> None:
    assert gaps(shipped_guidance(), shipped_lessons(), RULES) == []


def test_a_step_that_becomes_gentle_asks_for_its_lesson() -> None:
    """A society that opens the soot sponge to trained hands is told what is missing."""
    opened = replace(RULES, steps={**RULES.steps, "TR55": replace(RULES.steps["TR55"], gentle=True)})
    assert gaps(shipped_guidance(), shipped_lessons(), opened) == ["TR55 is gentle and has no lesson.", "TR55 is gentle and has no guided sequence."]
    gone = replace(RULES, steps={code: step for code, step in RULES.steps.items() if code != "TR08"})
    assert "TR08 is led or taught, and is no step of the tables." in gaps(shipped_guidance(), shipped_lessons(), gone)


@pytest.mark.parametrize("code", GENTLE)
def test_a_gentle_step_has_protection_work_stop_signs_and_what_never(code: str) -> None:
    guided = shipped_guidance().of(code)
    assert guided is not None
    assert all([guided.protection, guided.do, guided.stop, guided.never, guided.source])


@pytest.mark.parametrize(("code", "minutes"), [("TR10", 15), ("TR66", 30), ("TR36", 1440)])
def test_waiting_times(code: str, minutes: int) -> None:
    """15 minutes after the test rolls (ours), 30 to 60 minutes for wax (NPS Conserve O Gram 7/2), 24 hours under light weight."""
    guided = shipped_guidance().of(code)
    assert guided is not None
    assert guided.wait_minutes == minutes


def test_nine_signs_end_any_session_and_local_codes_go_before() -> None:
    assert len(shipped_guidance().stop_signs) == 9
    assert "local" in shipped_guidance().gives_way
    assert shipped_guidance().of("TR16") is None


def test_another_form_is_told() -> None:
    with pytest.raises(BadRules, match="another form"):
        read_guidance({"sequences": [{"code": "mine"}]})
    with pytest.raises(BadRules, match="another form"):
        read_lessons([{"step": "TR07", "colour": "red"}])
