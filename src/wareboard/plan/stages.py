"""What a piece goes through and what is done to it, by the names that briefs and workshop files use."""

from __future__ import annotations

STAGES = ("thrown", "handled", "dried", "carried", "bisque", "glazed", "fired")
TASKS = ("weigh", "throw", "trim", "handle", "lid", "spout", "mark", "sand", "liner", "dip", "paint", "grind", "pack")
KINDS_OF_FORM = ("cup", "bowl", "plate", "jug")
