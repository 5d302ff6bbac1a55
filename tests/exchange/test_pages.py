"""The pages of imports, as a registrar uses them, and who else may not."""

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client

from collection.exchange import tasks  # noqa: F401, as the worker finds them
from collection.exchange.models import ImportSession
from collection.objects.actions.objects import set_public
from collection.objects.models import Object
from museum.jobs import running
from museum.jobs.models import Job
from museum.people.actor import Actor
from museum.people.models import Person
from tests.exchange.test_importing import REGISTER

AsPerson = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


def sent(client: Client, text: str = REGISTER) -> ImportSession:
    file = io.BytesIO(text.encode())
    file.name = "register.csv"
    answer = client.post("/import/", {"file": file, "id": str(uuid4())})
    assert answer.status_code == 302, answer.content.decode()
    return ImportSession.objects.get()


def mapped(client: Client, session: ImportSession) -> None:
    fields = {f"column_{n}": target for n, target in session.mapping.items()}
    fields |= {"version": "1", "numbers_follow": "grammar", "default_kind": "other", "heading": "1"}
    answer = client.post(f"/import/{session.pk}/", fields)
    assert answer.status_code == 302, answer.content.decode()


def test_from_the_file_to_the_catalogue_and_back(registrar: Person, as_person: AsPerson) -> None:
    client = as_person(registrar)
    assert client.get("/import/").status_code == 200
    session = sent(client)
    page = client.get(f"/import/{session.pk}/").content.decode()
    assert "Fire helmet, leather" in page
    mapped(client, session)
    page = client.get(f"/import/{session.pk}/preview/").content.decode()
    assert "1974.12.2 stands in row 3 too" in page
    assert not Object.objects.exists()
    row = session.rows.get(n=4)
    client.post(f"/import/{session.pk}/rows/{row.pk}/", {"version": "1", "choice_0": "other", "text_0": "1974.12.3"})
    loose = session.rows.get(n=5)
    client.post(f"/import/{session.pk}/rows/{loose.pk}/", {"version": "1", "do": "skip", "why": "no thing of ours"})
    client.post(f"/import/{session.pk}/run/")
    running.run(Job.objects.get().pk)
    assert Job.objects.get().state == "done", Job.objects.get().error
    page = client.get(f"/import/{session.pk}/preview/?outcome=taken").content.decode()
    assert "Take this import back" in page
    assert Object.objects.count() == 3
    client.post(f"/import/{session.pk}/undo/", {"reason": "the wrong list"})
    running.run(Job.objects.latest("created_at").pk)
    assert not Object.objects.filter(withdrawn="").exists()
    assert client.get(f"/import/{session.pk}/preview/?outcome=all").status_code == 200
    assert "taken back" in client.get("/import/").content.decode()


def test_a_file_that_cannot_be_read_is_told_on_the_page(registrar: Person, as_person: AsPerson) -> None:
    file = io.BytesIO(b"PK\x03\x04")
    file.name = "broken.xlsx"
    answer = as_person(registrar).post("/import/", {"file": file})
    assert answer.status_code == 400
    assert "damaged" in answer.content.decode()
    assert as_person(registrar).post("/import/", {}).status_code == 400


def test_sent_twice_under_one_key_it_is_one_import(registrar: Person, as_person: AsPerson) -> None:
    client, key = as_person(registrar), str(uuid4())
    for _ in range(2):
        file = io.BytesIO(REGISTER.encode())
        file.name = "register.csv"
        client.post("/import/", {"file": file, "id": key})
    assert ImportSession.objects.count() == 1


def test_the_form_of_numbers_is_asked_on_the_page(registrar: Person, as_person: AsPerson) -> None:
    client = as_person(registrar)
    session = sent(client)
    answer = client.post(f"/import/{session.pk}/", {"version": "1", "column_1": "name", "default_kind": "other"})
    assert answer.status_code == 400
    assert "Say whether the numbers follow our form" in answer.content.decode()


def test_nobody_but_a_registrar_sees_imports(
    registrar: Person, curator: Person, volunteer: Person, reader: Person, administrator: Person, as_person: AsPerson
) -> None:
    session = sent(as_person(registrar))
    row = session.rows.get(n=2)
    for person in (curator, volunteer, reader, administrator):
        client = as_person(person)
        for address in ("/import/", f"/import/{session.pk}/", f"/import/{session.pk}/preview/"):
            assert client.get(address).status_code == 403
        for address in ("run/", "undo/", f"rows/{row.pk}/"):
            assert client.post(f"/import/{session.pk}/{address}").status_code == 403
    assert Client().get("/import/").status_code == 302
    assert as_person(registrar).get(f"/import/{uuid4()}/").status_code == 404


