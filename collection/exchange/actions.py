"""Imports: a file read, its columns named, questions answered, rows taken, all of it taken back."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid5

from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from collection.exchange import answering, previewing, reading, splitting
from collection.exchange.columns import TARGETS, guess
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.queries import asking, in_the_way, touched_since
from collection.objects.actions.numbers import note_former_number
from collection.objects.actions.objects import create_object, withdraw_object
from collection.objects.models import Kind
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.jobs.actions import enqueue
from museum.jobs.models import Job
from museum.papers import files
from museum.papers.files import Upload
from museum.people.action import Act, action, claim_version

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class NotNow(DomainError):
    """The import is at another step."""

    code = "import_elsewhere"
    template = _("This import is %(state)s; this step is not open now. Load the page again.")


class Overtaken(DomainError):
    """Something else began with the import while this work was under way; what it did until then stands."""

    code = "import_overtaken"
    template = _("Something else was begun with this import meanwhile. This work stopped; what it did until then stands. Open the import and see.")


class Touched(DomainError):
    """What a row made was changed since."""

    code = "import_touched"
    template = _("Something happened to this thing after it was brought in; it stays.")


@action("exchange.start_import", may="import.run")
def start_import(act: Act, upload: Upload, *, sheet: str = "") -> ImportSession:
    """Reads a file and keeps it, with all its rows. Nothing enters the catalogue yet. Raises Invalid."""
    if act.actor.person is None:
        raise NotFound
    read = reading.read(upload.data, upload.name, sheet=sheet)
    packed = upload.data[:2] == b"PK"
    stored = files.store(act, upload.data, name=upload.name, media_type=XLSX if packed else "text/csv")
    session = ImportSession.objects.create(
        file=stored, name=upload.name[-200:], owner_id=act.actor.person, sheet=read.sheet, sheets=list(read.sheets),
        encoding=read.encoding, delimiter=read.delimiter, heading=read.heading, headings=read.headings,
        mapping={str(column): target for column, target in guess(read.lines, read.heading).items()}, made_at=act.now,
    )  # fmt: skip
    keys = previewing.keys_of(read.lines)
    rows = [ImportRow(session=session, n=line.n, cells=line.cells, marks=line.marks, key=key) for line, key in zip(read.lines, keys, strict=True)]
    ImportRow.objects.bulk_create(rows, batch_size=1_000)
    after = {"file": session.name, "sha256": stored.sha256, "rows": len(rows)}
    act.wrote("import.started", session, after=after)
    return session


@action("exchange.map_import", may="import.run")
def map_import(
    act: Act, session_id: UUID, *, version: int, columns: Mapping[str, str], numbers_follow: str,
    heading: int | None = None, default_kind: str = "other", name_from_title: bool = True,
) -> ImportSession:  # fmt: skip
    """Says what the columns mean and whether numbers follow our form, and looks at every row. Raises Invalid."""
    mapping = {str(int(column)): target for column, target in columns.items()}
    mine: dict[str, Any] = {
        "mapping": mapping, "numbers_follow": numbers_follow,
        "default_kind": default_kind, "name_from_title": name_from_title,
    }  # fmt: skip
    session = claim_version(ImportSession.objects.all(), session_id, version, mine)
    _demand_state(session, ImportSession.State.MAPPING, ImportSession.State.PREVIEW)
    if session.rows.filter(outcome=ImportRow.Outcome.TAKEN).exists():
        raise NotNow(state=session.get_state_display())
    _demand_mapping(mapping, numbers_follow, default_kind)
    if heading is not None and heading != session.heading:
        _set_heading(session, heading)
    for name, value in mine.items():
        setattr(session, name, value)
    session.state, session.version = ImportSession.State.PREVIEW, session.version + 1
    session.save()
    act.wrote("import.mapped", session, after=mine)
    previewing.look_again(session)
    return session


@action("exchange.answer_row", may="import.run")
def answer_row(act: Act, row_id: UUID, *, version: int, answers: Mapping[str, Any]) -> ImportRow:
    """Answers what a row asks, or leaves it out with the reason; all rows are looked at again.

    Of a row that holds several things each gets a row of its own. Raises Invalid, NotNow, VersionConflict.
    """
    found = ImportRow.objects.filter(pk=row_id).values_list("session", flat=True).first()
    session = _locked(found)
    row = claim_version(ImportRow.objects.all(), row_id, version, {"answers": answers})
    _demand_state(session, ImportSession.State.PREVIEW, ImportSession.State.DONE)
    if row.settled:
        raise NotNow(state=session.get_state_display())
    if answers.get("skip") and not str(answers.get("why", "")).strip():
        raise Invalid(_("Say why it is left out."), field="why")
    before, row.answers, row.version = row.answers, dict(answers), row.version + 1
    row.save(update_fields=["answers", "version"])
    splitting.follow(session, [row])
    act.wrote("import.answered", row, before={"answers": before}, after={"row": row.called, "answers": row.answers})
    previewing.look_again(session)
    row.refresh_from_db()
    return row


@dataclass(frozen=True, slots=True)
class Alike:
    """How many rows an answer for all of a sort answered, and how many it does not fit."""

    answered: int
    left: int


@action("exchange.answer_alike", may="import.run")
def answer_alike(act: Act, session_id: UUID, *, code: str, choice: str, text: str = "") -> Alike:
    """Answers all questions of one sort the same, or leaves their rows out (`skip`, with the reason as text).

    Rows whose question cannot be answered so stay as they are. Raises Invalid, NotNow.
    """
    session = _locked(session_id)
    _demand_state(session, ImportSession.State.PREVIEW, ImportSession.State.DONE)
    if choice != "skip" and choice not in answering.ALIKE.get(code, ()):
        raise Invalid(_("This cannot be the answer here; choose another."), field="choice")
    if choice == "other" and not text.strip():
        raise Invalid(_("Write what it is for all of them."), field="text")
    rows = list(asking(session, code))
    done = [row for row in rows if _answer_alike(row, code, choice, text)]
    ImportRow.objects.bulk_update(done, ["answers", "version"], batch_size=1_000)
    splitting.follow(session, done)
    told = {"code": code, "choice": choice, "text": text, "rows": [row.called for row in done]}
    act.wrote("import.answered_alike", session, after=told)
    previewing.look_again(session)
    return Alike(len(done), len(rows) - len(done))


def _answer_alike(row: ImportRow, code: str, choice: str, text: str) -> bool:
    if choice == "skip":
        row.answers = answering.left_out(text)
    else:
        try:
            row.answers = answering.answered(row, code, choice, text)
        except Invalid:
            return False
    row.version += 1
    return True


@action("exchange.run_import", may="import.run")
def run_import(act: Act, session_id: UUID) -> Job:
    """Has the rows without question brought in, in the background."""
    session = _begin(act, session_id)
    title = _now("Bring in %(name)s") % {"name": session.name}
    return _at_work(act, session, "import_rows", title)


@action("exchange.begin", may="import.run")
def begin(act: Act, session_id: UUID) -> ImportSession:
    """Brings rows in here and now: whoever calls carries them out."""
    session = _begin(act, session_id)
    session.state, session.version = ImportSession.State.RUNNING, session.version + 1
    session.save(update_fields=["state", "version"])
    return session


@action("exchange.take_row", may="import.run")
def take_row(act: Act, row_id: UUID, *, run: int) -> ImportRow:
    """Makes what one row says: object, number, statements, materials. One that is taken or known stays as it is.

    `run` is the version under which the work on this import began. Raises Overtaken where that is past, here and in the next two.
    """
    row = _row_at_work(row_id, run)
    if row.outcome != ImportRow.Outcome.NEW:
        return row
    lock(f"import:{row.key}")
    row.version += 1
    if earlier := _brought_in_before(row):
        row.outcome, row.reason, row.object_id = ImportRow.Outcome.KNOWN, "known", earlier
        row.save()
        return row
    read = previewing.reading_of(row.session, row)
    made = previewing.made_by(row.session.way, read, row.answers, previewing.kinds_by_word())
    thing = create_object(act, object_id=uuid5(row.session_id, row.called), **made)
    for text in read.former:
        note_former_number(act, thing.pk, text, reason=_now("from the file %(name)s") % {"name": row.session.name})
    row.outcome, row.reason, row.object = ImportRow.Outcome.TAKEN, "", thing
    row.save()
    act.wrote("object.imported", row, after=row.told(), about=[thing])
    return row


@action("exchange.hold_row", may="import.run")
def hold_row(act: Act, row_id: UUID, *, run: int, code: str, sentence: str) -> ImportRow:
    """Keeps a row back that the catalogue refused, with what it said."""
    row = _row_at_work(row_id, run)
    row.outcome, row.reason, row.version = ImportRow.Outcome.QUESTION, code, row.version + 1
    row.findings = [
        *row.findings,
        {"code": code, "column": None, "asks": True, "data": {"sentence": sentence, "text": ""}},
    ]
    row.save()
    return row


@action("exchange.end_run", may="import.run")
def end_run(act: Act, session_id: UUID, *, run: int, counts: Mapping[str, int], undone: bool = False) -> ImportSession:
    """All rows are through. Raises Overtaken."""
    session = _locked(session_id)
    _demand_run(session, run)
    State = ImportSession.State
    session.state, session.version = State.UNDONE if undone else State.DONE, session.version + 1
    session.save(update_fields=["state", "version"])
    act.wrote("import.undone" if undone else "import.done", session, after=dict(counts))
    return session


@action("exchange.undo_import", may="import.run")
def undo_import(act: Act, session_id: UUID, *, reason: str) -> Job:
    """Has taken back, in the background, all that nothing later touched. Raises Invalid, NotNow."""
    session = _begin_undo(act, session_id, reason)
    return _at_work(act, session, "undo_import", _now("Take back %(name)s") % {"name": session.name}, reason=reason.strip())


@action("exchange.begin_undo", may="import.run")
def begin_undo(act: Act, session_id: UUID, *, reason: str) -> ImportSession:
    """Takes rows back here and now: whoever calls carries it out. Raises Invalid, NotNow."""
    session = _begin_undo(act, session_id, reason)
    session.state, session.version = ImportSession.State.RUNNING, session.version + 1
    session.save(update_fields=["state", "version"])
    return session


def _begin_undo(act: Act, session_id: UUID, reason: str) -> ImportSession:
    session = _locked(session_id)
    _demand_state(session, ImportSession.State.DONE)
    if not reason.strip():
        raise Invalid(_("Say why it is taken back."), field="reason")
    stay = [row.called for row in in_the_way(session)]
    act.wrote("import.undo", session, after={"file": session.name, "stay": stay}, reason=reason.strip())
    return session


@action("exchange.take_back_row", may="import.run")
def take_back_row(act: Act, row_id: UUID, *, run: int, reason: str = "") -> ImportRow:
    """Withdraws what a row made and frees its number. Raises Touched where something happened to it since."""
    row = _row_at_work(row_id, run)
    if row.outcome != ImportRow.Outcome.TAKEN or row.object_id is None:
        return row
    lock(f"object:{row.object_id}")
    if touched_since([row.object_id]):
        raise Touched
    withdraw_object(act, row.object_id, reason=reason.strip() or _now("The import of %(name)s was taken back.") % {"name": row.session.name})
    row.outcome, row.reason, row.version = ImportRow.Outcome.SKIPPED, "taken_back", row.version + 1
    row.save()
    act.wrote("import.row_taken_back", row, after=row.told(), about=[("object", row.object_id)])
    return row


def _begin(act: Act, session_id: UUID) -> ImportSession:
    session = _locked(session_id)
    _demand_state(session, ImportSession.State.PREVIEW, ImportSession.State.DONE)
    previewing.look_again(session)
    if not session.rows.filter(outcome=ImportRow.Outcome.NEW).exists():
        raise Invalid(_("There is no row to bring in: all are taken, known, skipped or a question."))
    act.wrote("import.run", session, after={"file": session.name})
    return session


def _at_work(act: Act, session: ImportSession, kind: str, title: str, **more: str) -> Job:
    job = enqueue(act, kind, act.actor.person, {"session": session.pk} | more, title)
    session.state, session.job, session.version = ImportSession.State.RUNNING, job.pk, session.version + 1
    session.save(update_fields=["state", "job", "version"])
    return job


def _locked(session_id: UUID | None) -> ImportSession:
    session = session_id and ImportSession.objects.select_for_update().filter(pk=session_id).first()
    if not session:
        raise NotFound
    return session


def _row_at_work(row_id: UUID, run: int) -> ImportRow:
    """A row under its session's lock, so that whatever else begins with the import waits for it, and it for that."""
    session_id = ImportRow.objects.filter(pk=row_id).values_list("session", flat=True).first()
    _demand_run(_locked(session_id), run)
    return _row(row_id)


