"""Ctrl-C stops the studio and the commands in order, also after a calendar has been looked for."""

import subprocess
import sys

AFTER_A_SEARCH = """
import os, signal, time
from wareboard.plan.calendar import shortest_plan
shortest_plan([3, 2], [[1], []], [[1], [1]], [1])
try:
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(5)
except KeyboardInterrupt:
    print("closed in order")
"""


def test_a_search_for_a_calendar_leaves_ctrl_c_to_the_program() -> None:
    done = subprocess.run(
        [sys.executable, "-c", AFTER_A_SEARCH], capture_output=True, text=True, check=False, timeout=60
    )
    assert done.stdout.strip() == "closed in order", done.stderr
