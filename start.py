#!/usr/bin/env python3
"""Set Wareboard up on a bare machine and run it. Needs Python 3.11 or newer and nothing else.

    python3 start.py                 set up, make the demo workshop, plan it, open the studio
    python3 start.py --no-studio     the same, but stop after the dossier
    python3 start.py test            every check and test (what CI runs)
    python3 start.py check           lint, types and import contracts only
    python3 start.py bench           the benchmarks, written to docs/benchmarks.md
    python3 start.py lock            make requirements/*.lock anew (needs uv on the path)

Anything else is handed to the `wareboard` command: `python3 start.py plan BRIEF.toml --out FOLDER`.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
RUN_LOCK = ROOT / "requirements" / "run.lock"
DEV_LOCK = ROOT / "requirements" / "dev.lock"
DEMO_FOLDER = ROOT / "workshop"
OLDEST = (3, 11)


def say(text: str) -> None:
    print(text, flush=True)


def run(*command: str | Path, quiet: bool = False, **extra: object) -> int:
    """Run a command in the project's folder and hand back its exit code."""
    done = subprocess.run(
        [str(part) for part in command],
        cwd=ROOT,
        stdout=subprocess.DEVNULL if quiet else None,
        check=False,
        **extra,  # type: ignore[call-overload]
    )
    return int(done.returncode)


def must(*command: str | Path, why: str) -> None:
    """Run a command; stop with a plain word if it fails."""
    code = run(*command)
    if code != 0:
        sys.exit(f"Could not {why} (exit code {code}). What was asked: {' '.join(str(part) for part in command)}")


def lock_print(lock: Path) -> str:
    """What an environment made from this lock, by this Python, is known by."""
    body = lock.read_bytes() + (ROOT / "pyproject.toml").read_bytes()
    return f"{sys.version_info[0]}.{sys.version_info[1]} {hashlib.sha256(body).hexdigest()}"


def ready_for(lock: Path) -> bool:
    stamp = VENV / f".{lock.stem}-installed"
    return PYTHON.exists() and stamp.exists() and stamp.read_text(encoding="utf-8") == lock_print(lock)


def set_up(lock: Path) -> None:
    """Make `.venv` from the locked, hashed requirements, unless it stands already."""
    # What the tests need holds all that a run needs, so one environment serves both.
    if ready_for(lock) or (lock == RUN_LOCK and ready_for(DEV_LOCK)):
        return
    if not PYTHON.exists():
        say("Making .venv (once) …")
        try:
            venv.EnvBuilder(with_pip=True, clear=VENV.exists()).create(VENV)
        except (OSError, subprocess.CalledProcessError) as problem:
            sys.exit(
                f"Could not make {VENV}: {problem}. This Python may lack its venv part: "
                "on Debian and Ubuntu install python3-venv, elsewhere use the Python from python.org."
            )
    say("Installing the locked requirements (once, a minute or so) …")
    pip = [str(PYTHON), "-m", "pip", "--disable-pip-version-check"]
    must(
        *pip,
        "install",
        "--quiet",
        "--require-hashes",
        "--only-binary",
        ":all:",
        "--no-deps",
        "-r",
        lock,
        why="install the requirements",
    )
    must(
        *pip,
        "install",
        "--quiet",
        "--no-deps",
        "--no-index",
        "--no-build-isolation",
        "--editable",
        ROOT,
        why="install Wareboard itself",
    )
    (VENV / f".{lock.stem}-installed").write_text(lock_print(lock), encoding="utf-8")


def chromium() -> str | None:
    """A Chromium for the browser tests, installed from Debian where that can be done without asking."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if found or shutil.which("apt-get") is None or not hasattr(os, "geteuid") or os.geteuid() != 0:
        return found
    say("Installing Debian's chromium for the browser tests …")
    run("apt-get", "update", "-qq", quiet=True)
    run("apt-get", "install", "-y", "-qq", "--no-install-recommends", "chromium", quiet=True)
    return shutil.which("chromium")


def check() -> int:
    """Lint, types and import contracts; the sum of the exit codes."""
    failed = 0
    for name, command in (
        ("format", [PYTHON, "-m", "ruff", "format", "--check", "."]),
        ("lint", [PYTHON, "-m", "ruff", "check", "."]),
        ("types", [PYTHON, "-m", "mypy"]),
        ("import contracts", [BIN / "lint-imports"]),
    ):
        say(f"== {name}")
        failed += 1 if run(*command) else 0
    return failed


def test(rest: list[str]) -> int:
    """Everything that CI runs: checks, then tests."""
    set_up(DEV_LOCK)
    failed = check()
    if chromium() is None:
        say("No Chromium found: the browser tests will fail. Install chromium, or deselect them with -m 'not browser'.")
    say("== tests")
    tested = run(PYTHON, "-m", "pytest", *(rest or ["-n", "2"]))
    return tested or (1 if failed else 0)


def lock() -> int:
    """Make both lock files anew, for all platforms, with hashes."""
    build_needs = ROOT / "requirements" / "build.in"
    compile_lock = [
        "uv",
        "pip",
        "compile",
        "--universal",
        "--python-version",
        "3.11",
        "--generate-hashes",
        "--only-binary",
        ":all:",
        "--no-header",
        "--no-annotate",
        "pyproject.toml",
        str(build_needs),
    ]
    return run(*compile_lock, "-o", RUN_LOCK) or run(*compile_lock, "--extra", "dev", "-c", RUN_LOCK, "-o", DEV_LOCK)


def demo(rest: list[str]) -> int:
    """The two-command start: demo workshop, plan, dossier, then the studio."""
    set_up(RUN_LOCK)
    code = run(PYTHON, "-m", "wareboard", "demo", "--folder", DEMO_FOLDER)
    if code or "--no-studio" in rest:
        return code
    others = [word for word in rest if word != "--no-studio"]
    return run(PYTHON, "-m", "wareboard", "studio", "--folder", DEMO_FOLDER, *others)


def main(words: list[str]) -> int:
    if sys.version_info < OLDEST:
        sys.exit(f"Wareboard needs Python {OLDEST[0]}.{OLDEST[1]} or newer; this is {sys.version.split()[0]}.")
    if words[:1] in (["-h"], ["--help"], ["help"]):
        say(__doc__ or "")
        return 0
    first, rest = (words[0], words[1:]) if words else ("", [])
    if first in ("", "--no-studio", "--port", "--no-browser"):
        return demo(words)
    if first == "test":
        return test(rest)
    if first == "check":
        set_up(DEV_LOCK)
        return 1 if check() else 0
    if first == "bench":
        set_up(DEV_LOCK)
        return run(PYTHON, "-m", "benchmarks", *rest)
    if first == "lock":
        return lock()
    set_up(RUN_LOCK)
    return run(PYTHON, "-m", "wareboard", *words)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