def _demand_run(session: ImportSession, run: int) -> None:
    if session.state != ImportSession.State.RUNNING or session.version != run:
        raise Overtaken


def _row(row_id: UUID) -> ImportRow:
    rows = ImportRow.objects.select_for_update(of=("self",)).select_related("session__file")
    row = rows.filter(pk=row_id).first()
    if row is None:
        raise NotFound
    return row


def _brought_in_before(row: ImportRow) -> UUID | None:
    rows = ImportRow.objects.filter(key=row.key, outcome=ImportRow.Outcome.TAKEN, object__withdrawn="")
    return rows.values_list("object", flat=True).first()


def _demand_state(session: ImportSession, *states: str) -> None:
    """Work that broke off for good counts as done: it can be asked for again, since each row is taken once."""
    broken = session.state == ImportSession.State.RUNNING and not (session.job and Job.objects.filter(pk=session.job).exclude(state=Job.State.FAILED).exists())
    if (ImportSession.State.DONE if broken else session.state) not in states:
        raise NotNow(state=session.get_state_display())


def _demand_mapping(columns: Mapping[str, str], numbers_follow: str, default_kind: str) -> None:
    targets = list(columns.values())
    if not set(targets) <= set(TARGETS):
        raise Invalid(_("Choose for each column what it is."), field="columns")
    if not {"name", "title"} & set(targets):
        raise Invalid(_("Say which column tells what the thing is."), field="columns")
    if numbers_follow not in ImportSession.Numbers.values:
        raise Invalid(_("Say whether the numbers follow our form or are kept as written."), field="numbers_follow")
    if not Kind.objects.filter(code=default_kind, retired=False).exists():
        raise Invalid(_("Choose what kind of headgear it is."), field="default_kind")


def _set_heading(session: ImportSession, heading: int) -> None:
    row = session.rows.filter(n=heading).first()
    if heading and row is None:
        raise Invalid(_("There is no row %(n)s in the file."), field="heading", n=heading)
    session.heading, session.headings = heading, row.cells if row else []
