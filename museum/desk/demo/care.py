"""The demo's stories of care: a dozen things between a finding and looking again, each told through the actions on its day."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any, Final
from uuid import UUID

from django.conf import settings
from django.utils.translation import gettext

from collection.objects.actions.photographs import add_photograph
from collection.objects.actions.screens import tell_opening
from collection.objects.models import Object
from collection.objects.photos import Upload
from collection.objects.queries import zones_of
from conservation.checks.actions.cards import read_card, start_card
from conservation.checks.actions.incidents import add_step, open_incident
from conservation.checks.actions.record import record_check
from conservation.checks.actions.screening import answer_ten_of_lot, confirm_from_lot
from conservation.checks.entry import CheckEntry, Seen, ZoneKey
from conservation.checks.models import Observation
from conservation.checks.queries import open_findings
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import answering, asking
from conservation.treatments.actions import deciding, ending, inviting, learning, proposals, standing, stock, working
from conservation.treatments.deeds import Meant
from conservation.treatments.models import Approval, Batch, Proposal, Work
from locations.places.actions import move_object
from locations.places.models import Place
from museum import clock
from museum.desk.demo.days import ago
from museum.ids import uuid7
from museum.people import actions as people
from museum.people.actor import NOBODY, PROGRAM, Actor
from museum.people.invitations import guest_of
from museum.people.models import Person
from museum.people.secret import Secret

#: what the house was shown by a conservator from outside, on one afternoon
LESSONS: Final[Mapping[str, Sequence[str]]] = {
    "volunteer": ("TR07", "TR10", "TR14"),
    "curator": ("TR07", "TR10", "TR14", "TR18", "TR22", "TR24", "TR28", "TR36"),
}
#: drawn by the project from its outlines: '<number>-<state>-<view>.jpg'
PICTURES: Final = settings.BASE_DIR / "fixtures" / "demo" / "pictures" / "care"
#: views of the pictures: the front, and a finding from near
VIEWS: Final = ("V01", "V13")
NEAR: Final = "V13"
GUEST: Final = "Odile Brandt"
GUEST_EMAIL: Final = "guest@example.org"
HER_WORD: Final = (
    "A cellulose ether in alcohol, from the flesh side, two thin coats, after a test of one square centimetre looked at again the next day. "
    "It darkens the leather by a shade and does not come out again; it will hold the powder and heal nothing. Four pages, filed in folder 7."
)
LOOSE: Final = "what is loose off, so that it can be stored safely"
POWDER: Final = "in the driest room since spring; the powder goes on falling"


@dataclass(frozen=True)
class Cast:
    """Who tells: the volunteer, the curator, a conservator from outside."""

    marit: Actor
    ivo: Actor
    rhea: Actor


@dataclass(frozen=True)
class At:
    """A place on a thing where something is to be done: the zone, its layer, the finding."""

    thing: Object
    zone: str
    surface: str
    finding: UUID


def tell(raw: Mapping[str, Any], cast: Cast, things: Mapping[str, Object], password: Secret) -> None:
    """All of it, oldest first as far as one thing hangs on another."""
    _lessons(cast)
    _stock(raw["stock"], cast, things)
    _waiting_and_returned(cast, things)
    _approved_and_lapsed(cast, things)
    _work_open(cast, things["2005.1.3"])
    _stopped(cast, things["2005.1.4"])
    _kept_and_due_again(cast, things["2005.1.5"])
    _everyday(cast, things["2004.1.1"])
    _alone(cast, things["2005.1.7"])
    _deposits(cast, things)
    _crate(cast, *(things[f"2005.3.{n}"] for n in (1, 2, 3)))
    _cards(cast, things)
    _incident(cast, things["2005.1.8"])
    _stands_wrong(cast, things["2005.1.6"])
    _from_outside(cast, things, password)


def cast_of(everybody: Mapping[str, Person]) -> Cast:
    """The people of the stories; the conservator's qualification is put on file by the curator."""
    rhea = Person.objects.get(email="conservator@example.org")
    with clock.at(ago(400)):
        people.give_qualification(Actor.of(everybody["curator"]), rhea.pk, "conservator", evidence="diploma and register, both seen")
    return Cast(*(Actor.of(one) for one in (everybody["volunteer"], everybody["curator"], rhea)))


