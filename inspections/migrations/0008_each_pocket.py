from django.db import migrations

AT_EACH_POCKET = ("pocket-size", "longest-fastener")


def ask_at_each(apps, schema_editor):
    """Of two pockets each is read: these checks were shipped once without a place, and asked one reading of both."""
    checks = apps.get_model("inspections", "Check").objects.filter(system=None, job=None, code__in=AT_EACH_POCKET)
    for check in checks:
        if not check.places:
            check.places = ["each-pocket"]
            check.save(update_fields=["places"])


class Migration(migrations.Migration):

    dependencies = [
        ('inspections', '0007_open_callbacks'),
    ]

    operations = [
        migrations.RunPython(ask_at_each, migrations.RunPython.noop),
    ]
