from django.db import migrations
from django.db.models import Q


def fill(apps, schema_editor):
    """A crew that goes back to an opening, or was there, has it as its own."""
    visits, trips = apps.get_model("jobs", "Visit").objects, apps.get_model("inspections", "ReturnTrip").objects
    goes = trips.filter(Q(done_at__isnull=False) | Q(callback__closed_at=None)).exclude(crew=None)
    for opening, crew, day in goes.order_by().values_list("callback__opening", "crew", "day").distinct():
        visits.get_or_create(opening_id=opening, crew_id=crew, day=day)


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0010_visits'),
        ('inspections', '0008_each_pocket'),
    ]

    operations = [
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
