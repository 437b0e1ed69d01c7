from django.db import migrations

from inspections.services.checks import ship_checks


def ship(apps, schema_editor):
    ship_checks(apps.get_model("inspections", "Check"))


class Migration(migrations.Migration):
    dependencies = [("inspections", "0002_initial")]
    operations = [migrations.RunPython(ship, migrations.RunPython.noop)]
