"""An invented commission, and a browser without scripts."""

from __future__ import annotations

from tests.studio.conftest import cups as cups
from tests.studio.conftest import workshop_folder as workshop_folder
from tests.studio_bench.conftest import studio as studio