def _lessons(cast: Cast) -> None:
    with clock.at(ago(220)):
        for who, steps in ((cast.marit, LESSONS["volunteer"]), (cast.ivo, LESSONS["curator"])):
            learning.sign_off(cast.rhea, who.someone, list(steps), shown_by=cast.rhea.someone, on=clock.today())
        learning.sign_off(cast.ivo, cast.marit.someone, ["handling", "safety", "salvage", "whom_to_call"], shown_by=cast.ivo.someone, on=clock.today())
    with clock.at(ago(60)):
        standing.give_standing(cast.ivo, cast.marit.someone, step="TR14", material="steel", reason="trained in spring; rims of the drill helmets")
        learning.tell_practice(
            cast.marit, cast.marit.someone, ["TR18"], on=clock.today(), practice="two summers on brass of the works museum, pictures in folder 4"
        )


def _stock(rows: Sequence[Mapping[str, Any]], cast: Cast, things: Mapping[str, Object]) -> None:
    """A wax past its day but tried since, a glue past its day, a paper recalled from two things."""
    made: dict[str, Batch] = {}
    for row in rows:
        last = clock.day_of(ago(row["expired"])) if "expired" in row else None
        with clock.at(ago(row["received"])):
            batch = stock.add_batch(cast.ivo, supply=row["supply"], number=row["number"], received_on=clock.today(), expires_on=last, kept_at=row["kept_at"])
            stock.mark_batch(cast.ivo, batch.pk, "opened")
        for sort, how, passed, days in row.get("tests", ()):
            with clock.at(ago(days)):
                stock.record_batch_test(cast.ivo, batch.pk, sort=sort, how=how, passed=passed, on=clock.today())
        made[row["supply"]] = batch
    with clock.at(ago(150)):
        for number in ("2005.1.6", "1994.5.1"):
            stock.record_use(cast.marit, made["rag_paper"].pk, things[number].pk, amount="lining of the box")
        chain = next(zone.key for zone in zones_of(things["2005.1.4"]) if zone.code == "CC")
        stock.record_use(cast.marit, made["polyester_film"].pk, things["2005.1.4"].pk, zone=chain, amount="one strip between chain and leather")
    with clock.at(ago(2)):
        due = clock.today() + timedelta(days=12)
        stock.recall_batch(cast.ivo, made["rag_paper"].pk, reason="the maker's letter: chalk in the sheet, not for leather", due_on=due)


def _waiting_and_returned(cast: Cast, things: Mapping[str, Object]) -> None:
    with clock.at(ago(3)):
        aim = "loose white powder off the rivets, so that it does not spread"
        _proposed(cast.marit, _at(things["1999.2.1"], "FX"), "TR24", aim, "kept dry and still since the survey; white grains lie under it all the same")
    with clock.at(ago(6)):
        aim, why = (
            "green wax off the chin scales before it creeps further",
            "watched for fourteen months in dry air: the wax has doubled and lies on the leather",
        )
        sent = _proposed(cast.marit, _at(things["1974.12.3"], "CC"), "TR18", aim, why)
    with clock.at(ago(5)):
        proposals.return_proposal(cast.ivo, sent.pk, version=sent.version, remark="Which film goes between metal and leather afterwards? Say so, then again.")


def _approved_and_lapsed(cast: Cast, things: Mapping[str, Object]) -> None:
    """One may be begun today; one lapsed, for the rust went on."""
    with clock.at(ago(4)):
        _approved(cast, _at(things["2005.1.1"], "RB"), "TR14", LOOSE, POWDER)
    worse = things["2005.1.2"]
    with clock.at(ago(70)):
        row = _approved(cast, _at(worse, "RB"), "TR14", LOOSE, "dusted and kept dry since the survey; orange comes off on the glove all the same")
    with clock.at(ago(20)):
        _looked_again(cast.marit, worse, "grown", 12, 3, 3)
        deciding.lapse(PROGRAM, row.pk)


def _work_open(cast: Cast, thing: Object) -> None:
    """Begun this morning by the volunteer, one step done, not ended."""
    spot = _at(thing, "RB")
    with clock.at(ago(2)):
        _approved(cast, spot, "TR14", LOOSE, "dry as the workroom is, the chips shed powder onto the shelf paper")
    with clock.at(ago(0)):
        work = _begun(cast.marit, spot, "TR14")
        _done(cast.marit, work, "TR14", spot.surface, minutes=10)


