"""What people type about themselves and each other."""

from collections.abc import Callable, Iterable
from typing import Any, TypeVar, cast
from uuid import UUID

from django import forms
from django.conf import settings
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from museum.errors import Invalid, VersionConflict
from museum.people.models import Person, RoleFact, Society
from museum.people.permissions import ROLE_WORDS

T = TypeVar("T")
ROLES = [(role.value, words) for role, words in ROLE_WORDS.items()]
KINDS = [("", _("nobody else")), *RoleFact.Reader.choices]
WEEKDAYS = [
    (1, _("Monday")),
    (2, _("Tuesday")),
    (3, _("Wednesday")),
    (4, _("Thursday")),
    (5, _("Friday")),
    (6, _("Saturday")),
    (7, _("Sunday")),
]


class Entry(forms.Form):
    """A form that shows an action's refusal beside the input it is about, and a conflict with both versions."""

    conflict: VersionConflict | None = None

    def __init__(self, *args: Any, **options: Any) -> None:
        # Several of these stand on one page, and an id may be there once.
        super().__init__(*args, **{"auto_id": f"{type(self).__name__.lower()}_%s"} | options)

    def checked(self, check: Callable[[T], T], value: T) -> T:
        """For a `clean_` method: what an action checks of one value."""
        try:
            return check(value)
        except Invalid as error:
            raise forms.ValidationError(error.sentence) from error

    def carry_out(self, act: Callable[[], T]) -> T | None:
        """What the action answers, or None when the form is to be shown again."""
        try:
            return act()
        except Invalid as error:
            self.add_error(error.field if error.field in self.fields else None, error.sentence)
        except VersionConflict as error:
            self._show_both(error)
        return None

    @property
    def apart(self) -> list[tuple[str, Any, Any]]:
        """Of each input on which the two differ: its name, what stands now, what was typed here."""
        if self.conflict is None:
            return []
        theirs, mine = self.conflict.data["theirs"], self.conflict.data["mine"]
        return [(str(self.fields[name].label or name), theirs[name], mine[name]) for name in theirs]

    def _show_both(self, error: VersionConflict) -> None:
        """What was typed stays; sent again, it is meant knowing what the other wrote."""
        self.conflict = error
        data = cast(QueryDict, self.data).copy()
        data["version"] = str(error.data["version"])
        self.data = data
        self.add_error(None, error.sentence)


class Secretly(forms.CharField):
    """A password or PIN: never shown, never trimmed, never filled in again."""

    def __init__(self, *, complete: str, **options: Any) -> None:
        widget = forms.PasswordInput(attrs={"autocomplete": complete} | options.pop("attrs", {}))
        super().__init__(widget=widget, strip=False, **options)


def pin_field(label: Any, **options: Any) -> Secretly:
    """Digits on a phone's number pad."""
    return Secretly(label=label, complete="off", attrs={"inputmode": "numeric"}, max_length=8, **options)


def day_input() -> forms.DateInput:
    """A browser's own input for a day, which takes ISO dates whatever the language."""
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


class SignInForm(Entry):
    email = forms.EmailField(label=_("E-mail"), widget=forms.EmailInput(attrs={"autocomplete": "username"}))
    password = Secretly(label=_("Password"), complete="current-password")


class PinForm(Entry):
    person = forms.UUIDField(widget=forms.HiddenInput)
    pin = pin_field(_("PIN"))


class CodeForm(Entry):
    code = forms.CharField(
        label=_("Code"),
        max_length=20,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "text"}),
    )

    def clean_code(self) -> str:
        """Codes are read aloud and copied: gaps and dashes do not count."""
        return str(self.cleaned_data["code"]).replace(" ", "").replace("-", "").lower()


class AccountForm(Entry):
    version = forms.IntegerField(widget=forms.HiddenInput)
    language = forms.ChoiceField(label=_("Language"), choices=settings.LANGUAGES)
    mail_reminders = forms.BooleanField(label=_("Send me reminders by e-mail"), required=False)


class ThemeForm(Entry):
    theme = forms.ChoiceField(
        label=_("Light or dark"),
        choices=[("", _("as the device has it")), ("light", _("light")), ("dark", _("dark, for a dim store"))],
        required=False,
    )


