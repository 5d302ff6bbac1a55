"""A lesson on one page: to lie on the bench beside the practice piece."""

from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from conservation.rules.guidance import shipped_guidance, shipped_lessons
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import learning
from conservation.treatments.wording import told_in
from museum.errors import NotFound
from museum.people.actor import Actor
from reports.registry import Gathered, document


@document("lesson", title=gettext_lazy("Lesson"), version="1", permission="paper.see")
def lesson(subject: UUID, actor: Actor) -> Gathered:
    """Of a lesson by the key made of its step."""
    steps = treatment_rules_in_force().steps
    found = next((one for one in shipped_lessons() if learning.key_of(one) == subject and one.step in steps), None)
    if found is None:
        raise NotFound
    guidance = shipped_guidance()
    guided = guidance.of(found.step)
    data = {
        "step": found.step, "title": _(found.title), "aim": _(found.aim), "piece": _(found.practice_piece), "cautions": told_in(steps[found.step].cautions),
        "protection": [_(one) for one in guided.besides(steps[found.step].cautions)] if guided else [], "do": [_(one) for one in guided.do] if guided else [],
        "stop": [_(one) for one in ((*guided.stop, *guidance.stop_signs) if guided else guidance.stop_signs)],
        "never": [_(one) for one in guided.never] if guided else [], "test_spot": _(guided.test_spot) if guided and guided.test_spot else "",
        "when_stopped": _(guidance.when_stopped), "gives_way": _(guidance.gives_way), "show": [_(one) for one in found.show],
        "good": [_(one) for one in found.good], "ask": [_(one) for one in found.ask],
        "panels": [{"drawing": drawing, "words": words} for drawing, words in learning.panels(found)],
    }  # fmt: skip
    title = _("Lesson %(step)s, %(title)s") % {"step": found.step, "title": data["title"]}
    return Gathered(data, title, reverse("learning:lesson", args=[found.step]), [("lesson", subject)])
