"""What is typed about batches."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from conservation.rules.supplies import supplies
from conservation.treatments.models import BatchTest
from museum import clock
from museum.people.forms import Entry, day_input


class BatchForm(Entry):
    """A delivery."""

    supply = forms.ChoiceField(label=_("Material"))
    number = forms.CharField(label=_("Number on the pack, or one of our own"))
    received_on = forms.DateField(label=_("Arrived on"), widget=day_input(), initial=clock.today)
    expires_on = forms.DateField(label=_("Last day: the maker's or our own"), widget=day_input(), required=False)
    maker = forms.CharField(label=_("Maker and trade name (for us only)"), required=False)
    kept_at = forms.CharField(label=_("Kept at"), required=False)
    note = forms.CharField(label=_("Note"), widget=forms.Textarea(attrs={"rows": 2}), required=False)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        supply = self.fields["supply"]
        assert isinstance(supply, forms.ChoiceField)
        supply.choices = [(row.code, row.name) for row in supplies().values() if not row.kit]


class ChangeForm(Entry):
    """What may change of a batch."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    expires_on = forms.DateField(label=_("Last day"), widget=day_input(), required=False)
    maker = forms.CharField(label=_("Maker and trade name (for us only)"), required=False)
    kept_at = forms.CharField(label=_("Kept at"), required=False)
    note = forms.CharField(label=_("Note"), widget=forms.Textarea(attrs={"rows": 2}), required=False)


class TestForm(Entry):
    """A test of a batch."""

    __test__ = False

    sort = forms.ChoiceField(label=_("Tested for"), choices=BatchTest.Sort.choices)
    how = forms.CharField(label=_("Which test, and what was seen"))
    passed = forms.ChoiceField(label=_("Result"), choices=[("", "–"), ("yes", _("passed")), ("no", _("failed"))])
    on = forms.DateField(label=_("On"), widget=day_input(), initial=clock.today)

    def clean_passed(self) -> bool:
        return bool(self.cleaned_data["passed"] == "yes")


class UseForm(Entry):
    """Used to pack, pad or tag a thing."""

    number = forms.CharField(label=_("Number of the thing"))
    amount = forms.CharField(label=_("How much"), required=False)
    ticked = forms.BooleanField(label=_("I have read what is said above about this batch, and use it all the same"), required=False)


class MarkForm(Entry):
    """Opened, or used up."""

    sort = forms.ChoiceField(label=_("What"), choices=[("opened", _("opened")), ("used_up", _("used up or thrown out"))])
    on = forms.DateField(label=_("On"), widget=day_input(), initial=clock.today)


class RecallForm(Entry):
    """Nobody uses it from now on."""

    reason = forms.CharField(label=_("Why"))
    due_on = forms.DateField(label=_("What it touched is looked at by"), widget=day_input(), initial=clock.today)


class LiftForm(Entry):
    """It may be used again."""

    reason = forms.CharField(label=_("Why it may be used again"))


class SheetForm(Entry):
    """A safety sheet."""

    file = forms.FileField(label=_("PDF, or a picture of it"))
    of_day = forms.DateField(label=_("Day printed on it"), widget=day_input(), required=False)
