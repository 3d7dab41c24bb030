"""Drawings read from SVG: against the specification's own shapes, closed forms, and files that mean harm."""

from __future__ import annotations

import numpy as np
import pytest

from wareboard.errors import Unreadable
from wareboard.mark.svg_lines import read_svg
from wareboard.svg_path import matrix_of, subpaths

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 200 100">'


def drawn(inside: str, head: str = HEAD) -> list[np.ndarray]:
    return [line.points_mm for line in read_svg(f"{head}{inside}</svg>").lines]


def test_a_view_box_of_half_millimetres_is_read_in_millimetres_with_y_up() -> None:
    assert drawn('<line x1="20" y1="10" x2="60" y2="30"/>')[0] == pytest.approx(np.array([[10, -5], [30, -15]]))


def test_without_sizes_a_unit_is_a_96th_of_an_inch() -> None:
    """W3C SVG 1.1 / CSS: 96 units to the inch."""
    points = drawn('<path d="M0 0H96"/>', '<svg xmlns="http://www.w3.org/2000/svg">')[0]
    assert points[1, 0] == pytest.approx(25.4)


def test_shapes_have_their_closed_form_areas() -> None:
    """Circle pi r^2, ellipse pi a b, rounded rectangle w h - (4 - pi) r^2, by the shoelace formula over the points."""
    shapes = (
        '<circle cx="50" cy="50" r="40"/><ellipse cx="99" cy="50" rx="60" ry="20"/>'
        '<rect x="5" y="5" width="80" height="40" rx="10"/><polygon points="0,0 30,0 30,40"/>'
    )
    areas = []
    for line in read_svg(f"{HEAD}{shapes}</svg>", within_mm=0.001).lines:
        assert line.closed
        x, y = line.points_mm.T
        areas.append(abs(np.dot(x, np.roll(y, 1)) - np.dot(y, np.roll(x, 1))) / 2 * 4)
    wanted = [np.pi * 1600, np.pi * 1200, 3200 - (4 - np.pi) * 100, 600]
    assert areas == pytest.approx(wanted, rel=1e-3)


def test_an_arc_meets_its_circle_and_its_flags_may_stand_without_spaces() -> None:
    """Arc from (0, 0) to (10, 10), radius 10, small and swept: centre (0, 10), by W3C SVG 1.1 appendix F.6.5."""
    ((points, closed),) = subpaths("M0 0a10 10 0 0110 10", 1e-4)
    assert not closed
    assert np.hypot(points[:, 0], points[:, 1] - 10) == pytest.approx(np.full(len(points), 10.0), abs=1e-9)
    (large,) = subpaths("M0 0A10 10 0 1 1 10 10", 1e-4)
    assert np.hypot(large[0][:, 0] - 10, large[0][:, 1]) == pytest.approx(np.full(len(large[0]), 10.0), abs=1e-9)


def test_curves_meet_the_polynomial_that_defines_them() -> None:
    """Cubic Bézier by its Bernstein form; the smooth command mirrors the handle before it."""
    ((points, _),) = subpaths("M0,0 C0,10 10,10 10,0 S20-10 20 0", 1e-3)
    part = np.linspace(0, 1, 2001)
    curves = []
    for a, b, c, d in ((0, 10j, 10 + 10j, 10), (10, 10 - 10j, 20 - 10j, 20)):
        curves.append(a * (1 - part) ** 3 + 3 * b * part * (1 - part) ** 2 + 3 * c * part**2 * (1 - part) + d * part**3)
    truth = np.concatenate(curves)
    middles = (points[1:] + points[:-1]) / 2
    for each in (points, middles):
        off = np.abs(truth[None, :] - (each[:, 0] + 1j * each[:, 1])[:, None]).min(axis=1)
        assert off.max() < 8e-3


def test_short_commands_relative_moves_and_several_subpaths() -> None:
    found = subpaths("m1 1 2 0v3h-2zm10 0l1 1t1 1 q1 1 2 0", 0.01)
    assert found[0][1]
    assert found[0][0] == pytest.approx(np.array([[1, 1], [3, 1], [3, 4], [1, 4]]))
    assert found[1][0][0] == pytest.approx([11, 1])


def test_transforms_are_put_on_from_the_outside_in() -> None:
    """By hand: (1, 0) scaled by 2, turned by 90 degrees, moved by (5, 0) comes to (5, 2)."""
    assert matrix_of("translate(5) rotate(90),scale(2)") @ [1, 0, 1] == pytest.approx([5, 2, 1])
    assert matrix_of("rotate(180 3 4)") @ [0, 0, 1] == pytest.approx([6, 8, 1])
    inside = '<g transform="translate(10 0)"><g transform="scale(2)"><path d="M1 1h1"/></g></g><path d="M0 0h2"/>'
    first, second = drawn(inside)
    assert first == pytest.approx(np.array([[6, -1], [7, -1]]))
    assert second == pytest.approx(np.array([[0, 0], [1, 0]]))


def test_what_is_hidden_or_only_defined_is_not_drawn_and_what_cannot_be_is_told() -> None:
    inside = (
        '<defs><path d="M0 0h1"/></defs><g style="display: none"><g><path d="M0 0h2"/></g></g>'
        '<text x="1" y="1">ware</text><image href="x.png"/><path d="M0 0h4"/>'
    )
    found = read_svg(f"{HEAD}{inside}</svg>")
    assert len(found.lines) == 1
    assert any("words" in note for note in found.notes)
    assert any("picture" in note for note in found.notes)


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    '<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0h1"/><text>&b;</text></svg>'
)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        (BOMB, "entities"),
        (BOMB.encode("utf-16"), "entities"),
        ('<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]><svg>&x;</svg>', "entities"),
        (f"{HEAD}<script>alert(1)</script><path d='M0 0h1'/></svg>", "script"),
        (f"{HEAD}<path d='M0 0h1' onclick='alert(1)'/></svg>", "script"),
        (f"{HEAD}<defs><a href=' JavaScript:alert(1)'/></defs></svg>", "script"),
        (f"{HEAD}<foreignObject/></svg>", "web page"),
        (f"{HEAD}</svg>", "no lines"),
        (f"{HEAD}<text>words</text></svg>", "turn them into outlines"),
        (f"{HEAD}<path d='M0 0h'/></svg>", "path data"),
        (f"{HEAD}<path d='M0 0L1e99 3'/></svg>", "path data"),
        (f"{HEAD}<path d='L1 1'/></svg>", "path data"),
        (f"{HEAD}<path transform='fly(3)' d='M0 0h1'/></svg>", "transform"),
        ("a few words in a file", "not SVG"),
        (b"\xff\xd8\xff\xe0", "not SVG"),
        ("<html><body/></html>", "no SVG"),
        (HEAD + "<g>" * 200 + "</g>" * 200 + "</svg>", "too deep"),
        ("<svg>" + " " * 5_000_001, "5 MB"),
        ("", "not SVG"),
    ],
)
def test_files_that_mean_harm_or_hold_nothing_are_refused_in_words(text: str | bytes, match: str) -> None:
    with pytest.raises(Unreadable, match=match):
        read_svg(text)


def test_a_plain_doctype_without_entities_is_let_pass() -> None:
    plain = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    assert len(read_svg(f"{plain}{HEAD}<path d='M0 0h1'/></svg>").lines) == 1
