"""The records of the glaze book as they are described are the records that a workshop gets."""

from __future__ import annotations

import pytest
from django.core.management import call_command


@pytest.mark.django_db
def test_nothing_is_described_that_no_migration_makes() -> None:
    call_command("makemigrations", "glazes", check=True, dry_run=True, verbosity=0)
