"""What programs send: a refusal of a choice names what there is."""

import pytest
from rest_framework.serializers import ValidationError

from museum.people.bodies import OneOf


def test_no_code_at_all_is_none_that_can_be_named() -> None:
    """Where nothing may be chosen too, that is not named as a code between two commas."""
    choice = OneOf([("", "not told"), ("dry", "dry"), ("damp", "damp")])
    assert choice.run_validation("damp") == "damp"
    with pytest.raises(ValidationError) as other:
        choice.run_validation("wet")
    assert other.value.detail == ["“wet” is none of these: dry, damp."]
    with pytest.raises(ValidationError) as none:
        choice.run_validation()
    assert none.value.detail == ["Say one of these: dry, damp."]
