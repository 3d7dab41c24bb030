"""An invented commission, and a browser without scripts."""

from __future__ import annotations

import pytest

from tests.studio.conftest import cups as cups
from tests.studio.conftest import workshop_folder as workshop_folder
from tests.studio_bench.conftest import studio as studio


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    """What one test has worked out is forgotten before the next."""
    from wareboard.studio.prototypes import worked

    worked.forget()
