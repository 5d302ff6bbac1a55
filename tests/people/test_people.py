"""The administrator's acts, and what each page keeps when something is refused."""

import re
from collections.abc import Callable
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from museum import clock
from museum.errors import Invalid, NotFound, VersionConflict
from museum.history.models import Change, PersonalText
from museum.ids import uuid7
from museum.people import actions
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, RoleFact, Society
from museum.people.permissions import Role
from museum.people.secret import Secret

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
GOOD = Secret("a rope and a bucket")


def test_the_first_act_is_by_nobody_and_only_once(db: None) -> None:
    oda = actions.first_act(PROGRAM, name="Oda", email="oda@example.org", password=GOOD, society="Tallowick", language="de")
    assert oda.roles() == {Role.ADMINISTRATOR, Role.REGISTRAR}
    assert (Society.load().name, Society.load().language) == ("Tallowick", "de")
    assert set(Change.objects.values_list("who", flat=True)) == {None}
    with pytest.raises(Invalid, match="invalid"):
        actions.first_act(PROGRAM, name="Nell", email="nell@example.org", password=GOOD, society="Other")
    assert Person.objects.count() == 1


def test_the_command_prints_the_password_once(db: None, client: Client) -> None:
    out = StringIO()
    call_command("first_administrator", "--email", "oda@example.org", stdout=out)
    password = out.getvalue().split()[1]
    assert client.post("/sign-in/", {"email": "oda@example.org", "password": password}).status_code == 302
    with pytest.raises(CommandError, match="here already"):
        call_command("first_administrator")


def test_the_console_lets_an_administrator_in_again(administrator: Person, client: Client) -> None:
    out = StringIO()
    call_command("let_in", administrator.email.upper(), "--second-factor", stdout=out)
    password = out.getvalue().split()[1]
    assert client.post("/sign-in/", {"email": administrator.email, "password": password}).status_code == 302
    with pytest.raises(CommandError, match="Nobody"):
        call_command("let_in", "nobody@example.org")


def test_somebody_new_has_their_roles(administrator: Person) -> None:
    person = actions.add_person(
        Actor.of(administrator),
        name="  Ansel   Pike ",
        email=" ansel@example.org ",
        password=GOOD,
        roles=["reader", "volunteer"],
        kind="insurer",
    )
    assert (person.name, person.email) == ("Ansel Pike", "ansel@example.org")
    assert person.roles() == {Role.READER, Role.VOLUNTEER}
    assert RoleFact.objects.get(person=person, role="reader").kind == "insurer"
    assert RoleFact.objects.get(person=person, role="volunteer").kind == ""


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"name": "  "}, "name"),
        ({"email": "not an address"}, "email"),
        ({"email": "ODA@example.org"}, "email"),
        ({"password": Secret("short")}, "password"),
        ({"password": Secret("ansel@example.org")}, "password"),
        ({"language": "xx"}, "language"),
        ({"roles": ["keeper"]}, "role"),
        ({"roles": ["reader"]}, "kind"),
    ],
)
def test_what_cannot_be_taken_names_its_input(administrator: Person, wrong: dict[str, object], field: str) -> None:
    given = {"name": "Ansel", "email": "ansel@example.org", "password": GOOD} | wrong
    with pytest.raises(Invalid) as told:
        actions.add_person(Actor.of(administrator), **given)  # type: ignore[arg-type]
    assert told.value.field == field
    assert told.value.sentence.endswith((".", "?"))
    assert Person.objects.count() == 1


def test_a_role_ends_by_its_day(administrator: Person, volunteer: Person) -> None:
    actions.give_role(Actor.of(administrator), volunteer.id, "curator", until=clock.today())
    assert Role.CURATOR in volunteer.roles()
    assert Role.CURATOR in Person.objects.with_roles().get(pk=volunteer.pk).roles()
    with clock.at(clock.now() + timedelta(days=1)):
        assert Role.CURATOR not in volunteer.roles()
        assert Role.CURATOR not in Person.objects.with_roles().get(pk=volunteer.pk).roles()


def test_given_ended_given_again(administrator: Person, volunteer: Person) -> None:
    actor = Actor.of(administrator)
    for _ in range(2):
        actions.give_role(actor, volunteer.id, "curator")
        assert Role.CURATOR in volunteer.roles()
        actions.end_role(actor, volunteer.id, "curator")
        assert Role.CURATOR not in volunteer.roles()
    with pytest.raises(Invalid, match="invalid"):
        actions.end_role(actor, volunteer.id, "curator")


