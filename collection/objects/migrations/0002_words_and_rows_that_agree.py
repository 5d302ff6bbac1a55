from django.db import migrations

#: search by words without accents; `unaccent` alone is not immutable, inside a configuration it may be used
SEARCH = """
CREATE TEXT SEARCH CONFIGURATION house (COPY = simple);
ALTER TEXT SEARCH CONFIGURATION house
    ALTER MAPPING FOR asciiword, word, numword, asciihword, hword, numhword, hword_asciipart, hword_part, hword_numpart
    WITH unaccent, simple;
"""
NO_SEARCH = "DROP TEXT SEARCH CONFIGURATION house;"

#: a number's part is of the number's object; an acceptance is of its statement's component and field, and
#: replaces one of the same
AGREE = """
ALTER TABLE objects_component ADD CONSTRAINT component_of_object UNIQUE (id, object_id);
ALTER TABLE objects_number ADD CONSTRAINT number_of_own_part
    FOREIGN KEY (component_id, object_id) REFERENCES objects_component (id, object_id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE objects_statement ADD CONSTRAINT statement_of_component UNIQUE (id, component_id, field_id);
ALTER TABLE objects_acceptance ADD CONSTRAINT acceptance_of_statement
    FOREIGN KEY (statement_id, component_id, field_id)
    REFERENCES objects_statement (id, component_id, field_id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE objects_acceptance ADD CONSTRAINT acceptance_of_field UNIQUE (id, component_id, field_id);
ALTER TABLE objects_acceptance ADD CONSTRAINT replaces_same_field
    FOREIGN KEY (replaces_id, component_id, field_id)
    REFERENCES objects_acceptance (id, component_id, field_id) DEFERRABLE INITIALLY DEFERRED;
"""
DISAGREE = """
ALTER TABLE objects_acceptance DROP CONSTRAINT replaces_same_field;
ALTER TABLE objects_acceptance DROP CONSTRAINT acceptance_of_field;
ALTER TABLE objects_acceptance DROP CONSTRAINT acceptance_of_statement;
ALTER TABLE objects_statement DROP CONSTRAINT statement_of_component;
ALTER TABLE objects_number DROP CONSTRAINT number_of_own_part;
ALTER TABLE objects_component DROP CONSTRAINT component_of_object;
"""


class Migration(migrations.Migration):
    dependencies = [("objects", "0001_initial")]

    operations = [migrations.RunSQL(SEARCH, NO_SEARCH), migrations.RunSQL(AGREE, DISAGREE)]
