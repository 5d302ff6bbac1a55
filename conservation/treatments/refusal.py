"""How a gate that is shut is told: which, why, what to do instead, who can open it."""

from collections.abc import Sequence
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from conservation.rules.gate import Answer
from conservation.treatments.wording import words_for
from museum.errors import DomainError, VersionConflict

#: gates of our own, asked after those of the tables when work begins or goes on: code to why, instead, who opens
OWN: Final[dict[str, tuple[Promise, Promise, str]]] = {
    "PHOTOGRAPHS": (
        _("there is no photograph from before the work"),
        _("take the before-photographs of this zone first, then begin"),
        "volunteer",
    ),
    "AFTER": (
        _("photographs from the same views are missing: %(views)s"),
        _("take the after-photographs from the same views, then end the work"),
        "volunteer",
    ),
    "TEST-SPOT": (
        _("no test spot of this step stands on file for this session, or it showed a change"),
        _("try ten millimetres where nobody looks, wait, look with the loupe, write down what you saw"),
        "volunteer",
    ),
    "CAUTIONS": (
        _("these cautions are not ticked: %(missing)s"),
        _("read each caution aloud, protect yourself, tick it, then go on"),
        "volunteer",
    ),
    "ENDED": (
        _("this session has ended, or was stopped"),
        _("end it with photographs and ask; a new session asks every gate again"),
        "curator",
    ),
    "PIECE": (
        _("the practice piece may be dangerous: %(dangers)s"),
        _("put it down, wash your hands, leave it where it lies and tell the curator; take another piece"),
        "curator",
    ),
    "UNKNOWN": (
        _("nobody here knows what is meant by: %(unknown)s"),
        _("say it by a name of the tables, or ask the curator; nothing unknown is put on a thing"),
        "curator",
    ),
}
#: what a curator does instead, and who opens it then
OF_CURATORS: Final[dict[str, tuple[Promise, str]]] = {
    "UNKNOWN": (_("say it by a name of the tables, or ask a conservator; nothing unknown is put on a thing"), "conservator"),
}


class Overtaken(VersionConflict):
    """A proposal went on while this person looked at it: there is one version of it, and it stands below."""

    template = _("%(who)s decided or changed this while you were looking at it. It stands below as it is now.")


class Refused(DomainError):
    """A gate is shut. `gate` is its code, `why` and `instead` say it in words, `opens` who can open it."""

    code = "gate"
    template = _("Refused: %(why)s. Instead: %(instead)s. Who can open it: %(opens)s (%(gate)s).")


def refusal_of(answer: Answer, *, teachers: Sequence[str] = (), lesson: str = "") -> Refused:
    """The error that tells a refusing answer; `teachers` are the people who can show the step, `lesson` is its page."""
    assert answer.code is not None
    source = answer.prohibition.source if answer.prohibition else ""
    why = answer.why.sentence(gettext, **words_for(answer.why.values)) if answer.why else ""
    instead = (answer.instead.sentence(gettext, **words_for(answer.instead.values)) if answer.instead else "").rstrip(".")
    if teachers:
        instead = gettext("%(instead)s; it can be shown by: %(names)s") % {"instead": instead, "names": ", ".join(teachers)}
    return Refused(
        gate=answer.code, why=why.rstrip("."), instead=instead, opens=gettext(answer.opens), source=source, teachers=list(teachers), lesson=lesson
    )  # fmt: skip


def own_refusal(gate: str, *, decides: bool = False, **values: str) -> Refused:
    """The error that tells a gate of our own; `decides` = to a curator."""
    why, instead, opens = OWN[gate]
    if decides and gate in OF_CURATORS:
        instead, opens = OF_CURATORS[gate]
    return Refused(gate=gate, why=str(why) % values, instead=str(instead) % values, opens=gettext(opens), source="")