def test_a_day_that_has_passed_is_no_end(administrator: Person, volunteer: Person) -> None:
    with pytest.raises(Invalid) as told:
        actions.give_role(Actor.of(administrator), volunteer.id, "curator", until=clock.today() - timedelta(days=1))
    assert told.value.field == "until"


def test_the_last_administrator_stays(administrator: Person, volunteer: Person) -> None:
    actor = Actor.of(administrator)
    with pytest.raises(Invalid) as told:
        actions.end_role(actor, administrator.id, "administrator")
    assert told.value.sentence.startswith("Oda is the only administrator.")
    with pytest.raises(Invalid):
        actions.mark_left(actor, administrator.id, version=1, on=clock.today())
    actions.give_role(actor, volunteer.id, "administrator")
    actions.end_role(actor, administrator.id, "administrator")
    assert Role.ADMINISTRATOR not in administrator.roles()


def test_an_administrator_who_has_left_does_not_count(administrator: Person, volunteer: Person) -> None:
    actor = Actor.of(administrator)
    actions.give_role(actor, volunteer.id, "administrator")
    actions.mark_left(actor, volunteer.id, version=1, on=clock.today())
    with pytest.raises(Invalid):
        actions.end_role(actor, administrator.id, "administrator")


def test_another_name_stays_out_of_the_hashed_part(administrator: Person, volunteer: Person) -> None:
    actions.change_person(Actor.of(administrator), volunteer.id, version=1, name="Marit Holm", email=volunteer.email)
    change = Change.objects.get()
    assert set(change.before) == set(change.after) == {"name"}
    assert set(PersonalText.objects.values_list("text", flat=True)) == {"Marit", "Marit Holm"}


def test_two_who_change_a_person(administrator: Person, volunteer: Person) -> None:
    actor = Actor.of(administrator)
    actions.change_person(actor, volunteer.id, version=1, name="Marit Holm", email=volunteer.email)
    with pytest.raises(VersionConflict) as told:
        actions.change_person(actor, volunteer.id, version=1, name="Marit Berg", email=volunteer.email)
    assert told.value.data["theirs"] == {"name": "Marit Holm"}


def test_nobody_of_that_key(administrator: Person) -> None:
    with pytest.raises(NotFound):
        actions.give_role(Actor.of(administrator), uuid7(), "curator")


def test_the_society_s_further_choices(administrator: Person, society: Society) -> None:
    actor = Actor.of(administrator)
    actions.choose(actor, "reminders.hour", 7, reason="we open late")
    assert Society.load().choice("reminders.hour", 6) == 7
    actions.choose(actor, "reminders.hour", None)
    assert Society.load().choice("reminders.hour", 6) == 6
    assert [change.after for change in Change.objects.order_by("n")] == [
        {"reminders.hour": 7},
        {"reminders.hour": None},
    ]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"currency": "EURO"}, "currency"), ({"opening_days": [0]}, "opening_days"), ({"name": ""}, "name")],
)
def test_settings_that_cannot_be(administrator: Person, society: Society, wrong: dict[str, object], field: str) -> None:
    with pytest.raises(Invalid) as told:
        actions.change_society(Actor.of(administrator), **{"version": 1, "name": "x"} | wrong)  # type: ignore[arg-type]
    assert told.value.field == field


def test_adding_by_page_shows_the_password_once(as_person: Browser, administrator: Person, client: Client) -> None:
    page = as_person(administrator).post(
        "/people/add/",
        {"name": "Ansel", "email": "ansel@example.org", "language": "fr", "roles": ["volunteer", "curator"]},
    )
    assert page["Cache-Control"] == "no-store"
    answer = client.post("/sign-in/", {"email": "ansel@example.org", "password": page.context["password"]})
    assert answer.status_code == 302
    assert Person.objects.get(email="ansel@example.org").roles() == {Role.VOLUNTEER, Role.CURATOR}


def test_a_refused_page_keeps_what_was_typed(as_person: Browser, administrator: Person) -> None:
    page = as_person(administrator).post("/people/add/", {"name": "Ansel", "email": administrator.email, "language": "fr"}).content.decode()
    assert "Somebody with this e-mail is here already" in page
    assert 'value="Ansel"' in page


