"""Files that only their owner may read: keys and the like."""

from __future__ import annotations

import os
import secrets
from pathlib import Path


def write_private(file: Path, body: bytes) -> None:
    """Write a file that its owner alone may read, whole or not at all; one that stands there is replaced.

    On Windows, where a file has no such bits, the rights that it inherits are taken away and its owner's are given.

    Raises:
        OSError: if it cannot be written, or on Windows if its rights cannot be set; nothing is left there then.
    """
    unfinished = file.with_name(f".{file.name}.{secrets.token_hex(6)}")
    # Made with its rights from the start, so that it is never open to others, not even for a moment.
    handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as out:
            if os.name == "nt":
                owner_only(unfinished)
            out.write(body)
        unfinished.replace(file)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise


def owner_only(file: Path) -> None:
    """On Windows, leave a file's rights to the one who runs this alone; elsewhere set the bits that say so."""
    if os.name != "nt":
        file.chmod(0o600)
        return
    import getpass
    import subprocess

    done = subprocess.run(
        windows_rights(file, getpass.getuser()),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        check=False,
    )
    if done.returncode:
        raise OSError(done.returncode, "its rights cannot be set", str(file))


def windows_rights(file: Path, user: str) -> list[str]:
    """The command of Windows that takes away what a file inherits and gives it to one user."""
    return ["icacls", str(file), "/inheritance:r", "/grant:r", f"{user}:F"]
