from django.db import migrations

from jobs.services.finding import AT_ONCE, words_of_openings, write


def fill(apps, schema_editor):
    """What stands in the records already is found from now on."""
    model = lambda name: apps.get_model("jobs", name)  # noqa: E731
    keys = list(model("Opening").objects.order_by("pk").values_list("pk", flat=True))
    for n in range(0, len(keys), AT_ONCE):
        write(words_of_openings(keys[n:n + AT_ONCE], model), ("work", "people"), model)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0003_finding'),
    ]

    operations = [
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
