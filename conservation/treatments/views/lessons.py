"""The lessons: one page for each gentle step, to be read beside a practice piece."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from conservation.rules.guidance import shipped_guidance, shipped_lessons
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import learning
from museum import clock
from museum.errors import NotFound
from museum.people.doors import actor_of, needs


@require_GET
@needs("competence.see")
def lessons(request: HttpRequest) -> HttpResponse:
    """Every lesson, with who can teach it today."""
    able = learning.teachers(clock.today())
    rows = [(lesson, able.get(lesson.step, [])) for lesson in shipped_lessons()]
    return render(request, "treatments/lessons.html", {"rows": rows})


@require_GET
@needs("competence.see")
def lesson(request: HttpRequest, step: str) -> HttpResponse:
    """One lesson: what is shown, what good work looks like, what the teacher asks, and the sign-off."""
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
        "people": [person for person in learning.volunteers() if person.pk != actor.person],
    }
    return render(request, "treatments/lesson.html", context)
