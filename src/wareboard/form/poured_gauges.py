"""Life-size patterns of what a piece pours by: a card for the rim with its lip, and one that a spout is joined by.

As in `wareboard.form.gauges`: x to the right and y up, mm on the paper, which are mm of the clay at that stage.
"""

from __future__ import annotations

import numpy as np

from wareboard.form.from_above import rim_from_above
from wareboard.form.gauges import ROOM_FOR_WORDS_MM, SMALL_MM, Line, Note, Pattern, said
from wareboard.form.lip import PulledLip
from wareboard.form.poured import spout_outline
from wareboard.form.profile import Profile
from wareboard.form.spout import ThrownSpout


def lip_round(profile: Profile, lip: PulledLip, stage: str = "wet", unit: str = "mm") -> Pattern:
    """The rim from above with its lip, and the round that it is pulled out of.

    Args:
        profile, lip: at the stage.
        stage: in plain words.
        unit: of its words, "mm" or "in".
    """
    turned = rim_from_above(profile, lip)[0] * np.array([-1.0, 1.0])
    turn = np.linspace(0.0, 2 * np.pi, 181)
    rim = profile.rim_mm / 2
    ring = rim * np.column_stack([np.cos(turn), np.sin(turn)])
    ends = lip.width_mm / 2
    at = float(np.sqrt(rim**2 - ends**2))
    lines = (
        Line("edge", turned, True),
        Line("band", ring, True),
        Line("centre", np.array([[-rim, 0.0], [rim + lip.out_mm, 0.0]])),
        *(Line("mark", np.array([[at - 4.0, sign * ends], [at + 4.0, sign * ends]])) for sign in (-1.0, 1.0)),
    )
    words = (
        f"rim {said(profile.rim_mm, unit)}, lip {said(lip.out_mm, unit)} out over {said(lip.width_mm, unit)}, {stage}",
        f"its edge dips {said(lip.dip_mm, unit)}; pulled from {said(lip.down_mm, unit)} down",
    )
    notes = tuple(Note(-rim, -rim - 5.0 - 4.6 * number, text, SMALL_MM) for number, text in enumerate(words))
    return Pattern(f"Lip from above, {stage}", "Hold the rim over it; pull the lip to the thick edge", lines, notes)


def spout_side(profile: Profile, spout: ThrownSpout, stage: str = "leather-hard", unit: str = "mm") -> Pattern:
    """The spout from the side on a card whose foot stands on the bat and whose edge lies against the wall.

    Args:
        profile, spout: at the stage.
        stage: in plain words.
        unit: of its words, "mm" or "in".
    """
    upper, lower = (line[:, ::-1] for line in spout_outline(profile, spout))
    side = profile.outer_mm[profile.standing :]
    top = float(max(upper[:, 1].max(), profile.height_mm - profile.lip_mm))
    kept = side[side[:, 0] < profile.height_mm - profile.lip_mm]
    edge = np.vstack(
        [kept, [profile.height_mm - profile.lip_mm, profile.radius_at_mm(profile.height_mm - profile.lip_mm)]]
    )
    edge = edge[:, ::-1]
    out = float(max(upper[:, 0].max(), lower[:, 0].max()))
    far = out + ROOM_FOR_WORDS_MM
    card = np.vstack([edge, [[edge[-1, 0], top], [far, top], [far, 0.0]]])
    wall = profile.radius_at_mm(spout.join_mm)
    rake = np.radians(spout.rake_deg)
    tip = [wall + spout.length_mm * np.cos(rake), spout.join_mm + spout.length_mm * np.sin(rake)]
    lines = (
        Line("cut", card, True),
        Line("edge", edge),
        Line("edge", upper),
        Line("edge", lower),
        Line("edge", np.vstack([upper[-1], lower[-1]])),
        Line("centre", np.array([[wall, spout.join_mm], tip])),
        Line("mark", np.array([[wall - 8.0, spout.join_mm], [wall, spout.join_mm]])),
    )
    words = (
        f"joined {said(spout.join_mm, unit)} up",
        f"rake {spout.rake_deg:.0f} degrees, cut {spout.cut_deg:.0f}",
        f"{said(spout.length_mm, unit)} along its middle",
        f"{said(spout.base_mm, unit)} wide at the wall",
        f"{said(spout.tip_mm, unit)} wide at the tip",
    )
    low = min(spout.join_mm, 24.0) + 6.0
    notes = tuple(Note(out - 4.0, low - 5.0 * number, text, SMALL_MM) for number, text in enumerate(words))
    return Pattern(
        f"Spout, {stage}",
        "Cut the card along the wall; stand it on the bat and join the spout to its mark, along its middle line",
        lines,
        notes,
    )
