"""The society's own words for kinds, zones, materials and fields; the shipped ones stay beside them."""

import re
from collections.abc import Mapping, Sequence
from typing import Any, Final, TypeVar

from django.utils.translation import gettext_lazy as _

from collection.objects.models import Field, Kind, Material
from collection.objects.outlines import sets
from collection.objects.queries import text_of
from collection.objects.shipped import shipped_data
from museum.errors import Invalid, NotFound, VersionConflict
from museum.history.models import Word
from museum.ids import uuid7
from museum.people.action import Act, action

W = TypeVar("W", bound=Word)
LISTS: Final[Mapping[str, type[Kind] | type[Material] | type[Field]]] = {
    "kind": Kind, "material": Material, "field": Field,
}  # fmt: skip
MOST_LETTERS: Final = 120
#: as languages are named in addresses and files
LANGUAGE: Final = re.compile(r"[a-z]{2}(-[a-z]{2,4})?")


@action("objects.rename_word", may="words.edit")
def rename_word(act: Act, of: str, code: str, *, version: int, texts: Mapping[str, str], reason: str) -> int:
    """Gives a kind, material or field the society's own name, by language; an empty text takes the shipped one back.

    Answers the new version. Raises NotFound, Invalid, VersionConflict.
    """
    if of not in LISTS:
        raise NotFound
    row = _claim(LISTS[of], code, version, {"texts": dict(texts)})
    before = dict(row.texts)
    row.texts = _merged(row.texts, texts, row.shipped)
    row.version += 1
    row.save(update_fields=["texts", "version"])
    act.wrote("word.renamed", (of, act.id), before={code: before}, after={code: row.texts}, reason=reason.strip())
    return row.version


@action("objects.name_zones", may="words.edit")
def name_zones(act: Act, kind: str, *, version: int, names: Mapping[str, Mapping[str, str]], reason: str = "") -> int:
    """Says which zones a kind has and what they are called there: zone code to text by language.

    The codes stay those of the rules; things keep the zones that were noted of them. Answers the new version.
    """
    row = _claim(Kind, kind, version, {"zones": {code: text_of(texts) for code, texts in names.items()}})
    shipped = shipped_data()["zones"]
    if not names or (unknown := sorted(set(names) - set(shipped))):
        raise Invalid(_("Choose at least one zone of the list."), field="zones", unknown=unknown if names else [])
    before, general = dict(row.zones), {code: row.zones.get(code, shipped[code]) for code in names}
    row.zones = {code: _merged(general[code], texts, shipped[code]) for code, texts in names.items()}
    row.version += 1
    row.save(update_fields=["zones", "version"])
    act.wrote("zones.named", ("kind", act.id), before={kind: before}, after={kind: row.zones}, reason=reason.strip())
    return row.version


@action("objects.add_kind", may="words.edit")
def add_kind(act: Act, *, code: str, name: str, language: str, outline_set: str, zones: Sequence[str]) -> Kind:
    """Adds a kind of the society's own, with its drawings and its zones."""
    if not re.fullmatch(r"[a-z][a-z0-9_]{1,30}", code) or Kind.objects.filter(code=code).exists():
        raise Invalid(_("Write a short code of small letters that no other kind has."), field="code")
    if outline_set not in sets():
        raise Invalid(_("Choose one of the drawings."), field="outline_set")
    general = shipped_data()["zones"]
    if not zones or not set(zones) <= set(general):
        raise Invalid(_("Choose at least one zone of the list."), field="zones")
    texts = _merged({}, {language: name}, {})
    kind = Kind.objects.create(code=code, texts=texts, outline_set=outline_set, zones={zone: general[zone] for zone in zones})
    act.wrote("kind.added", ("kind", uuid7()), after={code: texts, "zones": list(zones), "drawings": outline_set})
    return kind


@action("objects.add_material", may="words.edit")
def add_material(act: Act, *, code: str, name: str) -> Material:
    """Adds a material that the rules know by this code."""
    if not re.fullmatch(r"[a-z][a-z0-9_]{1,30}", code) or Material.objects.filter(code=code).exists():
        raise Invalid(_("Write a short code of small letters that no other material has."), field="code")
    material = Material.objects.create(code=code, texts=_merged({}, {"en": name}, {}))
    act.wrote("material.added", ("material", uuid7()), after={code: material.texts})
    return material


def _claim(model: type[W], code: str, version: int, mine: Mapping[str, Any]) -> W:
    """The word, locked, if nobody changed it since."""
    row = model._default_manager.select_for_update().filter(code=code).first()
    if row is None:
        raise NotFound
    if row.version != version:
        now = {name: getattr(row, name) for name in mine}
        raise VersionConflict(who=str(_("Somebody")), theirs=now, mine=dict(mine), version=row.version)
    return row


def _merged(texts: Mapping[str, str], changed: Mapping[str, str], shipped: Mapping[str, str]) -> dict[str, str]:
    """The texts with the changed ones; an empty one gives way to the shipped one."""
    merged = dict(texts)
    for language, text in changed.items():
        own = " ".join(text.replace("\x00", "").split())
        if not LANGUAGE.fullmatch(language) or len(own) > MOST_LETTERS:
            raise Invalid(_("A name has at most %(most)s letters."), field="texts", most=MOST_LETTERS)
        merged[language] = own or shipped.get(language, "")
    merged = {language: text for language, text in merged.items() if text}
    if not merged:
        raise Invalid(_("Write a name."), field="texts")
    return merged
