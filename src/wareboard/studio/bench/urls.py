"""Where each page of the bench stands. Codes of boards end in a figure, so none can be one of these words."""

from __future__ import annotations

from django.urls import path

from wareboard.studio.bench import (
    begin_pages,
    board_pages,
    entry_pages,
    offline_pages,
    paper_pages,
    photo_pages,
    shelf_pages,
    ticks_page,
    timer_pages,
    today_page,
)

urlpatterns = [
    path("", board_pages.bench, name="bench"),
    path("begin/", begin_pages.begin, name="bench-begin"),
    path("begin/<str:code>/", begin_pages.begin, name="bench-begin-for"),
    path("act/", entry_pages.act, name="bench-act"),
    path("entries/", entry_pages.entries, name="bench-entries"),
    path("token/", entry_pages.token, name="bench-token"),
    path("name/", entry_pages.name, name="bench-name"),
    path("waiting/", entry_pages.waiting, name="bench-waiting"),
    path("waiting/<int:pk>/", entry_pages.settle, name="bench-settle"),
    path("offline.js", offline_pages.worker, name="bench-worker"),
    path("bench.webmanifest", offline_pages.manifest, name="bench-manifest"),
    path("away/", offline_pages.away, name="bench-away"),
    path("timers/", timer_pages.timers, name="bench-timers"),
    path("timers/<int:pk>/stop/", timer_pages.stop, name="bench-timer-stop"),
    path("photos/", photo_pages.take, name="bench-take-photo"),
    path("photos/<int:pk>/away/", photo_pages.put_away, name="bench-photo-away"),
    path("photos/<int:pk>/<str:which>.jpg", photo_pages.picture, name="bench-picture"),
    path("today/", today_page.today, name="bench-today"),
    path("today/today.pdf", today_page.today_paper, name="bench-today-paper"),
    path("today/ticks/", ticks_page.ticks, name="bench-ticks"),
    path("today/give/", today_page.give, name="bench-give"),
    path("today/tick/", today_page.tick, name="bench-tick"),
    path("today/tick/<int:pk>/back/", today_page.untick, name="bench-untick"),
    path("paper/", paper_pages.paper, name="bench-paper"),
    path("paper/tags.pdf", paper_pages.tags, name="bench-tags"),
    path("paper/tally.pdf", paper_pages.tally, name="bench-tally"),
    path("paper/begin.pdf", paper_pages.begin_form, name="bench-begin-form"),
    path("paper/choose/", paper_pages.choose, name="bench-choose"),
    path("paper/sheets/<int:pk>/undo/", paper_pages.undo_whole, name="bench-undo-sheet"),
    path("paper/things.pdf", paper_pages.things, name="bench-things"),
    path("paper/marks/", paper_pages.marks, name="bench-marks"),
    path("shelf/<int:number>/", shelf_pages.shelf, name="bench-shelf"),
    path("<str:code>/", board_pages.board, name="bench-board"),
    path("<str:code>/photographs/", photo_pages.photographs, name="bench-photographs"),
    path("<str:code>/history/", board_pages.board_history, name="bench-history"),
]
