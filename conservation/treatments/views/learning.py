"""Pages of what people were shown: the society's, and one person's."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from collection.objects.views.common import acting, done
from conservation.treatments import learning
from conservation.treatments.actions.learning import sign_off, tell_practice
from conservation.treatments.forms.learning import PracticeForm, QualificationForm, SignOffForm
from museum import clock
from museum.errors import NotFound
from museum.people import actions, competence
from museum.people.doors import actor_of, needs
from museum.people.forms import Entry
from museum.people.models import Person


@require_GET
@needs("competence.see")
def competences(request: HttpRequest) -> HttpResponse:
    """Whom to ask: what waits for a signature, what is due again, who can show what, who lacks the first day."""
    today = clock.today()
    able = learning.teachers(today)
    context = {
        "unsigned": [(row, learning.subject(row.step)) for row in competence.unsigned()],
        "tried": [(row, learning.subject(row.step)) for row in learning.to_sign_off()],
        "refreshers": learning.refreshers(today),
        "subjects": [(one, able[one.code]) for one in learning.subjects()],
        "induction": learning.gaps_of_induction(today),
        "people": learning.volunteers(),
        "may_sign": actor_of(request).may("competence.sign"),
    }
    return render(request, "treatments/competences.html", context)


@require_http_methods(["GET", "POST"])
@needs("competence.see")
def person(request: HttpRequest, person_id: UUID) -> HttpResponse:
    """One person: the first day, every step, qualifications; a teacher signs off here."""
    somebody = Person.objects.with_roles().filter(pk=person_id).first()
    if somebody is None:
        raise NotFound
    forms = _forms(request, somebody)
    if (which := request.POST.get("form", "")) in forms:
        form = forms[which] = type(forms[which])(request.POST, **_choices(request, somebody))
        if form.is_valid() and form.carry_out(_acts(request, somebody, form)[which]) is not None:
            messages.success(request, _("Stored."))
            return redirect("learning:person", somebody.pk)
    return render(request, "treatments/learner.html", _context(request, somebody, forms))


@require_POST
@needs("competence.sign")
def sign(request: HttpRequest, competence_id: UUID) -> HttpResponse:
    """Signs for somebody's prior practice."""
    return done(request, lambda: actions.sign_practice(acting(request), competence_id), "learning:competences")


@require_POST
@needs("competence.end")
def end(request: HttpRequest, competence_id: UUID) -> HttpResponse:
    """Ends a competence, with the reason."""
    return done(request, lambda: actions.end_competence(acting(request), competence_id, reason=request.POST.get("reason", "")), "learning:competences")


@require_POST
@needs("qualification.give")
def end_qualification(request: HttpRequest, person_id: UUID) -> HttpResponse:
    """Takes a qualification off file, with the reason."""
    kind, reason = request.POST.get("kind", ""), request.POST.get("reason", "")
    return done(request, lambda: actions.end_qualification(acting(request), person_id, kind, reason=reason), "learning:person", person_id)


def _choices(request: HttpRequest, somebody: Person) -> dict[str, Any]:
    return {"learner": somebody, "reader": actor_of(request)}


def _forms(request: HttpRequest, somebody: Person) -> dict[str, Entry]:
    """The forms that this reader may use on this person's page."""
    actor, choices = actor_of(request), _choices(request, somebody)
    forms: dict[str, Entry] = {}
    if actor.may("competence.show") and actor.person != somebody.pk:
        forms["shown"] = SignOffForm(initial={"steps": request.GET.getlist("step"), "evidence": _tried(request, somebody)}, **choices)
    if actor.may("competence.show") and (actor.person == somebody.pk or actor.may("competence.end")):
        forms["practice"] = PracticeForm(**choices)
    if actor.may("qualification.give") and actor.person != somebody.pk:
        forms["qualification"] = QualificationForm(**choices)
    return forms


def _tried(request: HttpRequest, somebody: Person) -> str:
    """What was practised of the step that is to be signed off, as evidence; '' where nothing was."""
    row = learning.to_sign_off().filter(person=somebody, step=request.GET.get("step", "")).last()
    return _("Practised on %(day)s: %(piece)s") % {"day": date_format(row.happened_on), "piece": row.piece} if row else ""


def _acts(request: HttpRequest, somebody: Person, form: Entry) -> dict[str, Callable[[], Any]]:
    by, said = acting(request), form.cleaned_data
    return {
        "shown": lambda: sign_off(by, somebody.pk, **said),
        "practice": lambda: tell_practice(by, somebody.pk, **said),
        "qualification": lambda: actions.give_qualification(by, somebody.pk, **said),
    }


def _context(request: HttpRequest, somebody: Person, forms: dict[str, Entry]) -> dict[str, Any]:
    today = clock.today()
    told = learning.standing(somebody.pk, today)
    able = learning.teachers(today, but=somebody.pk)
    return {
        "somebody": somebody,
        "forms": forms,
        "first_day": [(one, able[one.subject.code]) for one in told if not one.subject.step],
        "steps": [(one, able[one.subject.code]) for one in told if one.subject.step],
        "qualifications": learning.held_by(somebody.pk),
        "may_end": actor_of(request).may("competence.end"),
    }
