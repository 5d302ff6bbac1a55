"""What is typed when somebody was shown a step, tells of their practice, or brings a qualification."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from conservation.treatments import learning
from museum import clock
from museum.people.actor import Actor
from museum.people.forms import Entry, day_input
from museum.people.models import Person, Qualification


class _OfSomebody(Entry):
    """A form on a person's page; `reader` is who types."""

    def __init__(self, *args: Any, learner: Person, reader: Actor, **options: Any) -> None:
        super().__init__(*args, **options)
        self.learner, self.reader = learner, reader


class _Steps(_OfSomebody):
    """One afternoon may fill several lines."""

    steps = forms.MultipleChoiceField(label=_("What"), widget=forms.CheckboxSelectMultiple)
    on = forms.DateField(label=_("On"), widget=day_input(), initial=clock.today)
    valid_to = forms.DateField(label=_("Holds to (empty: as long as the rules say)"), widget=day_input(), required=False)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        steps = self.fields["steps"]
        assert isinstance(steps, forms.MultipleChoiceField)
        steps.choices = [(one.code, f"{one.code} {one.name}" if one.step else one.name) for one in learning.subjects()]


class SignOffForm(_Steps):
    """A teacher's sign-off."""

    shown_by = forms.ChoiceField(label=_("Shown by"))
    evidence = forms.CharField(label=_("How you know it, where somebody else showed it"), required=False)
    field_order = ("steps", "shown_by", "on", "valid_to", "evidence")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        able = {person.pk: person.name for people in learning.teachers(clock.today(), but=self.learner.pk).values() for person in people}
        if self.reader.person is not None:
            able[self.reader.person] = self.reader.name
        shown_by = self.fields["shown_by"]
        assert isinstance(shown_by, forms.ChoiceField)
        shown_by.choices = [(str(key), able[key]) for key in sorted(able, key=lambda key: able[key].casefold())]
        shown_by.initial = str(self.reader.person)


class PracticeForm(_Steps):
    """What a person has long done."""

    practice = forms.CharField(label=_("What was done, how long, where pictures are"), widget=forms.Textarea(attrs={"rows": 3}))
    second_later = forms.BooleanField(label=_("I am the only curator: the second signature follows later"), required=False)
    field_order = ("steps", "practice", "on", "valid_to", "second_later")


class QualificationForm(_OfSomebody):
    """What a person is by training or licence."""

    kind = forms.ChoiceField(label=_("As"), choices=Qualification.Kind.choices)
    evidence = forms.CharField(label=_("What was seen: training, register, licence"))
    until = forms.DateField(label=_("Until (empty: no end)"), widget=day_input(), required=False)
