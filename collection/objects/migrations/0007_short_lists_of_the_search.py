"""What is searched keeps a short list of what its indexes have not taken in yet: every search reads that list from end to end."""

from django.contrib.postgres.indexes import GinIndex
from django.db import migrations
from django.db.migrations.operations.base import Operation

LIMIT = 128
SEARCHED = {"card_named": {"fields": ["named"]}, "card_search": {"fields": ["search"]}, "card_words": {"fields": ["words"], "opclasses": ["gin_trgm_ops"]}}


def _state(name: str) -> list[Operation]:
    return [
        migrations.RemoveIndex(model_name="card", name=name),
        migrations.AddIndex(model_name="card", index=GinIndex(**SEARCHED[name], name=name, gin_pending_list_limit=LIMIT)),
    ]


class Migration(migrations.Migration):
    dependencies = [("objects", "0006_screens_of_lots_and_openings")]

    # Set on the index that stands: nothing is built anew, however many things there are.
    operations = [
        migrations.RunSQL(
            f"ALTER INDEX {name} SET (gin_pending_list_limit = {LIMIT}); SELECT gin_clean_pending_list('{name}')",
            f"ALTER INDEX {name} RESET (gin_pending_list_limit)",
            state_operations=_state(name),
        )
        for name in SEARCHED
    ]
