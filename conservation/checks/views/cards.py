"""Pages of card tests: what lies and is to be read, laying one, reading one."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from collection.objects.models import Object
from collection.objects.queries import words_of_materials, zones_of
from collection.objects.views.common import key_in, thing_for
from conservation.checks.actions import cards
from conservation.checks.models import CardTest
from conservation.checks.queries import open_findings
from conservation.checks.vocabulary import offer_terms, term_words
from locations.places.move_views import day_in
from museum import clock
from museum.errors import DomainError, NotFound
from museum.ids import uuid7
from museum.people.doors import actor_of, needs
from museum.web.paging import page_of

A_PAGE = 50


@require_safe
@needs("check.record")
def card_list(request: HttpRequest) -> HttpResponse:
    """Cards laid out, the one that is due first on top."""
    rows = CardTest.objects.filter(reading="", object__in=Object.objects.visible_to(actor_of(request))).select_related("object__card", "started_by")
    page = page_of(rows.order_by("due_on", "id"), request.GET.get("page"), A_PAGE)
    return render(request, "checks/cards.html", {"rows": page, "today": clock.today()})


@require_http_methods(["GET", "POST"])
@needs("check.record")
def lay_card(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Lays a card under a finding, a zone or the whole; shows those that lay before."""
    thing, fields, error = thing_for(request, object_id), request.POST, ""
    key = key_in(fields.get("id")) or uuid7()
    if request.method == "POST":
        under = fields.get("under", "")
        finding = key_in(under)
        try:
            cards.start_card(
                actor_of(request).keyed(key), object_id, test_id=key, finding_id=finding, zone="" if finding else under, card=fields.get("card", ""),
                started_on=day_in(fields.get("on")), note=fields.get("note", ""),
            )  # fmt: skip
        except DomainError as refused:
            error = refused.sentence
        else:
            return redirect("checks:lay_card", object_id)
    zones = zones_of(thing)
    names = {zone.code: f"{zone.code} {zone.name}" for zone in zones}
    context = {
        "thing": thing, "card": thing.card, "key": key, "error": error, "typed": fields, "today": clock.today(), "zones": zones,
        "findings": [(row, term_words(row.term), names.get(row.finding.zone, row.finding.zone)) for row in open_findings(thing.pk)],
        "cards": CardTest.Card.choices,
        "tests": thing.card_tests.select_related("started_by", "read_by").order_by("-started_on", "-id"),
    }  # fmt: skip
    return render(request, "checks/lay_card.html", context, status=400 if error else 200)


@require_http_methods(["GET", "POST"])
@needs("check.record")
def read_card(request: HttpRequest, card_id: UUID) -> HttpResponse:
    """Reads a card: what lies on it."""
    test = CardTest.objects.select_related("object__card", "finding").filter(pk=card_id, object__in=Object.objects.visible_to(actor_of(request))).first()
    if test is None:
        raise NotFound()
    fields, error = request.POST, ""
    key = key_in(fields.get("act")) or uuid7()
    if request.method == "POST":
        try:
            cards.read_card(
                actor_of(request).keyed(key), card_id, reading=fields.get("reading", ""), read_on=day_in(fields.get("on")), term=fields.get("term", ""),
                material=fields.get("material", ""), note=fields.get("note", ""),
            )  # fmt: skip
        except DomainError as refused:
            error = refused.sentence
        else:
            return redirect("desk:thing", test.object_id)
    materials = test.object.card.materials
    context = {
        "test": test, "thing": test.object, "card": test.object.card, "error": error, "typed": fields, "readings": CardTest.Reading.choices, "act": key,
        "terms": offer_terms(materials).first if test.finding is None else [], "today": clock.today(),
        "materials": sorted(words_of_materials(materials).items()),
    }  # fmt: skip
    return render(request, "checks/read_card.html", context, status=400 if error else 200)
