"""Template words of the kiln pages: temperatures, differences and rates in the degrees that the page is shown in."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.safestring import SafeString

from wareboard.book.boards.models import Board
from wareboard.studio.kilns import degrees as turned
from wareboard.studio.templatetags.studio_words import figure
from wareboard.working import Step
from wareboard.working import signed as with_sign

register = template.Library()


def _degrees(context: dict[str, Any]) -> str:
    return str(context.get("degrees") or turned.C)


@register.simple_tag(takes_context=True)
def level(context: dict[str, Any], celsius: float) -> str:
    """A temperature."""
    return turned.level(celsius, _degrees(context))


@register.simple_tag(takes_context=True)
def span(context: dict[str, Any], celsius: float) -> str:
    """A difference of temperatures."""
    return turned.span(celsius, _degrees(context))


@register.simple_tag(takes_context=True)
def signed_span(context: dict[str, Any], celsius: float) -> str:
    """A difference with its sign."""
    return turned.signed_span(celsius, _degrees(context))


@register.simple_tag(takes_context=True)
def span_range(context: dict[str, Any], low: float, high: float) -> str:
    """Two ends of a difference."""
    shown = _degrees(context)
    return f"{turned.span(low, shown).split(' ')[0]} to {turned.span(high, shown)}"


@register.simple_tag(takes_context=True)
def figure_span(context: dict[str, Any], step: Step, shown: object = "") -> SafeString | str:
    """A difference with its working one click away."""
    return figure(context, turned.step_in(step, _degrees(context)), shown)


@register.filter
def in_degrees(words: str, degrees: str = "") -> str:
    """Words with every temperature in them turned."""
    return turned.in_degrees(str(words), degrees or turned.C)


@register.filter
def signed(value: float, places: int = 0) -> str:
    """A figure with its sign."""
    return with_sign(value, places)


@register.inclusion_tag("kilns/_into_firing.html", takes_context=True)
def into_firing(context: dict[str, Any], board: Board, key: str) -> dict[str, Any]:
    """The firings that a board may be tapped into, where it is ready for a kiln or stands in one."""
    from wareboard.book.boards.stages import IN_KILN
    from wareboard.book.firings.loading import boards_in_any
    from wareboard.studio.kilns.loading_pages import offered

    in_kiln = board.state == IN_KILN
    can_tie = board.pieces > 0 and (in_kiln or bool(context.get("can_load")))
    since = board.state_since or board.since
    tied = [each for each in boards_in_any(board) if in_kiln and each.written >= since]
    return {
        "request": context.get("request"),
        "csrf_token": context.get("csrf_token"),
        "board": board,
        "key": key,
        "can_tie": can_tie,
        "offered": offered(board) if can_tie else [],
        "tied": tied,
    }