def test_the_person_s_page_does_what_it_offers(as_person: Browser, administrator: Person, volunteer: Person) -> None:
    client, address = as_person(administrator), f"/people/{volunteer.id}/"
    assert client.get(address).status_code == 200
    for sent in (
        {"form": "give", "role": "reader", "kind": "auditor"},
        {"form": "end", "role": "volunteer"},
        {"form": "change", "version": "1", "name": "Marit Holm", "email": "marit.holm@example.org"},
        {"form": "second_factor", "reason": "phone lost, asked in person"},
        {"form": "left", "version": "2", "on": clock.today().isoformat()},
    ):
        assert client.post(address, sent)["Location"] == address
    volunteer.refresh_from_db()
    assert (volunteer.name, volunteer.roles(), volunteer.is_active) == ("Marit Holm", {Role.READER}, False)
    assert client.post(address, {"form": "back", "version": "3"})["Location"] == address
    assert "Password:" in client.post(f"{address}password/").content.decode()
    assert "Marit Holm" in client.get("/people/").content.decode()


def test_the_last_administrator_reads_why_not(as_person: Browser, administrator: Person) -> None:
    page = as_person(administrator).post(f"/people/{administrator.id}/", {"form": "end", "role": "administrator"})
    assert "is the only administrator" in page.content.decode()


def test_the_second_to_save_sees_both_and_can_save_then(as_person: Browser, administrator: Person, society: Society) -> None:
    client = as_person(administrator)
    sent = {"version": "1", "language": "en", "currency": "GBP"}
    assert client.get("/society/").context["form"]["name"].value() == society.name
    assert client.post("/society/", sent | {"name": "First"}).status_code == 302
    page = client.post("/society/", sent | {"name": "Second"})
    text = page.content.decode()
    assert page.context["form"].apart == [("Name", "First", "Second")]
    assert 'value="Second"' in text
    assert "nothing you typed is lost" in text
    again = sent | {"name": "Second", "version": page.context["form"]["version"].value()}
    assert client.post("/society/", again).status_code == 302
    assert Society.load().name == "Second"


def test_opening_days_come_back_ticked(as_person: Browser, administrator: Person, society: Society) -> None:
    client = as_person(administrator)
    client.post("/society/", {"version": "1", "name": "x", "language": "en", "currency": "eur", "opening_days": ["6", "2"]})
    assert (Society.load().opening_days, Society.load().currency) == ([2, 6], "EUR")
    assert client.get("/society/").content.decode().count("checked") == 2


def test_the_own_account_keeps_each_form_apart(as_person: Browser, volunteer: Person) -> None:
    client = as_person(volunteer)
    assert client.post("/account/", {"form": "settings", "version": "1", "language": "fr"}).status_code == 302
    volunteer.refresh_from_db()
    assert (volunteer.language, volunteer.mail_reminders) == ("fr", False)
    wrong = client.post("/account/", {"form": "password", "old": "no", "new": "a ladder against the wall"})
    assert wrong.context["forms"]["password"].errors["old"]
    assert not wrong.context["forms"]["settings"].errors
    assert client.post("/account/", {"form": "theme", "theme": "dark"}).cookies["theme"].value == "dark"
    assert client.post("/account/", {"form": "theme", "theme": "'><script>"}).status_code == 200
    assert client.post("/account/", {"form": "unknown"}).status_code == 200


@pytest.mark.parametrize(("who", "open_ways"), [("volunteer", 0), ("curator", 1), ("administrator", 3)])
def test_the_account_leads_only_where_one_may_go(request: pytest.FixtureRequest, as_person: Browser, who: str, open_ways: int) -> None:
    page = as_person(request.getfixturevalue(who)).get("/account/").content.decode()
    assert sum(f'href="{way}"' in page for way in ("/people/", "/society/", "/tablet/")) == open_ways


def test_no_id_stands_twice_on_a_page(as_person: Browser, administrator: Person, volunteer: Person) -> None:
    client = as_person(administrator)
    for address in ("/account/", f"/people/{volunteer.id}/"):
        ids = re.findall(r'\bid="([^"]+)"', client.get(address).content.decode())
        assert len(ids) == len(set(ids)), address


def test_days_are_filled_in_as_the_browser_wants_them(as_person: Browser, administrator: Person, volunteer: Person) -> None:
    actions.change_own_account(Actor.of(administrator), version=1, language="de", mail_reminders=True)
    page = as_person(administrator).get(f"/people/{volunteer.id}/").content.decode()
    assert f'value="{clock.today().isoformat()}"' in page
