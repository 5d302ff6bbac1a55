"""Personal words of the record can be erased: the fact that they are is what makes the database put it in their place."""

import django.db.models.deletion
import museum.ids
from django.db import migrations, models

ERASE = """
CREATE OR REPLACE FUNCTION carry_out_erasure() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER
SET search_path = pg_catalog, public, pg_temp SET house.erasing = 'yes' AS $$
DECLARE
    wrote uuid;
BEGIN
    UPDATE objects_statement AS said
       SET value = jsonb_build_object('erased', NEW.erased_on::text, 'because', NEW.reason), words = '', source = '', cell = ''
      FROM objects_field AS field
     WHERE said.id = NEW.statement_id AND field.id = said.field_id AND field.personal AND said.value IS NOT NULL
    RETURNING said.act_id INTO wrote;
    IF wrote IS NULL THEN
        RAISE EXCEPTION 'only personal words are erased' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    -- a digest of short words can be guessed: the act that brought them forgets what it was asked
    UPDATE history_act SET digest = '' WHERE id = wrote;
    RETURN NULL;
END $$;
REVOKE EXECUTE ON FUNCTION carry_out_erasure() FROM PUBLIC;
CREATE TRIGGER erasure_is_carried_out AFTER INSERT ON exchange_erasure FOR EACH ROW EXECUTE FUNCTION carry_out_erasure();
"""
KEEP = "DROP TRIGGER erasure_is_carried_out ON exchange_erasure; DROP FUNCTION carry_out_erasure();"


class Migration(migrations.Migration):
    dependencies = [
        ("exchange", "0002_rows_in_parts"),
        ("history", "0001_initial"),
        ("objects", "0005_zones_on_photographs"),
        ("people", "0001_initial"),
    ]

    operations = [
        migrations.CreateModel(
            name="Erasure",
            fields=[
                ("id", models.UUIDField(default=museum.ids.uuid7, editable=False, primary_key=True, serialize=False)),
                ("erased_on", models.DateField()),
                ("reason", models.TextField()),
                ("act", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="history.act")),
                ("by", models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="people.person")),
                ("statement", models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name="erasure", to="objects.statement")),
            ],
            options={
                "constraints": [models.CheckConstraint(condition=models.Q(("reason", ""), _negated=True), name="erased_with_a_reason")],
            },
        ),
        migrations.RunSQL(ERASE, KEEP),
    ]
