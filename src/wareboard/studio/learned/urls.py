"""Where each page of what was learned stands."""

from __future__ import annotations

from django.urls import path

from wareboard.studio.learned import next_plan, pages

urlpatterns = [
    path("", pages.learned, name="learned"),
    path("times/", pages.times, name="learned-times"),
    path("times/<int:pk>/<str:move>/", pages.time_move, name="learned-time-move"),
    path("next-plan/", next_plan.next_plan, name="learned-next"),
    path("figure/<path:key>/", pages.one_figure, name="learned-figure"),
]
