"""Work on a thing, and the stock used on it."""

from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from conservation.treatments.actions import ending, following, working
from conservation.treatments.actions import stock as stocking
from museum import clock
from museum.ids import uuid7
from museum.papers.files import Upload
from museum.people.actor import Actor
from tests.treatments import stock
from tests.treatments.ways.world import Ways, World


def of_work(name: str, w: World, by: Actor, sent: dict[str, Any], *, hands: bool) -> Ways:
    look = {"step": "TR01", "surface": "steel"}
    if name == "start_work":
        said = {"zone": w.zone, **look}
        return Ways(w.work, (f"/api/things/{w.thing.pk}/work/", sent | said), (f"/things/{w.thing.pk}/work/", {**said, "id": sent["id"]}))
    row = w.work(by if hands else w.marit)
    key, at, api = row.pk, f"/work/{row.pk}/do/", f"/api/work/{row.pk}"
    noted = {"note": "colour on the brush"}
    if name == "look_again":
        ending.end_work(by if hands else w.marit, key, end_id=uuid7())
    done: dict[str, Ways] = {
        "record_spot": Ways(
            lambda actor: working.record_spot(actor, key, spot_id=uuid7(), **look, unchanged=True), (f"{api}/spots/", sent | look | {"unchanged": True}),
            (at, {"do": "spot", **look, "unchanged": "yes"}),
        ),
        "record_step": Ways(
            lambda actor: working.record_step(actor, key, stock.done("TR01")), (f"{api}/steps/", sent | look | {"acknowledged": ["TR01"]}),
            (at, {"do": "step", **look, "acknowledged": "TR01"}),
        ),
        "begin_wait": Ways(
            lambda actor: working.begin_wait(actor, key, wait_id=uuid7(), step="TR10"), (f"{api}/waits/", sent | {"step": "TR10"}),
            (at, {"do": "wait", "step": "TR10"}),
        ),
        "stop_step": Ways(
            lambda actor: working.stop_step(actor, key, stock.done("TR01", **noted)), (f"{api}/stop/", sent | look | noted),
            (at, {"do": "stop", **look, **noted}),
        ),
        "keep_part": Ways(
            lambda actor: ending.keep_part(actor, key, name="flake", because="it fell"), (f"{api}/kept/", sent | {"name": "flake", "because": "it fell"}),
            (at, {"do": "keep", "name": "flake", "because": "it fell"}),
        ),
        "tell_opened": Ways(
            lambda actor: working.tell_opened(actor, key, why="lining", note="front pad"), (f"{api}/opened/", sent | {"why": "lining"}),
            (at, {"do": "opened", "why": "lining"}),
        ),
        "look_again": Ways(
            lambda actor: following.look_again(actor, key, follow_id=uuid7(), reading="holds"), (f"{api}/follow-ups/", sent | {"reading": "holds"}),
            (at, {"do": "follow", "reading": "holds"}),
        ),
        "end_work": Ways(lambda actor: ending.end_work(actor, key, end_id=uuid7()), (f"{api}/end/", sent), (at, {"do": "end"})),
    }  # fmt: skip
    return done[name]


def of_stock(name: str, w: World, day: str, sent: dict[str, Any]) -> Ways:
    today = clock.today()
    new = {"supply": "polyester_film", "number": "F-7", "received_on": day}
    if name == "add_batch":
        return Ways(
            lambda actor: stocking.add_batch(actor, supply="polyester_film", number="F-7", received_on=today), ("/api/stock/batches", sent | new),
            ("/stock/new/", dict(new)),
        )  # fmt: skip
    if name == "file_sheet":
        sheet = SimpleUploadedFile("film.pdf", b"%PDF-1.7 film")
        return Ways(lambda actor: stocking.file_sheet(actor, "wax", Upload("film.pdf", b"%PDF-1.7 film")), None, ("/stock/of/wax/", {"file": sheet}))
    row = w.batch()
    key, at, api = row.pk, f"/stock/batches/{row.pk}/", f"/api/stock/batches/{row.pk}"
    if name in ("lift_recall", "call_recalled"):
        mark = stocking.recall_batch(w.ivo, key, reason="dries white", due_on=today)
        if name == "call_recalled":
            return Ways(lambda actor: stocking.call_recalled(actor, mark.pk, object_ids=[], due_on=today))
    said: dict[str, Any] = {"sort": "acidity", "how": "pH pen", "passed": "yes", "on": day}
    written = {"expires_on": None, "maker": "-", "kept_at": "drawer 2", "note": ""}
    recall = {"reason": "dries white", "due_on": day}
    done: dict[str, Ways] = {
        "change_batch": Ways(
            lambda actor: stocking.change_batch(actor, key, version=1, expires_on=None, maker="-", kept_at="drawer 2", note=""),
            (api, sent | written | {"version": 1}), (at, {"form": "change", "version": "1", "maker": "-", "kept_at": "drawer 2", "note": ""}),
        ),
        "record_batch_test": Ways(
            lambda actor: stocking.record_batch_test(actor, key, sort="acidity", how="pH pen", passed=True, on=today),
            (f"{api}/tests", sent | said | {"passed": True}), (at, {"form": "test", **said}),
        ),
        "mark_batch": Ways(
            lambda actor: stocking.mark_batch(actor, key, "opened", on=today), (f"{api}/marks", sent | {"sort": "opened", "on": day}),
            (at, {"form": "mark", "sort": "opened", "on": day}),
        ),
        "record_use": Ways(
            lambda actor: stocking.record_use(actor, key, w.thing.pk, amount="one strip"), (f"{api}/uses", sent | {"object": str(w.thing.pk)}),
            (at, {"form": "use", "number": "1974.12.3", "amount": "one strip"}),
        ),
        "recall_batch": Ways(
            lambda actor: stocking.recall_batch(actor, key, reason="dries white", due_on=today), (f"{api}/recall", sent | recall),
            (at, {"form": "recall", **recall}),
        ),
        "lift_recall": Ways(
            lambda actor: stocking.lift_recall(actor, key, reason="another batch was meant"), (f"{api}/recall", sent | {"reason": "another was meant"}),
            (at, {"form": "lift", "reason": "another was meant"}),
        ),
    }  # fmt: skip
    return done[name]