def _stopped(cast: Cast, thing: Object) -> None:
    """A stop sign in the middle of lifting copper soap; ended with pictures."""
    spot = _at(thing, "CC")
    with clock.at(ago(16)):
        _approved(
            cast, spot, "TR18", "green wax off the chain before it stiffens the leather", "dry air stops new wax; what is there creeps under the third scale"
        )
    with clock.at(ago(14)):
        work = _begun(cast.ivo, spot, "TR18")
        _done(cast.ivo, work, "TR18", spot.surface, minutes=15)
        note = "red-brown on the cotton: the leather under the third scale gives colour"
        working.stop_step(cast.ivo, work.pk, working.Done(id=uuid7(), meant=Meant(step="TR18"), surface=spot.surface, note=note))
        ending.end_work(cast.ivo, work.pk, end_id=uuid7(), after=_pictures(cast.ivo, thing, "stopped", "stopped"), note="Asked the conservator.")


def _kept_and_due_again(cast: Cast, thing: Object) -> None:
    """Done, a flake kept as a part; of the looks that followed one was made and one is due."""
    spot = _at(thing, "RB")
    with clock.at(ago(118)):
        _approved(cast, spot, "TR14", LOOSE, POWDER)
    with clock.at(ago(100)):
        work = _begun(cast.marit, spot, "TR14")
        _done(cast.marit, work, "TR14", spot.surface, minutes=25)
        because = "it lay loose under the rim and carries a trace of the old white"
        ending.keep_part(cast.marit, work.pk, name="flake of white paint on rust", because=because, bag="vial 3, drawer 2")
        ending.end_work(cast.marit, work.pk, end_id=uuid7(), after=_pictures(cast.marit, thing, "after", "after TR14"))
    with clock.at(ago(66)):
        _looked_again(cast.marit, thing, "same", 1, 1, 1, sort="follow_up")


def _everyday(cast: Cast, thing: Object) -> None:
    """One everyday helmet: surveyed, dusted, loose rust off at a chip, due again."""
    zones = {zone.code: ZoneKey(zone.component_id, zone.code) for zone in reversed(zones_of(thing))}
    with clock.at(ago(1)):
        dust = Seen(uuid7(), uuid7(), zones["SH"], "DUST", "new", "paint", Decimal(90), 1, 0)
        rust = Seen(uuid7(), uuid7(), zones["RB"], "RUST_SPOT", "new", "steel", Decimal(1), 1, 1)
        looks = {zone.key: "nothing" for zone in zones_of(thing)} | {str(one.zone): "findings" for one in (dust, rust)}
        entry = CheckEntry(
            id=uuid7(), object_id=thing.pk, sort="full", happened_on=clock.today(), happened_at=clock.now(), seen=(dust, rust), looks=looks,
            screen={str(n): "no" for n in range(1, 11)},
        )  # fmt: skip
        record_check(cast.marit.keyed(entry.id), entry)
        for one, step, surface, state, then in ((dust, "TR03", "paint", "found", "dusted"), (rust, "TR14", "steel", "dusted", "after")):
            work = _begun(cast.marit, At(thing, str(one.zone), surface, one.finding), step, state)
            _done(cast.marit, work, step, surface, minutes=4)
            ending.end_work(cast.marit, work.pk, end_id=uuid7(), after=_pictures(cast.marit, thing, then, f"after {step}"))


def _alone(cast: Cast, thing: Object) -> None:
    """The one curator signs alone; somebody of the board signs later."""
    spot = _at(thing, "SH")
    with clock.at(ago(8)):
        aim = "a thin coat of wax, so that school parties leave no finger marks"
        sent = _proposed(cast.ivo, spot, "TR28", aim, "gloves were handed out for a year, and lay on the floor")
        reason = "handled by school parties twice a month; against it: it cannot be wholly removed"
        deciding.approve(cast.ivo, sent.pk, version=sent.version, reason=reason, second_later=True)


def _deposits(cast: Cast, things: Mapping[str, Object]) -> None:
    """One undecided, one named by a volunteer with the society's default, one decided."""
    with clock.at(ago(90)):
        standing.set_deposit_default(cast.ivo, kind="mud", decision="keep", reason="mud of the flood of 1953 is what several of them are kept for")
    with clock.at(ago(48)):
        standing.name_deposit(cast.marit, _at(things["2005.1.9"], "SH").finding, kind="coal_dust")
    with clock.at(ago(190)):
        chalk = _at(things["1961.8.1"], "IN").finding
        standing.decide_deposit(cast.ivo, chalk, kind="other", decision="keep", reason="chalk tally marks of the last shift: they are why it is here")


