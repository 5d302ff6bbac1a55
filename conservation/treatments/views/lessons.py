"""The lessons: one page for each gentle step, to be read beside a practice piece."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from collection.objects.views.common import key_in
from conservation.checks.views.screening import asked
from conservation.rules.guidance import shipped_guidance, shipped_lessons
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import learning
from conservation.treatments.actions.learning import tell_try
from conservation.treatments.views.common import Again, refusal_in
from museum import clock
from museum.errors import NotFound
from museum.ids import uuid7
from museum.people.doors import actor_of, needs


@require_GET
@needs("competence.see")
def lessons(request: HttpRequest) -> HttpResponse:
    """Every lesson, with who can teach it today."""
    able = learning.teachers(clock.today())
    rows = [(lesson, able.get(lesson.step, [])) for lesson in shipped_lessons()]
    return render(request, "treatments/lessons.html", {"rows": rows})


@require_http_methods(["GET", "HEAD", "POST"])
@needs("competence.see")
def lesson(request: HttpRequest, step: str) -> HttpResponse:
    """One lesson: what is shown, what good work looks like, what the teacher asks, and the sign-off. POST tells that it was practised."""
    if request.method != "POST":
        return _lesson(request, step)
    actor, sent = actor_of(request), request.POST
    key = key_in(sent.get("id")) or uuid7()
    answers = {name.removeprefix("q"): sent.get(name, "") for name in sent if name.startswith("q")}
    refused = refusal_in(
        request,
        lambda: tell_try(
            actor.keyed(key), step, practice_id=key, piece=sent.get("piece", ""), screen=answers, went=sent.get("went", ""),
            beside=key_in(sent.get("beside")),
        ),
        _("Written down. Whoever showed it to you signs it off."),
    )  # fmt: skip
    if refused is not None:
        return _lesson(request, step, again=Again("practice", sent, refused))
    return redirect("learning:lesson", step)


def _lesson(request: HttpRequest, step: str, *, again: Again | None = None) -> HttpResponse:
    taught, rules = learning.lesson_of(step), treatment_rules_in_force()
    if taught is None or step not in rules.steps:
        raise NotFound
    actor, able = actor_of(request), learning.teachers(clock.today()).get(step, [])
    context = {
        "lesson": taught,
        "key": learning.key_of(taught),
        "panels": learning.panels(taught),
        "step": rules.steps[step],
        "guided": shipped_guidance().of(step),
        "guidance": shipped_guidance(),
        "able": able,
        "may_print": actor.may("paper.see"),
        "teaches": actor.person in {person.pk for person in able},
        "act": uuid7(),
        "practises": actor.may("competence.show"),
        "tried": learning.to_sign_off().filter(step=step, person=actor.person),
        "questions": [(row, again.typed.get(f"q{row.number}", "") if again else "") for row in asked()],
        "people": [person for person in learning.volunteers() if person.pk != actor.person],
    }
    if again is not None:
        context |= again.context
    return render(request, "treatments/lesson.html", context, status=409 if again else 200)
