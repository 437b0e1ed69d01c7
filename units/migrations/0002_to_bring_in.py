from django.db import migrations
from django.db.models import Prefetch

from units.services.handling import loads_of

AT_ONCE = 500


def write_what_is_to_be_brought_in(apps, schema_editor):
    """Of units that were there before it was written down: acts write it from now on."""
    steps, panels = apps.get_model("jobs", "WorkStep"), apps.get_model("units", "Panel")
    to_hang = panels.objects.filter(state__in=("expected", "received")).order_by("hanging_order", "letter")
    units = apps.get_model("units", "Unit").objects.filter(pk__in=to_hang.order_by().values("unit")) \
        .select_related("system").prefetch_related(Prefetch("panels", to_hang, to_attr="to_hang")).order_by("pk")
    for unit in units.iterator(chunk_size=AT_ONCE):
        steps.objects.filter(opening=unit.opening_id, stage="panels hung").update(
            to_bring_in=loads_of(unit.to_hang, unit.system))


class Migration(migrations.Migration):

    dependencies = [
        ('units', '0001_records'),
        ('jobs', '0011_to_bring_in'),
    ]

    operations = [
        migrations.RunPython(write_what_is_to_be_brought_in, migrations.RunPython.noop),
    ]
