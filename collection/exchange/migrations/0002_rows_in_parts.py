"""A row of a file may hold several things; each has a row of its own then."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("exchange", "0001_initial")]

    operations = [
        migrations.AddField(
            model_name="importrow",
            name="part",
            field=models.PositiveSmallIntegerField(default=0, help_text="2 and on: made of the row since it holds several things"),
        ),
        migrations.RemoveConstraint(model_name="importrow", name="import_row_once"),
        migrations.AddConstraint(
            model_name="importrow",
            constraint=models.UniqueConstraint(fields=["session", "n", "part"], name="import_row_once"),
        ),
    ]