def _crate(cast: Cast, same: Object, other: Object, opened: Object) -> None:
    """The ten questions once for a crate of caps: two confirmed, of which one was opened since; one differs and is asked whole."""
    with clock.at(ago(75)):
        answers = {str(n): "yes" if n == 4 else "no" for n in range(1, 11)}
        crate = answer_ten_of_lot(cast.marit, uuid7(), name="felt-lined caps, one crate of twelve from the colliery store", answers=answers)
    with clock.at(ago(74)):
        for thing in (same, opened):
            confirm_from_lot(cast.marit, thing.pk, lot_id=crate.pk, looked="same")
        confirm_from_lot(cast.marit, other.pk, lot_id=crate.pk, looked="differs", note="a lamp bracket with something stuck in it")
        zones = zones_of(same)
        dust = Seen(uuid7(), uuid7(), ZoneKey(zones[0].component_id, zones[0].code), "DUST", "new", "textile", Decimal(30), 1, 0)
        looks = {zone.key: "findings" if zone == zones[0] else "nothing" for zone in zones}
        entry = CheckEntry(id=uuid7(), object_id=same.pk, sort="full", happened_on=clock.today(), happened_at=clock.now(), seen=(dust,), looks=looks)
        record_check(cast.marit.keyed(entry.id), entry)
    with clock.at(ago(11)):
        tell_opening(cast.ivo, opened.pk, why="lining", note="the lining hung loose and was lifted to see what holds it")


def _cards(cast: Cast, things: Mapping[str, Object]) -> None:
    """One lies, one is due for reading, one was read and showed that the rust is still at work."""
    for number, code, days in (("1952.4.1", "RB", 8), ("2005.1.6", "RB", 31), ("2005.1.2", "RB", 60)):
        with clock.at(ago(days)):
            test = start_card(cast.marit, things[number].pk, test_id=uuid7(), finding_id=_at(things[number], code).finding)
        if days > 40:
            with clock.at(ago(days - 29)):
                read_card(cast.marit, test.pk, reading="powder", note="orange powder, a line of it under the rim")


def _incident(cast: Cast, thing: Object) -> None:
    """Mould in the boat shed, two days old: isolated, the source found; the worker lists what is at risk and makes the rounds."""
    room = Place.objects.get(code="B-GAL")
    with clock.at(ago(2)):
        opened = open_incident(cast.marit, incident_id=uuid7(), kind="mould", place_id=room.pk, note="musty smell at plinth 2; white threads on a leather band")
        add_step(cast.marit, opened.pk, kind="isolated", note="the flying helmet bagged in polyethylene, door shut")
        move_object(cast.marit, thing.pk, place_id=Place.objects.get(code="H-QUAR-1").pk, reason="mould, isolated")
    with clock.at(ago(1)):
        add_step(cast.ivo, opened.pk, kind="source", note="a gutter over the north wall is split")


def _stands_wrong(cast: Cast, thing: Object) -> None:
    """Found standing on another one: stored, and urgent until it is put right."""
    with clock.at(ago(1)):
        move_object(cast.marit, thing.pk, place_id=Place.objects.get(code="H-COLD-4").pk, resting="stack", reason="found so on the evening round")


def _from_outside(cast: Cast, things: Mapping[str, Object], password: Secret) -> None:
    """A conservator who is nobody here is asked about two things: one answered in writing and consented to, one still with her."""
    torn, pitted = things["1931.2.7"], things["2005.1.2"]
    with clock.at(ago(24)):
        aim, why = "the brim stops shedding, so that it can be shown", "wrapped on its tray since the survey; each move still leaves a spoonful of red powder"
        first = _proposed(cast.marit, _at(torn, "BR"), "TR33", aim, why, pictured=False)
    with clock.at(ago(19)):
        aim, why = "rust out of the pits of the rim", "the leave to brush lapsed when it had grown by a tenth; it sits deeper now than a brush reaches"
        _proposed(cast.marit, _at(pitted, "RB"), "TR16", aim, why, pictured=False)
    with clock.at(ago(17)):
        key, until = uuid7(), clock.today() + timedelta(days=60)
        invited = inviting.invite_conservator(
            cast.ivo.keyed(key), invitation_id=key, name=GUEST, email=GUEST_EMAIL, things=[torn.pk, pitted.pk], until=until,
            evidence="diploma in leather and metals, register no. 17, both seen", words="Is the brim a case for you, and the rim of the other?",
        )  # fmt: skip
    with clock.at(ago(15)):
        people.accept_invitation(guest_of(invited, NOBODY, uuid7()), invited.pk, name=GUEST, password=password)
    with clock.at(ago(9)):
        guest = Actor.of(Person.objects.get(email=GUEST_EMAIL))
        proposals.advise(guest, first.pk, version=first.version, agrees=True, words=HER_WORD)
    with clock.at(ago(7)):
        deciding.approve(cast.ivo, first.pk, version=first.version, reason="in her workshop; the case for it is being padded meanwhile")


