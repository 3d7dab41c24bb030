"""A mark and a painting for each form: what stands is kept for the form that it was drawn for."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any, ClassVar

import django.db.models.deletion
from django.db import migrations, models


def assign(apps: Any, schema_editor: Any) -> None:
    """Each picture to the form that its boxes name, else to the brief's first; approvals name it with its form."""
    for row in apps.get_model("prototypes", "ClientPicture").objects.select_related("commission__paper__current"):
        given = dict(row.given)
        row.form = str(given.pop("form", "") or _first_form(row.commission))[:80]
        row.given = given
        row.save(update_fields=["form", "given"])
        _rename(apps, row.commission_id, f"picture of the {row.kind}", f"{row.kind} of {row.form}")


def give_back(apps: Any, schema_editor: Any) -> None:
    """The form back among the boxes of each picture, as before."""
    rows = apps.get_model("prototypes", "ClientPicture").objects.all()
    for row in rows:
        row.given = {**row.given, "form": row.form}
        row.save(update_fields=["given"])
        _rename(apps, row.commission_id, f"{row.kind} of {row.form}", f"picture of the {row.kind}")


def _first_form(commission: Any) -> str:
    current = commission.paper.current
    try:
        forms = tomllib.loads(current.text).get("forms") if current else None
    except tomllib.TOMLDecodeError:
        forms = None
    first = forms[0] if isinstance(forms, list) and forms else {}
    return str(first.get("name", "piece")) if isinstance(first, dict) else "piece"


def _rename(apps: Any, commission: int, old: str, new: str) -> None:
    """A picture's name in what was approved, and in the history of that."""
    for approval in apps.get_model("prototypes", "Approval").objects.filter(commission=commission):
        approval.pictures = _renamed(approval.pictures, old, new)
        approval.save(update_fields=["pictures"])
        for change in apps.get_model("firings", "Change").objects.filter(of="Approval", record=approval.pk):
            change.before, change.after = (_in_state(each, old, new) for each in (change.before, change.after))
            change.save(update_fields=["before", "after"])


def _in_state(state: Mapping[str, Any] | None, old: str, new: str) -> Any:
    return state and {**state, "pictures": _renamed(state.get("pictures", []), old, new)}


def _renamed(pictures: list[list[str]], old: str, new: str) -> list[list[str]]:
    return [[new if name == old else name, *rest] for name, *rest in pictures]


class Migration(migrations.Migration):
    dependencies: ClassVar = [
        ("book", "0001_first"),
        ("firings", "0003_loaded_and_joined"),
        ("prototypes", "0001_first"),
    ]

    operations: ClassVar = [
        migrations.AddField(
            "clientpicture", "form", models.CharField(default="", max_length=80), preserve_default=False
        ),
        migrations.AddField(
            "clientpicture",
            "same_as",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="followers",
                to="prototypes.clientpicture",
            ),
        ),
        migrations.RunPython(assign, give_back),
    ]
