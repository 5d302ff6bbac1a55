"""What people were shown, and what they are."""

from uuid import UUID

from conservation.rules.leave import same_day_later
from conservation.treatments.actions import learning
from museum import clock
from museum.people import actions as people
from tests.treatments.ways.world import Ways, World


def of_people(name: str, w: World, me: UUID, day: str) -> Ways:
    today, marit = clock.today(), w.volunteer.pk
    later = same_day_later(today, years=1)
    if name in ("sign_off", "record_shown"):
        people.record_shown(w.rhea, me, "TR14", shown_by=w.conservator.pk, on=today, valid_to=later)
    match name:
        case "record_shown":
            return Ways(lambda actor: people.record_shown(actor, marit, "TR14", shown_by=me, on=today, valid_to=later))
        case "record_practice":
            return Ways(lambda actor: people.record_practice(actor, me, "TR14", on=today, valid_to=later, practice="six years"))
        case "sign_off":
            said = {"steps": ["TR14"], "shown_by": str(me), "on": day}
            return Ways(
                lambda actor: learning.sign_off(actor, marit, ["TR14"], shown_by=me, on=today), (f"/api/people/{marit}/competences", dict(said)),
                (f"/people/{marit}/shown/", {"form": "shown", **said}),
            )  # fmt: skip
        case "tell_practice":
            said = {"steps": ["TR14"], "practice": "six years", "on": day}
            return Ways(
                lambda actor: learning.tell_practice(actor, me, ["TR14"], on=today, practice="six years"), (f"/api/people/{me}/competences", dict(said)),
                (f"/people/{me}/shown/", {"form": "practice", **said}),
            )  # fmt: skip
        case "sign_practice":
            row = w.practice()
            return Ways(lambda actor: people.sign_practice(actor, row.pk), (f"/api/competences/{row.pk}/sign", {}), (f"/competence/{row.pk}/sign/", {}))
        case "end_competence":
            row = w.practice()
            said = {"reason": "a new lesson"}
            return Ways(
                lambda actor: people.end_competence(actor, row.pk, reason="a new lesson"), (f"/api/competences/{row.pk}/end", dict(said)),
                (f"/competence/{row.pk}/end/", dict(said)),
            )  # fmt: skip
        case "give_qualification":
            said = {"kind": "conservator", "evidence": "a diploma, seen"}
            return Ways(
                lambda actor: people.give_qualification(actor, marit, **said), (f"/api/people/{marit}/qualifications", said | {"given": True}),
                (f"/people/{marit}/shown/", {"form": "qualification", **said}),
            )  # fmt: skip
    rhea, said = w.conservator.pk, {"kind": "conservator", "reason": "left the register"}
    return Ways(
        lambda actor: people.end_qualification(actor, rhea, "conservator", reason="left the register"),
        (f"/api/people/{rhea}/qualifications", said | {"given": False}), (f"/people/{rhea}/qualification/end/", dict(said)),
    )  # fmt: skip
