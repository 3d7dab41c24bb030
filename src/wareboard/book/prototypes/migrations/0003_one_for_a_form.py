"""No two marks, and no two paintings, for one form."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import migrations, models


def refuse_to_lose(apps: Any, schema_editor: Any) -> None:
    """Before, a commission had one mark and one painting: nothing is thrown away to go back to that."""
    rows = apps.get_model("prototypes", "ClientPicture").objects.all()
    if rows.values("commission", "kind").distinct().count() != rows.count():
        raise RuntimeError("A commission has marks or paintings for several forms: restore a backup from before.")


class Migration(migrations.Migration):
    dependencies: ClassVar = [("prototypes", "0002_for_each_form")]

    operations: ClassVar = [
        migrations.RemoveConstraint("clientpicture", "one_picture_of_a_kind_for_a_commission"),
        migrations.AddConstraint(
            "clientpicture",
            models.UniqueConstraint(fields=("commission", "kind", "form"), name="one_picture_of_a_kind_for_a_form"),
        ),
        migrations.RunPython(
            migrations.RunPython.noop, refuse_to_lose
        ),  # last, so that it is asked first on the way back
    ]
