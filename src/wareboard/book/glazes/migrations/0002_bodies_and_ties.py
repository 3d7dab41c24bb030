"""Bodies, ties of commissions to buckets, what lots gave, liners dumped back."""

from __future__ import annotations

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [
        ("glazes", "0001_first"),
    ]

    operations: ClassVar = [
        migrations.CreateModel(
            name="MeasuredBody",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("put_away", models.DateTimeField(blank=True, null=True)),
                ("name", models.CharField(max_length=80)),
                ("per_k", models.FloatField()),
                ("from_c", models.FloatField()),
                ("to_c", models.FloatField()),
                ("measured", models.CharField(max_length=200)),
                ("day", models.DateField(blank=True, null=True)),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["name", "pk"],
            },
        ),
        migrations.AddField(
            model_name="batchline",
            name="taken_g",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="bucketline",
            name="dumped_ml",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="bucketline",
            name="poured_ml",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="bucketline",
            name="topped_gravity",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="bucketline",
            name="topped_ml",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="fittest",
            name="batch",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="fit_tests",
                to="glazes.glazebatch",
            ),
        ),
        migrations.AlterField(
            model_name="blendplan",
            name="kind",
            field=models.CharField(
                choices=[
                    ("line", "Line"),
                    ("triaxial", "Triaxial"),
                    ("quadraxial", "Quadraxial: four corners, a square"),
                    ("four", "Four corners: every mix"),
                    ("grid", "Alumina against silica"),
                ],
                max_length=12,
            ),
        ),
        migrations.CreateModel(
            name="TiedGlaze",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("put_away", models.DateTimeField(blank=True, null=True)),
                ("commission_code", models.CharField(max_length=12)),
                ("glaze", models.CharField(max_length=80)),
                (
                    "batch",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="tied",
                        to="glazes.glazebatch",
                    ),
                ),
                (
                    "version",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="tied", to="glazes.recipeversion"
                    ),
                ),
            ],
            options={
                "ordering": ["commission_code", "pk"],
                "constraints": [
                    models.UniqueConstraint(fields=("commission_code", "glaze"), name="a_glaze_is_tied_once")
                ],
            },
        ),
    ]
