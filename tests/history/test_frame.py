"""The frame of an action: what is written when, what a repetition answers, what a conflict shows."""

import pkgutil
from importlib import import_module
from importlib.util import find_spec
from uuid import UUID

import pytest
from django.apps import apps

from museum.errors import Forbidden, Invalid, SameKeyOtherContent, VersionConflict
from museum.history import chain
from museum.history.models import About, Act, Change, PersonalText
from museum.history.verify import verify
from museum.ids import uuid7
from museum.people import actions
from museum.people.action import ACTIONS, ActionFunction, action, plain
from museum.people.action import Act as Running
from museum.people.actor import NOBODY, PROGRAM, Actor
from museum.people.models import Person, RoleFact, Society
from museum.people.permissions import PERMISSIONS, Role, roles_that_may
from museum.people.secret import Secret

pytestmark = pytest.mark.django_db
OURS = {"museum", "collection", "conservation", "locations", "reports"}


def every_action() -> list[str]:
    """The names of all actions of all parts, once their modules are read."""
    for config in apps.get_app_configs():
        if config.name.split(".")[0] in OURS and find_spec(f"{config.name}.actions") is not None:
            package = import_module(f"{config.name}.actions")
            for found in pkgutil.walk_packages(getattr(package, "__path__", ()), f"{package.__name__}."):
                import_module(found.name)
    return [name for name in sorted(ACTIONS) if not name.startswith("tests.")]


HERE = every_action()


@pytest.mark.parametrize("name", HERE)
@pytest.mark.parametrize("role", list(Role))
def test_every_action_refuses_the_wrong_role(name: str, role: Role) -> None:
    act = ACTIONS[name]
    actor = Actor(person=uuid7(), name="somebody", roles=frozenset({role}))
    # who is let in then misses what the action needs to know
    assert isinstance(refusal(act, actor), Forbidden) is (role not in roles_that_may(act.permission))


def refusal(act: ActionFunction[..., object], actor: Actor) -> Exception | None:
    try:
        act(actor)
    except Exception as error:
        return error
    return None


@pytest.mark.parametrize("name", HERE)
def test_every_action_refuses_a_visitor(name: str) -> None:
    with pytest.raises(Forbidden):
        ACTIONS[name](NOBODY)


def test_every_permission_is_held_by_somebody() -> None:
    assert all(PERMISSIONS.values())


def test_the_administrator_sees_no_content_by_role() -> None:
    """collections.md 9: 'no content by role, only if also given another'."""
    seen = {
        "catalogue.see",
        "catalogue.see_all",
        "place.see_building",
        "place.see_exact",
        "value.see",
        "contact.see",
        "check.record",
    }
    assert not any(Role.ADMINISTRATOR in PERMISSIONS[name] for name in seen)


def test_an_entry_says_who_when_what_before_and_after(administrator: Person, volunteer: Person) -> None:
    actor = Actor.of(administrator, device="workroom")
    actions.give_role(actor, volunteer.id, "curator")
    actions.end_role(actor, volunteer.id, "curator", reason="moved away")
    given, ended = Change.objects.order_by("n")
    assert (given.what, given.who, given.role) == ("role.given", administrator.id, "administrator")
    assert given.after == {"role": "curator", "kind": "", "until": None}
    assert (ended.before, ended.reason, ended.act.device) == ({"role": "curator"}, "moved away", "workroom")
    assert list(About.objects.filter(kind="person", key=volunteer.id).order_by("change_id").values_list("change_id", flat=True)) == [
        given.n,
        ended.n,
    ]


def test_the_same_key_is_carried_out_once_and_answers_the_same(administrator: Person, volunteer: Person) -> None:
    actor = Actor.of(administrator).keyed(uuid7())
    first = actions.give_role(actor, volunteer.id, "curator")
    again = actions.give_role(actor, volunteer.id, "curator")
    assert again == first
    assert RoleFact.objects.filter(person=volunteer, role="curator").count() == 1
    assert Change.objects.count() == 1


def test_the_same_key_with_other_content_is_told(administrator: Person, volunteer: Person) -> None:
    key = uuid7()
    actor = Actor.of(administrator).keyed(key)
    actions.give_role(actor, volunteer.id, "curator")
    with pytest.raises(SameKeyOtherContent) as told:
        actions.give_role(actor, volunteer.id, "registrar")
    assert told.value.data == {"act": str(key), "action": "people.give_role"}
    assert Role.REGISTRAR not in volunteer.roles()


def test_another_persons_key_is_not_answered_with_their_answer(administrator: Person, curator: Person) -> None:
    key = uuid7()
    actions.set_pin(Actor.of(administrator).keyed(key), pin=Secret("2580"))
    with pytest.raises(SameKeyOtherContent):
        actions.set_pin(Actor.of(curator).keyed(key), pin=Secret("2580"))


