import time
from collection.exchange.actions import Upload, map_import, start_import, begin
from museum.people.actor import Actor
from locations.places.found import enter_where_found
from museum.ids import uuid7
from pathlib import Path

T = Path("/work/main/fixtures/reference/import_case.csv").read_bytes()


def test_shots(browsers, museum):
    actor = Actor.of(museum.nell)
    s = start_import(actor, Upload("import_case.csv", T))
    m = start_import(actor, Upload("again.csv", T))
    s = map_import(actor, s.pk, version=1, columns=s.mapping, numbers_follow="grammar")
    enter_where_found(actor, object_id=uuid7(), name="black cap with a badge", note="lamp box", where="door", place_id=museum.shelf.pk)
    for w, kind in (("390", "phone"), ("1280", "desk")):
        from tests.browser.kit import PHONE, DESK

        ctx = browsers.chromium.new_context(**(PHONE if w == "390" else DESK))
        from django.test import Client
        from django.conf import settings

        c = Client()
        c.force_login(museum.nell)
        ctx.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": c.cookies[settings.SESSION_COOKIE_NAME].value, "url": browsers.watch.address}])
        p = ctx.new_page()
        for name, url in (
            ("imports", "/import/"),
            ("columns", f"/import/{m.pk}/"),
            ("preview", f"/import/{s.pk}/preview/"),
            ("found", "/things/found/"),
            ("today", "/"),
        ):
            p.goto(browsers.watch.address + url)
            if name == "preview":
                p.evaluate("document.querySelectorAll('#sort-several_numbers').forEach(d=>d.open=true)")
            wide = p.evaluate("document.documentElement.scrollWidth")
            print(name, w, wide)
            p.screenshot(path=f"/tmp/shot-{name}-{w}.png", full_page=True)
        ctx.close()