def test_by_the_console(registrar: Person, tmp_path: Path) -> None:
    path = tmp_path / "register.csv"
    path.write_text(REGISTER)
    out = io.StringIO()
    call_command("import_register", str(path), numbers="grammar", stdout=out)
    assert "Nobody can be asked here, so nothing was brought in." in out.getvalue()
    assert not Object.objects.exists()
    call_command("import_register", str(path), numbers="grammar", yes=True, stdout=out)
    assert "taken           2" in out.getvalue()
    assert "number twice in the file" in out.getvalue()
    call_command("import_register", str(path), numbers="grammar", yes=True, stdout=out)
    assert Object.objects.count() == 2
    with pytest.raises(CommandError):
        call_command("import_register", str(path.with_name("none.csv")), numbers="grammar")
    with pytest.raises(CommandError, match="no registrar"):
        call_command("import_register", str(path), "--as", "nobody@example.org", numbers="grammar")


def test_by_the_console_with_answers_columns_a_table_and_back_again(registrar: Person, tmp_path: Path) -> None:
    path, table, out = tmp_path / "register.csv", tmp_path / "rows.csv", io.StringIO()
    path.write_text(REGISTER)
    call_command(
        "import_register", str(path), numbers="grammar", yes=True, rows=table, column=["Remarks=description"],
        answer=["no_number=temporary"], skip=["duplicate_number=the same cap"], stdout=out,
    )  # fmt: skip
    assert "no number: 1 answered, 0 cannot be answered so" in out.getvalue()
    assert Object.objects.count() == 3
    assert "is left out: the same cap" in table.read_text(encoding="utf-8-sig")
    session = ImportSession.objects.get()
    with pytest.raises(CommandError, match="Say why"):
        call_command("import_register", undo=session.pk)
    call_command("import_register", undo=session.pk, reason="the wrong list", stdout=out)
    assert not Object.objects.filter(withdrawn="").exists()
    for wrong in ({"column": ["None=name"]}, {"answer": ["no_number"]}, {"answer": ["no_number=split"]}, {"numbers": None}):
        with pytest.raises(CommandError):
            call_command("import_register", str(path), **{"numbers": "grammar", "stdout": out} | wrong)


def test_by_program_from_the_file_to_the_catalogue_and_back(registrar: Person, as_person: AsPerson) -> None:
    client, json = as_person(registrar), "application/json"
    keys = [str(uuid4()) for _n in range(6)]

    def post(address: str, key: int, **body: object) -> Any:
        answer = client.post(f"/api/imports/{address}", {"id": keys[key]} | body, content_type=json)
        return answer.json()

    file = io.BytesIO(REGISTER.encode())
    file.name = "register.csv"
    started = client.post("/api/imports/", {"file": file, "id": keys[0]}).json()
    at = started["id"]
    mapped = post(f"{at}/", 1, version=started["version"], columns=started["columns"], numbers_follow="grammar")
    assert mapped["counts"]["question"] == 2
    assert mapped["asked"]["no_number"] == {"rows": 1, "choices": ["temporary"]}
    for _again in range(2):
        assert post(f"{at}/alike/", 2, code="no_number", choice="temporary") == {"answered": 1, "left": 0}
    asking = client.get(f"/api/imports/{at}/rows/?outcome=question").json()["rows"]
    assert [row["row"] for row in asking] == ["4"]
    answered = post(f"{at}/rows/{asking[0]['id']}/", 3, version=asking[0]["version"], answers={"skip": True, "why": "the same cap"})
    assert answered["why"] == "is left out: the same cap"
    running.run(UUID(post(f"{at}/run/", 4)["job"]))
    assert Object.objects.count() == 3
    thing = Object.objects.get(numbers__text="1974.12.1")
    set_public(Actor.of(registrar), thing.pk, public=True)
    assert client.post(f"/api/imports/{at}/undo/", {"id": keys[5], "reason": ""}, content_type=json).status_code == 400
    undone = client.post(f"/api/imports/{at}/undo/", {"id": str(uuid4()), "reason": "the wrong list"}, content_type=json).json()
    assert [row["row"] for row in undone["stays"]] == ["2"]
    running.run(UUID(undone["job"]))
    assert list(Object.objects.filter(withdrawn="")) == [thing]
