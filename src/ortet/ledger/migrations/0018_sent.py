import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("ledger", "0016_paper_by_units")]

    operations = [
        migrations.CreateModel(
            name="Sent",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("deed", models.CharField(max_length=30)),
                ("said_hash", models.CharField(max_length=64)),
                ("at", models.DateTimeField()),
                (
                    "device",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="sent", to="ledger.device"
                    ),
                ),
            ],
        ),
    ]
