"""The bare SQL that pages need: what stands on them, in as few statements as can be, with nothing of ours around it."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

Asked = tuple[str, Sequence[Any]]
TWO = Decimal(2)


def everybody(session: str) -> list[Asked]:
    """Who is signed in, with which roles, and the society: on every page."""
    return [
        ("SELECT * FROM django_session WHERE session_key = %s AND expire_date > now()", [session]),
        (
            "SELECT p.*, r.role, r.given, r.until FROM people_person p JOIN people_rolefact r ON r.person_id = p.id"
            " WHERE p.email = 'admin@example.org' ORDER BY r.recorded_at",
            [],
        ),
        ("SELECT * FROM people_society", []),
    ]


def listed() -> list[Asked]:
    return [
        ("SELECT * FROM objects_card WHERE NOT withdrawn ORDER BY number_sort, object_id LIMIT 51", []),
        ("SELECT count(*) FROM (SELECT 1 FROM objects_card WHERE NOT withdrawn LIMIT 1001) AS few", []),
        ("SELECT * FROM objects_kind", []),
    ]


def found(words: str) -> list[Asked]:
    """The number looked for, then what has the words, ranked as far as is ranked at all."""
    query = " & ".join(f"'{word}':*" for word in words.split())
    return [
        ("SELECT object_id FROM objects_number WHERE text = %s", [words]),
        (
            "SELECT c.* FROM (SELECT object_id, ts_rank(search, q) AS rank FROM objects_card, to_tsquery('house', %s) AS q"
            " WHERE search @@ q AND NOT withdrawn LIMIT 500) AS few JOIN objects_card c USING (object_id) ORDER BY rank DESC, number_sort LIMIT 50",
            [query],
        ),
        ("SELECT * FROM objects_kind", []),
    ]


def placed(place: str) -> list[Asked]:
    here = ["%" + place + "%"]
    return [
        ("SELECT * FROM objects_card WHERE NOT withdrawn AND place_text ILIKE %s ORDER BY number_sort, object_id LIMIT 51", here),
        ("SELECT count(*) FROM (SELECT 1 FROM objects_card WHERE NOT withdrawn AND place_text ILIKE %s LIMIT 1001) AS few", here),
        ("SELECT * FROM objects_kind", []),
    ]


def due() -> list[Asked]:
    return [
        (
            "SELECT d.*, c.number, c.name, c.place_text, l.reason FROM checks_due d JOIN objects_card c USING (object_id) LEFT JOIN checks_call l"
            ' ON l.id = d.call_id WHERE d."on" <= current_date + 30 ORDER BY d.urgency DESC, d."on", c.number_sort, d.id LIMIT 51',
            [],
        ),
        ('SELECT count(*) FROM (SELECT 1 FROM checks_due WHERE "on" <= current_date + 30 LIMIT 1001) AS few', []),
    ]


_MAIN = "(SELECT id FROM objects_component WHERE object_id = %(key)s)"
_THING = (
    "SELECT * FROM objects_object o JOIN objects_card c ON c.object_id = o.id JOIN objects_kind k ON k.id = o.kind_id WHERE o.id = %(key)s",
    f"SELECT * FROM objects_statement s JOIN objects_acceptance a ON a.statement_id = s.id AND s.component_id IN {_MAIN}"
    " JOIN objects_field f ON s.field_id = f.id WHERE NOT EXISTS (SELECT 1 FROM objects_acceptance r WHERE r.replaces_id = a.id) ORDER BY f.position",
    "SELECT * FROM objects_component c LEFT JOIN objects_number n ON n.component_id = c.id WHERE c.object_id = %(key)s",
    "SELECT * FROM objects_number WHERE object_id = %(key)s AND component_id IS NULL",
    "SELECT code, level, recorded_at FROM objects_hazard WHERE object_id = %(key)s ORDER BY recorded_at",
    "SELECT whose FROM objects_ownership WHERE object_id = %(key)s ORDER BY happened_on",
    "SELECT * FROM places_stay s JOIN objects_component c ON c.id = s.component_id JOIN places_place p ON p.id = s.place_id"
    " JOIN places_place q ON q.id = p.parent_id JOIN places_place b ON b.id = q.parent_id"
    " WHERE c.object_id = %(key)s AND c.sort = 'main' AND s.during @> now()",
    "SELECT * FROM objects_shows h JOIN objects_photograph p ON p.id = h.photograph WHERE h.kind = 'object' AND h.subject = %(key)s LIMIT 12",
    "SELECT * FROM checks_due d LEFT JOIN checks_call c ON c.id = d.call_id WHERE d.object_id = %(key)s",
    "SELECT * FROM checks_conditioncheck c LEFT JOIN (checks_observation o JOIN checks_finding f ON f.id = o.finding_id) ON o.of_check_id = c.id"
    " WHERE c.object_id = %(key)s",
    "SELECT happened_on, grade, urgency FROM checks_judgement WHERE object_id = %(key)s ORDER BY recorded_at",
    "SELECT c.*, p.name FROM (SELECT change_id FROM history_about WHERE kind = 'object' AND key = %(key)s ORDER BY change_id DESC LIMIT 40) AS a"
    " JOIN history_change c ON c.n = a.change_id LEFT JOIN people_person p ON p.id = c.who ORDER BY n DESC",
)


def thing(key: str) -> list[Asked]:
    """All that stands on the page of a thing."""
    return [(sql, {"key": key}) for sql in _THING]  # type: ignore[misc]
