"""Files of loggers: kept, understood, asked about, read. Nothing of a file is stored before all of it has been read."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Max
from django.urls import reverse
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from locations.climate import storing
from locations.climate.actions.loggers import held
from locations.climate.files import guessing, sheets
from locations.climate.files.before import refused_anyhow
from locations.climate.files.contradicting import Contradiction
from locations.climate.files.forms import ANSWERS, Form, Proposal, Unreadable
from locations.climate.files.reading import Batch
from locations.climate.models import ClimateFile, Logger
from locations.climate.sentences import why, why_lazily
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.jobs.actions import enqueue
from museum.papers import files
from museum.papers.files import Upload
from museum.people.action import Act, action, claim_version

S = ClimateFile.State
WAITING: Final = (S.ASKS, S.READY)


class NotOpen(DomainError):
    """The file is at another step."""

    code = "climate_file_elsewhere"
    template = _("This file is already being read, or has been. Load the page again.")


@action("climate.take_file", may="climate.send_files")
def take_file(act: Act, upload: Upload, *, logger_id: UUID | None = None) -> ClimateFile:
    """Keeps a file and finds out how it is read; without a question it is read at once, by a job. Raises Invalid, and then keeps nothing."""
    logger = held(logger_id) if logger_id else None
    proposal, logger = understood(upload.data, logger, {})
    stored = files.store(act, upload.data, name=upload.name[-200:], media_type="application/octet-stream")
    lock("climate files")
    number = (ClimateFile.objects.aggregate(last=Max("number"))["last"] or 0) + 1
    row = ClimateFile(
        number=number, file=stored, name=upload.name[-200:], logger=logger, form=proposal.form.plain(), questions=_questions(proposal, logger),
        sent_by_id=act.actor.person, sent_at=act.now, state=S.ASKS,
    )  # fmt: skip
    row.save(force_insert=True)
    act.wrote("climate_file.taken", row, after={"name": row.name, "sha256": stored.sha256}, about=[logger] if logger else [])
    _send(act, row)
    return row


@action("climate.answer_file", may="climate.send_files")
def answer_file(act: Act, file_id: UUID, *, version: int, logger_id: UUID | None, answers: Mapping[str, str]) -> ClimateFile:
    """Says which logger it is of and answers what it asks; with nothing open it is read. Raises Invalid, NotFound, NotOpen, VersionConflict."""
    row = claim_version(ClimateFile.objects.all(), file_id, version, {"logger": logger_id})
    if row.state not in WAITING:
        raise NotOpen
    _demand_possible(answers)
    given = Logger.objects.filter(pk=logger_id, ended_on=None).first() if logger_id else None
    with files.open_file(row.file) as opened:
        proposal, logger = understood(opened.read(), given or row.logger, dict(answers), row)
    if row.contradicts and logger == row.logger and proposal.form.plain() == Form.of(row.form).plain():
        raise Invalid(_("It would be read as before, and contradict the record again. Choose another logger or clock, or say that it holds."), field="logger")
    row.logger, row.form, row.questions, row.state, row.version = logger, proposal.form.plain(), _questions(proposal, logger), S.ASKS, row.version + 1
    row.save()
    act.wrote("climate_file.answered", row, after={"logger": logger.name if logger else None, "answers": dict(answers)}, about=[logger] if logger else [])
    _send(act, row)
    return row


def _demand_possible(answers: Mapping[str, str]) -> None:
    for code, said in answers.items():
        if said not in ANSWERS.get(code, ()):
            possible = ANSWERS.get(code) or tuple(ANSWERS)
            raise Invalid(_("“%(said)s” is none of these: %(codes)s."), field="answers", said=said if code in ANSWERS else code, codes=", ".join(possible))


def understood(data: bytes, logger: Logger | None, answers: dict[str, str], row: ClimateFile | None = None) -> tuple[Proposal, Logger | None]:
    """How a file is read, and whose it is by the serial number in it; of a `row` that contradicts the record all was answered. Raises Invalid, also where
    it asks and no answer would make it readable."""
    answered = Form.of(row.form) if row and row.contradicts else None
    try:
        sheet = sheets.load(data)
        proposal = _propose(sheet, logger, answers, answered)
        if logger is None and proposal.serial and (found := Logger.objects.filter(serial=proposal.serial, ended_on=None).first()):
            proposal, logger = _propose(sheet, found, answers, answered), found
        if (logger is None or proposal.questions) and (wrong := refused_anyhow(sheet, proposal, zone=zone_of(logger), now=int(clock.now().timestamp()))):
            raise wrong
    except Unreadable as wrong:
        raise Invalid(why_lazily(wrong), field="file", line=wrong.line, cell=wrong.cell, reason=wrong.code) from None
    return proposal, logger


def _propose(sheet: sheets.Sheet, logger: Logger | None, answers: dict[str, str], answered: Form | None) -> Proposal:
    remembered = answered or (Form.of(logger.form) if logger and logger.form else None)
    return guessing.propose(sheet, zone=zone_of(logger), remembered=remembered, clock=logger.clock_kind if logger else "", answers=answers)


def zone_of(logger: Logger | None) -> ZoneInfo:
    """Where a logger stands, as a time zone."""
    return ZoneInfo(logger.zone) if logger and logger.zone else clock.zone()


def _questions(proposal: Proposal, logger: Logger | None) -> list[dict[str, Any]]:
    asked = [asdict(one) for one in proposal.questions]
    return asked if logger else [{"code": "logger", "answers": [], "proposed": "", "seen": proposal.serial}, *asked]


def _send(act: Act, row: ClimateFile, holds: str = "") -> None:
    if row.questions or row.logger is None:
        return
    title = _now("Readings of %(logger)s: %(file)s") % {"logger": row.logger.name, "file": row.name}
    job = enqueue(act, "climate_file", act.actor.person, {"file": row.pk, "holds": holds}, title)
    row.state, row.job = S.READY, job.pk
    row.save(update_fields=["state", "job"])


@dataclass(frozen=True, slots=True)
class Piece:
    """Some of the readings of a file, as they go into the database together."""

    number: int
    sha256: str
    batch: Batch
    rivals: Batch


@action("climate.store_piece", may="climate.send_files")
def store_piece(act: Act, file_id: UUID, piece: Piece) -> dict[str, int]:
    """Stores readings of a file; what is there already is not stored again. Raises NotFound."""
    row, logger = _of_logger(file_id)
    return storing.store(piece.batch, piece.rivals, logger.number, row.number)


@action("climate.finish_file", may="climate.send_files")
def finish_file(act: Act, file_id: UUID, *, counts: Mapping[str, Any], first: int, last: int, interval: int) -> ClimateFile:
    """All of a file is stored: what came of it, and how the next one of this logger is read. Raises NotFound."""
    row, logger = _of_logger(file_id)
    row.state, row.counts, row.error, row.version = S.DONE, dict(counts), "", row.version + 1
    row.first_at, row.last_at = storing.moment(first), storing.moment(last)
    row.save()
    form = Form.of(row.form)
    logger.form, logger.interval, logger.version = row.form, interval, logger.version + 1
    if not logger.clock_kind and form.clock in Logger.Clock.values:
        logger.clock_kind = form.clock or ""
    logger.save(update_fields=["form", "interval", "version", "clock_kind"])
    told = {name: value for name, value in counts.items() if isinstance(value, int)}
    act.wrote("climate_file.read", row, after=told | {"from": row.first_at, "to": row.last_at}, about=[logger])
    return row


@action("climate.refuse_file", may="climate.send_files")
def refuse_file(act: Act, file_id: UUID, wrong: Mapping[str, Any]) -> ClimateFile:
    """A file turned out not to be readable, as `Unreadable.plain` says: nothing of it was stored. Raises NotFound."""
    row, logger = _of_logger(file_id)
    row.state, row.error, row.counts, row.version = S.REFUSED, why(Unreadable.of(wrong)), {"refused": dict(wrong)}, row.version + 1
    row.save(update_fields=["state", "error", "counts", "version"])
    act.wrote("climate_file.refused", row, reason=row.error, about=[logger])
    return row


@action("climate.ask_about_file", may="climate.send_files")
def ask_about_file(act: Act, file_id: UUID, against: Contradiction) -> ClimateFile:
    """A file contradicts the record of its logger throughout: nothing of it is stored before somebody says what that is. Raises NotFound."""
    row, logger = _of_logger(file_id)
    figures = asdict(against)
    row.questions = [{"code": ClimateFile.CONTRADICTS, "answers": [], "proposed": "", "seen": "", "figures": figures}]
    row.state, row.version = S.ASKS, row.version + 1
    row.save(update_fields=["state", "questions", "version"])
    act.wrote("climate_file.contradicts", row, after=figures, about=[logger])
    return row


@action("climate.hold_file", may="climate.send_files")
def hold_file(act: Act, file_id: UUID, *, version: int, reason: str) -> ClimateFile:
    """A file that contradicts the record holds nevertheless: it is read, and what contradicts stays beside what is in, neither used until somebody says
    which holds. Raises Invalid, NotFound, NotOpen, VersionConflict."""
    row = claim_version(ClimateFile.objects.all(), file_id, version, {})
    if row.state != S.ASKS or not row.contradicts:
        raise NotOpen
    if not reason.strip():
        raise Invalid(_("Say why the figures hold nevertheless."), field="reason")
    row.questions, row.version = [], row.version + 1
    row.save(update_fields=["questions", "version"])
    act.wrote("climate_file.holds", row, reason=reason.strip(), about=[row.logger] if row.logger else [])
    _send(act, row, reason.strip())
    return row


@action("climate.drop_file", may="climate.send_files")
def drop_file(act: Act, file_id: UUID, *, version: int, reason: str) -> ClimateFile:
    """A file that still asks is not to be read: sent by mistake. Its bytes are kept. Raises Invalid, NotFound, NotOpen, VersionConflict."""
    row = claim_version(ClimateFile.objects.all(), file_id, version, {})
    if row.state != S.ASKS:
        raise NotOpen
    if not reason.strip():
        raise Invalid(_("Say why it is not to be read."), field="reason")
    row.state, row.error, row.questions, row.version = S.REFUSED, reason.strip(), [], row.version + 1
    row.save(update_fields=["state", "error", "questions", "version"])
    act.wrote("climate_file.dropped", row, reason=reason.strip(), about=[row.logger] if row.logger else [])
    return row


def _of_logger(file_id: UUID) -> tuple[ClimateFile, Logger]:
    """The file and its logger, both locked."""
    row = ClimateFile.objects.select_for_update(of=("self",)).filter(pk=file_id).first()
    if row is None or row.logger_id is None:
        raise NotFound
    return row, held(row.logger_id)


def address(row: ClimateFile) -> str:
    """The page of a file."""
    return reverse("climate:file", args=[row.pk])