def test_what_sent_it_is_not_content(administrator: Person, volunteer: Person) -> None:
    key = uuid7()
    actions.give_role(Actor.of(administrator, device="phone").keyed(key), volunteer.id, "curator")
    actions.give_role(Actor.of(administrator, device="other").keyed(key), volunteer.id, "curator")
    assert Change.objects.count() == 1


def test_a_refused_action_writes_nothing(administrator: Person, volunteer: Person) -> None:
    acts = Act.objects.count()
    with pytest.raises(Invalid):
        actions.add_person(
            Actor.of(administrator),
            name="New",
            email=volunteer.email,
            password=Secret("the boots are on the left"),
            roles=["curator"],
        )
    assert (Act.objects.count(), Change.objects.count()) == (acts, 0)
    assert Person.objects.filter(name="New").count() == 0


def test_a_failing_action_takes_back_what_it_wrote(administrator: Person, volunteer: Person) -> None:
    @action("tests.fails", may="people.manage")
    def fails(act: Running) -> None:
        actions.give_role(act, volunteer.id, "curator")
        raise Invalid

    with pytest.raises(Invalid):
        fails(Actor.of(administrator))
    assert Role.CURATOR not in volunteer.roles()
    assert Change.objects.count() == 0


def test_actions_within_an_act_are_one_act(administrator: Person, volunteer: Person) -> None:
    @action("tests.both", may="people.manage")
    def both(act: Running) -> None:
        actions.give_role(act, volunteer.id, "curator")
        actions.give_role(act, volunteer.id, "registrar")

    acts = Act.objects.count()
    both(Actor.of(administrator))
    assert Act.objects.count() == acts + 1
    assert Change.objects.values("act").distinct().count() == 1


def test_an_action_within_an_act_asks_for_its_own_permission(volunteer: Person) -> None:
    @action("tests.sneaks", may="check.record")
    def sneaks(act: Running) -> None:
        actions.give_role(act, volunteer.id, "administrator")

    with pytest.raises(Forbidden):
        sneaks(Actor.of(volunteer))
    assert volunteer.roles() == {Role.VOLUNTEER}


def test_a_conflict_carries_both_versions_and_who(administrator: Person, society: Society) -> None:
    actor = Actor.of(administrator)
    actions.change_society(actor, version=1, name="Tallowick Rescue", currency="GBP")
    with pytest.raises(VersionConflict) as told:
        actions.change_society(actor, version=1, name="Tallowick Heritage", currency="GBP")
    data = told.value.data
    assert data["who"] == "Oda"
    assert (data["theirs"]["name"], data["mine"]["name"]) == ("Tallowick Rescue", "Tallowick Heritage")
    assert "currency" not in data["theirs"], "both wrote the same"
    assert data["version"] == 2
    society.refresh_from_db()
    assert society.name == "Tallowick Rescue"


def test_two_who_wrote_the_same_do_not_differ(administrator: Person, society: Society) -> None:
    actor = Actor.of(administrator)
    for _ in range(2):
        actions.change_society(actor, version=1, name="Tallowick Rescue", currency="GBP")
    assert Society.load().version == 2


def test_a_personal_text_is_outside_the_chain_and_can_be_erased(administrator: Person) -> None:
    person = actions.add_person(Actor.of(administrator), name="Ansel Pike", email="ansel@example.org", password=Secret("a rope and a bucket"))
    change = Change.objects.get(what="person.added")
    assert "Ansel" not in chain.canonical_json(change.entry())
    text = PersonalText.objects.get(change=change, text="Ansel Pike")
    assert change.after["name"] == {"digest": chain.salted_digest(text.salt, "Ansel Pike")}
    before = verify()
    PersonalText.objects.filter(change=change).delete()
    assert verify() == before
    assert before.broken_at is None
    assert person.name == "Ansel Pike"


def test_a_password_leaves_no_guessable_trace(administrator: Person) -> None:
    secret = Secret("a rope and a bucket")
    assert "rope" not in repr(secret)
    assert plain(secret) != chain.digest(secret.text)
    assert plain(secret) == {"sha256": secret.sha256}
    actions.add_person(PROGRAM, name="Ansel", email="ansel@example.org", password=secret)
    assert not Act.objects.filter(answer__icontains="rope").exists()


def test_what_cannot_be_content_is_refused_early() -> None:
    with pytest.raises(TypeError):
        plain(object())
    assert plain(UUID(int=1)) == "00000000-0000-0000-0000-000000000001"