class SetPinForm(Entry):
    password = Secretly(label=_("Your password"), complete="current-password")
    pin = pin_field(_("PIN"), required=False, help_text=_("4 to 8 digits. Leave it empty to have none."))


class PasswordForm(Entry):
    old = Secretly(label=_("Present password"), complete="current-password")
    new = Secretly(
        label=_("New password"),
        complete="new-password",
        help_text=_("At least 10 characters; a short sentence is best."),
    )


class AcceptForm(Entry):
    name = forms.CharField(label=_("Your name"), widget=forms.TextInput(attrs={"autocomplete": "name"}))
    password = Secretly(label=_("A password of your own"), complete="new-password", help_text=_("At least 10 characters; a short sentence is best."))


class PersonForm(Entry):
    version = forms.IntegerField(widget=forms.HiddenInput)
    name = forms.CharField(label=_("Name"))
    email = forms.CharField(label=_("E-mail"), widget=forms.EmailInput)


class AddPersonForm(Entry):
    name = forms.CharField(label=_("Name"))
    email = forms.CharField(label=_("E-mail"), widget=forms.EmailInput)
    language = forms.ChoiceField(label=_("Language"), choices=settings.LANGUAGES)
    roles = forms.MultipleChoiceField(label=_("Roles"), choices=ROLES, required=False, widget=forms.CheckboxSelectMultiple)
    kind = forms.ChoiceField(label=_("A reader reads for"), choices=KINDS, required=False, help_text=_("Only for the role reader."))


class GiveRoleForm(Entry):
    role = forms.ChoiceField(label=_("Role"), choices=ROLES)
    kind = forms.ChoiceField(label=_("A reader reads for"), choices=KINDS, required=False, help_text=_("Only for the role reader."))
    until = forms.DateField(
        label=_("Until"),
        required=False,
        help_text=_("The last day; empty: until it is ended."),
        widget=day_input(),
    )


class ReasonForm(Entry):
    reason = forms.CharField(label=_("Reason"), required=False)


class EndRoleForm(ReasonForm):
    role = forms.ChoiceField(choices=ROLES, widget=forms.HiddenInput)


class BackForm(ReasonForm):
    version = forms.IntegerField(widget=forms.HiddenInput)


class LeftForm(BackForm):
    on = forms.DateField(label=_("From"), widget=day_input())


class EraseForm(Entry):
    person = forms.TypedChoiceField(label=_("Whose"), coerce=UUID)
    reason = forms.CharField(label=_("Why"), help_text=_("It stays in the history for ever: do not name the person in it."))
    name_too = forms.BooleanField(label=_("Erase the name as well"), required=False)
    sure = forms.BooleanField(label=_("I know that this cannot be undone"))

    def offer(self, people: Iterable[Person]) -> None:
        """Those whose texts can be erased."""
        cast(forms.TypedChoiceField, self.fields["person"]).choices = [("", _("choose")), *((str(person.pk), person.name) for person in people)]


class SocietyForm(Entry):
    version = forms.IntegerField(widget=forms.HiddenInput)
    name = forms.CharField(label=_("Name"))
    short_name = forms.CharField(label=_("Short name"), required=False, help_text=_("For labels and the top of each page."))
    address = forms.CharField(label=_("Address"), required=False, widget=forms.Textarea(attrs={"rows": 3}))
    email = forms.EmailField(label=_("E-mail for questions"), required=False)
    language = forms.ChoiceField(label=_("Language of papers"), choices=settings.LANGUAGES)
    currency = forms.CharField(label=_("Currency"), max_length=3, help_text=_("Three letters: EUR, GBP."))
    opening_days = forms.TypedMultipleChoiceField(
        label=_("Days on which somebody is here"), choices=WEEKDAYS, coerce=int, required=False,
        widget=forms.CheckboxSelectMultiple, help_text=_("Work is planned for these days. None ticked: every day."),
    )  # fmt: skip

    @classmethod
    def of(cls, house: Society) -> "SocietyForm":
        """The form as the society stands."""
        return cls(initial={name: getattr(house, name) for name in cls.base_fields})


class TabletForm(Entry):
    name = forms.CharField(label=_("Name of this tablet"), help_text=_("As people call it: cold store, workroom."))


class EndTabletForm(Entry):
    password = Secretly(label=_("Your password"), complete="current-password")