# how


def _at(thing: Object, code: str) -> At:
    """The first open finding of a zone."""
    row = next(row for row in open_findings(thing.pk) if row.finding.zone == code)
    return At(thing, f"{row.finding.component_id}/{code}", row.material, row.finding_id)


def _proposed(by: Actor, spot: At, step: str, aim: str, earlier: str, *, pictured: bool = True) -> Proposal:
    """A proposal with its pictures, unless there are some of this finding."""
    if pictured:
        _pictures(by, spot.thing, "found", "as found", finding=spot.finding)
    key = uuid7()
    return proposals.propose_treatment(
        by.keyed(key), spot.thing.pk, proposal_id=key, zone=spot.zone, surface=spot.surface, aim=aim, steps=[Meant(step=step, earlier=earlier)],
        finding_id=spot.finding,
    )  # fmt: skip


def _approved(cast: Cast, spot: At, step: str, aim: str, earlier: str) -> Approval:
    sent = _proposed(cast.marit, spot, step, aim, earlier)
    deciding.approve(cast.ivo, sent.pk, version=sent.version)
    return Approval.objects.get(decision__proposal=sent)


def _begun(by: Actor, spot: At, step: str, state: str = "found") -> Work:
    before, key = _pictures(by, spot.thing, state, f"before {step}"), uuid7()
    work = working.start_work(
        by.keyed(key), spot.thing.pk, work_id=key, zone=spot.zone, surface=spot.surface, meant=Meant(step=step), before=before, finding_id=spot.finding
    )
    working.record_spot(by, work.pk, spot_id=uuid7(), step=step, surface=spot.surface, unchanged=True)
    return work


def _done(by: Actor, work: Work, step: str, surface: str, *, minutes: int) -> None:
    """One step, with every caution ticked that its page asks there."""
    rules = treatment_rules_in_force()
    way = answering.way_of(asking.facts_of(work.object), asking.asker_of(by), work.zone_key, surface, rules.steps[step], rules)
    ticked = [step, *(code for code, _words in way.shows)]
    done = working.Done(id=uuid7(), meant=Meant(step=step), surface=surface, acknowledged=ticked, minutes=minutes, climate="16 °C, 48 %")
    working.record_step(by, work.pk, done)


def _looked_again(by: Actor, thing: Object, change: str, percent: int, severity: int, activity: int, sort: str = "full") -> None:
    """The one finding of a thing, measured again."""
    last: Observation = open_findings(thing.pk)[0]
    zone = ZoneKey(last.finding.component_id, last.finding.zone)
    seen = Seen(uuid7(), last.finding_id, zone, last.term, change, last.material, Decimal(percent), severity, activity)
    looks = {str(zone): "findings"} if sort != "full" else {key.key: "nothing" for key in zones_of(thing)} | {str(zone): "findings"}
    entry = CheckEntry(id=uuid7(), object_id=thing.pk, sort=sort, happened_on=clock.today(), happened_at=clock.now(), seen=(seen,), looks=looks)
    record_check(by.keyed(entry.id), entry)


def _pictures(by: Actor, thing: Object, state: str, words: str, *, finding: UUID | None = None, views: Sequence[str] = VIEWS) -> tuple[UUID, ...]:
    """The thing in one state as the project drew it, whole and near, saying that it is drawn; the near one shows the finding too."""
    said = f"{words}, {gettext('drawn for the demonstration')}"
    return tuple(_picture(by, thing, PICTURES / f"{thing.card.number}-{state}-{view}.jpg", said, finding if view == NEAR else None) for view in views)


def _picture(by: Actor, thing: Object, path: Path, words: str, finding: UUID | None) -> UUID:
    key, shows = uuid7(), [("object", thing.pk), *([("finding", finding)] if finding else [])]
    with path.open("rb") as file:
        return add_photograph(by.keyed(key), key, Upload.of(file, path.name), shows=shows, view=path.stem[-3:], caption=words).pk
