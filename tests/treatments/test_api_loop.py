"""From a check to looking again on an imported helmet, by the doors for programs alone: as volunteer, curator and conservator."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from collection.objects.models import MadeOf, Object
from collection.objects.queries import zones_of
from conservation.checks.models import Call, CallAnswer
from conservation.treatments.models import Kept, Proposal, WorkStep
from museum import clock
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock as house
from tests.objects.pictures import made, picture
from tests.treatments.imported import brought_in

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


class Program:
    """A program that acts for one person."""

    def __init__(self, client: Client) -> None:
        self.client = client

    def post(self, path: str, status: int = 201, **body: Any) -> dict[str, Any]:
        answer = self.client.post(f"/api/{path}", {"id": str(uuid7()), **body}, content_type="application/json")
        said: dict[str, Any] = answer.json()
        assert answer.status_code == status, said
        return said

    def get(self, path: str, **query: str) -> dict[str, Any]:
        said: dict[str, Any] = self.client.get(f"/api/{path}", query).json()
        return said

    def photo(self, thing: Object, view: str, shade: int) -> str:
        key = str(uuid7())
        sent = SimpleUploadedFile(f"{view}.jpg", made(image=picture((400 + shade, 300))), content_type="image/jpeg")
        answer = self.client.post("/api/photos/", {"id": key, "photo": sent, "object": str(thing.pk), "view": view})
        assert answer.status_code == 201, answer.content
        return key


def finding(thing: Object, code: str, term: str, material: str, key: str = "", change: str = "new") -> dict[str, Any]:
    return {
        "id": str(uuid7()), "finding": key or str(uuid7()), "zone": str(house.zone(thing, code)), "term": term, "material": material, "percent": "3",
        "severity": 2, "activity": 1, "change": change,
    }  # fmt: skip


def check(by: Program, thing: Object, *seen: dict[str, Any], sort: str = "full", **more: Any) -> dict[str, Any]:
    looks = {zone.key: "nothing" for zone in zones_of(thing)} if sort == "full" else {}
    looks |= {row["zone"]: "findings" for row in seen}
    today = clock.today().isoformat()
    return by.post("checks/", object=str(thing.pk), sort=sort, happened_on=today, looks=looks, seen=list(seen), screen=house.NO_TO_ALL, **more)


def test_the_whole_loop_by_programs(
    volunteer: Person, curator: Person, second_curator: Person, conservator: Person, registrar: Person, as_person: Browser
) -> None:
    thing = brought_in(Actor.of(registrar))[0]
    assert "leather" in MadeOf.objects.filter(component__object=thing).values_list("material__code", flat=True)
    marit, ivo, rhea = (Program(as_person(person)) for person in (volunteer, curator, conservator))
    rust, mould = finding(thing, "RB", "RUST_SPOT", "steel"), finding(thing, "HB", "MOULD_DORMANT", "leather")
    check(marit, thing, rust, mould)
    rim, band = rust["zone"], mould["zone"]

    asked = marit.get(f"things/{thing.pk}/may/", words="a little household bleach", zone=band, surface="leather")["asked"]["refusal"]
    assert asked["gate"].startswith("CX")
    assert asked["why"]
    assert asked["instead"]
    assert asked["opens"] == "nobody"
    bleach = {"words": "a little household bleach", "earlier": "it smells"}
    proposals, wish = f"things/{thing.pk}/proposals/", {"aim": "so that it does not go on", "finding": mould["finding"], "zone": band, "surface": "leather"}
    for who in (marit, ivo, rhea):
        refused = who.post(proposals, 409, **wish, steps=[bleach])
        assert (refused["code"], refused["gate"]) == ("gate", asked["gate"])
        assert refused["instead"]
    assert not Proposal.objects.exists()

    brush = {"step": "TR14", "earlier": "dry since March, the powder goes on falling"}
    sent = marit.post(proposals, aim="loose rust off", finding=rust["finding"], zone=rim, surface="steel", steps=[brush])
    one = f"proposals/{sent['id']}"
    marit.post(f"{one}/approve/", 403, version=1)
    ivo.post(f"{one}/return/", version=1, remark="which brush?")
    marit.post(f"{one}/again/", version=2, surface="steel", aim="loose rust off, natural bristle", steps=[brush])
    assert ivo.post(f"{one}/approve/", version=3)["state"] == "approved"

    at = {"zone": rim, "surface": "steel", "step": "TR14", "finding": rust["finding"]}
    assert marit.post(f"things/{thing.pk}/work/", 409, **at)["gate"] == "ROLE"
    today = clock.today().isoformat()
    rhea.post(f"people/{volunteer.pk}/competences", steps=["TR14"], shown_by=str(conservator.pk), on=today)
    assert marit.post(f"things/{thing.pk}/work/", 409, **at)["gate"] == "PHOTOGRAPHS"
    work = f"work/{marit.post(f'things/{thing.pk}/work/', **at, before=[marit.photo(thing, 'V02', 0)])['id']}"
    done = {"step": "TR14", "surface": "steel"}
    assert marit.post(f"{work}/steps/", 409, **done)["gate"] == "TEST-SPOT"
    marit.post(f"{work}/spots/", **done, unchanged=True)
    missing = marit.post(f"{work}/steps/", 409, **done)
    assert missing["gate"] == "CAUTIONS"
    ticked = missing["why"].removeprefix("these cautions are not ticked: ").split(", ")
    assert "OWNER" in ticked, "nobody told whose an imported thing is"
    marit.post(f"{work}/steps/", **done, acknowledged=ticked, minutes=10)
    marit.post(f"{work}/kept/", name="flake of blacking", because="it lay loose under the rim", bag="vial 3")
    marit.post(f"{work}/stop/", **done, note="bright metal where it was dark", photographs=[marit.photo(thing, "V02", 1)])
    assert marit.post(f"{work}/steps/", 409, **done, acknowledged=ticked)["gate"] == "ENDED"
    assert marit.post(f"{work}/end/", 409)["gate"] == "AFTER"
    marit.post(f"{work}/end/", after=[marit.photo(thing, "V02", 2)])
    assert [row.result for row in WorkStep.objects.order_by("recorded_at")] == ["done", "stopped"]
    assert Kept.objects.get().component.letter

    calls = list(Call.objects.filter(object=thing, why="follow_up").order_by("due_on"))
    assert [(call.due_on - clock.today()).days for call in calls] == [30, 90, 180]
    with clock.at(clock.now() + timedelta(days=30)):
        check(marit, thing, finding(thing, "RB", "RUST_SPOT", "steel", key=rust["finding"], change="same"), sort="follow_up")
        assert CallAnswer.objects.filter(call=calls[0]).exists()
        assert not CallAnswer.objects.filter(call__in=calls[1:]).exists()


def test_a_conservators_step_from_the_letter_to_the_work(
    volunteer: Person, curator: Person, conservator: Person, registrar: Person, as_person: Browser
) -> None:
    """What only a conservator does: proposed with the letter, consented to by the curator, done by the conservator and nobody else."""
    thing = brought_in(Actor.of(registrar))[1]
    marit, ivo, rhea, nell = (Program(as_person(person)) for person in (volunteer, curator, conservator, registrar))
    flaking = finding(thing, "SH", "PAINT_FLAKE", "paint")
    check(marit, thing, flaking)
    step, at = {"step": "TR46", "earlier": "holding still is not enough for the loan"}, {"zone": flaking["zone"], "surface": "paint"}
    wish = {**at, "aim": "so that the flakes hold", "finding": flaking["finding"], "steps": [step]}
    bare = rhea.post(f"things/{thing.pk}/proposals/", **wish)
    assert ivo.post(f"proposals/{bare['id']}/approve/", 409, version=1)["gate"] in ("APPROVAL", "OWNER")
    sent = rhea.post(f"things/{thing.pk}/proposals/", **wish, written="letter of 3 May, file 12")
    untold = ivo.post(f"proposals/{sent['id']}/approve/", 409, version=1)
    assert (untold["gate"], untold["opens"]) == ("OWNER", "registrar"), "what goes further waits until somebody tells whose it is"
    nell.post(f"things/{thing.pk}/owner-leave/", letter="of the lender, 2 June, folder 4")
    assert ivo.post(f"proposals/{sent['id']}/approve/", version=1)["state"] == "approved"
    begin = {**at, "step": "TR46", "finding": flaking["finding"]}
    assert marit.post(f"things/{thing.pk}/work/", 409, **begin, before=[marit.photo(thing, "V01", 0)])["gate"] == "ROLE"
    work = rhea.post(f"things/{thing.pk}/work/", **begin, before=[rhea.photo(thing, "V01", 1)])
    ticked = [one["code"] for one in rhea.get(f"things/{thing.pk}/may/")["never"]]
    rhea.post(f"work/{work['id']}/spots/", step="TR46", surface="paint", unchanged=True)
    rhea.post(f"work/{work['id']}/steps/", step="TR46", surface="paint", acknowledged=["TR46", *ticked])
    assert rhea.post(f"work/{work['id']}/end/", after=[rhea.photo(thing, "V01", 2)])["is"] == "workend"
