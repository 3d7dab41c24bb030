"""How passwords are hashed: Argon2id, with less memory than usual, because a workshop's machine may be a small one."""

from __future__ import annotations

from django.contrib.auth.hashers import Argon2PasswordHasher


class WorkshopArgon2(Argon2PasswordHasher):
    """Argon2id, 46 MiB and one pass, a choice of the OWASP Password Storage Cheat Sheet (from memory)."""

    time_cost = 1
    memory_cost = 47104
    parallelism = 1
