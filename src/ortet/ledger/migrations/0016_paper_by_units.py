from django.db import migrations


def _letter_where_us_units(apps, schema_editor):
    # until now the units alone said on what a nursery prints
    apps.get_model("ledger", "Nursery").objects.filter(units="US").update(paper="letter")


class Migration(migrations.Migration):
    dependencies = [("ledger", "0015_report_links")]

    operations = [migrations.RunPython(_letter_where_us_units, migrations.RunPython.noop, elidable=True)]
