"""Forms: what is wrong is said on top and at the field, tied to the input, and what was typed stays."""

import re

from django import forms

from museum.web.showcase import Sample


class Tied(forms.Form):
    day = forms.DateField(label="Back by", help_text="As agreed.")
    told = forms.BooleanField(label="The owner was told", required=False)
    token = forms.CharField(widget=forms.HiddenInput, error_messages={"required": "The page is too old."})


def ids(html: str) -> set[str]:
    return set(re.findall(r'id="([^"]+)"', html))


def test_a_fault_is_linked_on_top_and_tied_to_its_field() -> None:
    html = str(Tied({"day": "31 February", "token": "x"}))
    summary, fields = html.split("What you typed is kept below.")
    assert 'role="alert"' in summary
    assert '<a href="#id_day">Back by: Enter a valid date.</a>' in summary
    assert 'value="31 February"' in fields
    tag = re.search(r"<input[^>]*name=\"day\"[^>]*>", fields)
    assert tag is not None
    assert 'aria-invalid="true"' in tag[0]
    described = re.search(r'aria-describedby="([^"]+)"', tag[0])
    assert described is not None
    assert set(described[1].split()) == {"id_day_helptext", "id_day_error"} <= ids(fields)


def test_a_fault_of_a_hidden_input_is_said_too() -> None:
    assert "The page is too old." in str(Tied({"day": "2027-02-22"}))


def test_nothing_wrong_nothing_said() -> None:
    assert "note--wrong" not in str(Tied())
    assert "field--wrong" not in str(Tied({"day": "2027-02-22", "token": "x"}))


def test_every_input_has_its_label() -> None:
    html = str(Sample())
    labelled = set(re.findall(r'<label[^>]*for="([^"]+)"', html))
    inputs = {i for tag in re.findall(r"<(?:input|select|textarea)[^>]*>", html) for i in re.findall(r'id="([^"]+)"', tag)}
    assert inputs <= labelled
    assert "<legend>How is it kept?</legend>" in html, "a group is named by its legend"


def test_markup_that_was_typed_stays_words() -> None:
    assert "<b>" not in str(Tied({"day": "<b>", "token": "x"}))
