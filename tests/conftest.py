"""No test is judged by the clock: a loaded machine is no fault."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("by no clock", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("by no clock")
