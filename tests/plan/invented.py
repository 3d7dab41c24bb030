"""An invented commission as tasks, of any size, for tests and benchmarks of the calendar."""

from __future__ import annotations

from wareboard.plan.work import Task


def invented_commission(cups: int = 56, bowls: int = 30, plates: int = 18, batch: int = 20) -> list[Task]:
    """An invented set in the stages of the trade: thrown, trimmed, handled, carved, dried, two fires, painted, packed."""
    tasks: list[Task] = []
    dried: dict[str, list[tuple[str, int]]] = {"cup": [], "bowl": [], "plate": []}
    for form, count, throw, trim, handle, dry_h in (
        ("cup", cups, 3.9, 2.1, 5.0, 168.0),
        ("bowl", bowls, 4.0, 2.6, 0.0, 72.0),
        ("plate", plates, 5.8, 4.0, 0.0, 240.0),
    ):
        for number, first in enumerate(range(0, count, batch), start=1):
            pieces = min(batch, count - first)
            key = f"{form}{number}"
            tasks.append(Task(f"{key}.thrown", f"Throw {form}s", form, "thrown", pieces * throw, 15.0, pieces=pieces))
            shaping = pieces * (trim + handle + 4.0)
            tasks.append(
                Task(
                    f"{key}.dried",
                    f"Trim and carve {form}s",
                    form,
                    "dried",
                    shaping,
                    dry_h,
                    after=(f"{key}.thrown",),
                    pieces=pieces,
                )
            )
            dried[form].append((f"{key}.dried", pieces))
    flat = [one for rows in dried.values() for one in rows]
    bisqued = {}
    for number, mine in enumerate((dried["cup"], dried["bowl"] + dried["plate"]), start=1):
        if not mine:
            continue
        key = f"bisque{number}"
        pieces = sum(count for _, count in mine)
        tasks.append(
            Task(
                key,
                f"Bisque load {number}",
                stage="bisque",
                minutes_hands_on=60,
                elapsed_h=36,
                needs="kiln",
                after=tuple(name for name, _ in mine),
                pieces=pieces,
                minutes_unloading=40,
            )
        )
        bisqued.update(dict.fromkeys((name for name, _ in mine), key))
    tasks.append(Task("mixed", "Mix the glazes", stage="mixing", minutes_hands_on=150, elapsed_h=24))
    painted = []
    for number, (name, pieces) in enumerate(flat, start=1):
        form = name.removesuffix(".dried").rstrip("0123456789")
        tasks.append(
            Task(
                f"washed{number}",
                "Sand and wash",
                form,
                "washed",
                pieces * 2.0,
                12,
                after=(bisqued[name],),
                pieces=pieces,
            )
        )
        tasks.append(
            Task(
                f"painted{number}",
                "Pour and paint",
                form,
                "glazed",
                pieces * 10.0,
                18,
                after=(f"washed{number}", "mixed"),
                pieces=pieces,
            )
        )
        painted.append((f"painted{number}", pieces))
    for number, first in enumerate(range(0, len(painted), 2), start=1):
        mine = painted[first : first + 2]
        pieces = sum(count for _, count in mine)
        tasks.append(
            Task(
                f"glaze{number}",
                f"Glaze load {number}",
                stage="fired",
                minutes_hands_on=90,
                elapsed_h=24,
                needs="kiln",
                after=tuple(name for name, _ in mine),
                pieces=pieces,
                minutes_unloading=40,
            )
        )
        tasks.append(
            Task(
                f"packed{number}",
                "Grind and pack",
                "",
                "packed",
                pieces * 6.0,
                after=(f"glaze{number}",),
                pieces=pieces,
            )
        )
    return tasks
