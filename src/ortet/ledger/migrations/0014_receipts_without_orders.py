import django.db.models.deletion
from django.db import migrations, models

from ortet.ledger import guard


def _take_guard_down(apps, schema_editor):
    guard.remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("ledger", "0013_selling"),
    ]

    operations = [
        # the guard's triggers name the tables that SQLite makes anew below; it goes up again after the migration
        migrations.RunPython(_take_guard_down, migrations.RunPython.noop),
        migrations.AddField(
            model_name="packing",
            name="note",
            field=models.TextField(blank=True),
        ),
        migrations.AddField(
            model_name="receipt",
            name="buyer",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="receipts",
                to="ledger.buyer",
            ),
        ),
        migrations.AlterField(
            model_name="nursery",
            name="tax_percent",
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=7, null=True),
        ),
        migrations.AlterField(
            model_name="orderline",
            name="tax_percent",
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=7, null=True),
        ),
        migrations.AlterField(
            model_name="receipt",
            name="order",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="receipts",
                to="ledger.order",
            ),
        ),
        migrations.AddConstraint(
            model_name="receipt",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("buyer__isnull", False), ("order__isnull", True)),
                    models.Q(("buyer__isnull", True), ("order__isnull", False)),
                    _connector="OR",
                ),
                name="receipt_of_an_order_or_a_buyer",
            ),
        ),
    ]
