"""What is typed to invite a conservator from outside."""

from datetime import date, timedelta
from typing import Any, Final
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Card, Object
from conservation.treatments.models import Proposal
from museum import clock
from museum.people.actions.inviting import invited_address, invited_until
from museum.people.actor import Actor
from museum.people.forms import Entry, day_input

#: what a first invitation lasts, where nobody says otherwise
USUAL: Final = timedelta(days=60)
#: so many things with open proposals are offered
OFFERED: Final = 50


class InviteForm(Entry):
    """Whom, about what, until when."""

    name = forms.CharField(label=_("Name"))
    email = forms.CharField(label=_("E-mail"), widget=forms.EmailInput)
    evidence = forms.CharField(label=_("How you know that this is a conservator: training, register"))
    things = forms.TypedMultipleChoiceField(label=_("About"), coerce=UUID, widget=forms.CheckboxSelectMultiple)
    until = forms.DateField(label=_("Last day"), widget=day_input())
    words = forms.CharField(label=_("What you ask"), required=False, widget=forms.Textarea(attrs={"rows": 3}), help_text=_("It stands in the mail."))

    def __init__(self, *args: Any, reader: Actor, asked: UUID | None = None, **options: Any) -> None:
        super().__init__(*args, **options)
        things = self.fields["things"]
        assert isinstance(things, forms.TypedMultipleChoiceField)
        things.choices = _offered(reader, asked)
        things.initial = [str(asked)] if asked else []
        self.fields["until"].initial = clock.today() + USUAL

    # What the action would refuse later is told now, beside all else that is wrong.
    def clean_email(self) -> str:
        email: str = self.checked(invited_address, self.cleaned_data["email"])
        return email

    def clean_until(self) -> date:
        until: date = self.checked(invited_until, self.cleaned_data["until"])
        return until


def _offered(reader: Actor, asked: UUID | None) -> list[tuple[str, str]]:
    """The thing that was asked about, then those with open proposals, the most urgent first."""
    waiting = Proposal.objects.filter(state=Proposal.State.WAITING, object__in=Object.objects.visible_to(reader)).values("object")
    cards = Card.objects.visible_to(reader)
    rows = [*cards.filter(object=asked), *cards.filter(object__in=waiting).exclude(object=asked).order_by("-urgency", "number_sort")[:OFFERED]]
    return [(str(card.object_id), f"{card.number} {card.name}".strip()) for card in rows]
