"""Where each page of the kilns stands."""

from __future__ import annotations

from django.urls import path

from wareboard.studio.kilns import (
    firing_pages,
    kiln_pages,
    load_pages,
    loading_pages,
    name_pages,
    offset_pages,
    page,
    schedule_pages,
    sheet_pages,
)

FIRING = "<str:slug>/firings/<int:number>/"
urlpatterns = [
    path("", kiln_pages.overview, name="kilns"),
    path("files/<int:pk>/", kiln_pages.kept_file, name="kept-file"),
    path("degrees/", page.choose_degrees, name="kiln-degrees"),
    path("into-firing/", loading_pages.into_firing, name="into-firing"),
    path("trace/<str:code>/", loading_pages.trace, name="trace-board"),
    path("schedule/", schedule_pages.schedule, name="schedule"),
    path("schedule/segments.csv", schedule_pages.schedule_csv, name="schedule-csv"),
    path("schedule/card.pdf", schedule_pages.schedule_card, name="schedule-card"),
    path("load/<str:code>/<str:kind>/<int:number>/", load_pages.moved_load, name="moved-load"),
    path("load/<str:code>/<str:kind>/<int:number>/map.pdf", load_pages.load_map, name="load-map"),
    path("load/<str:code>/<str:kind>/<int:number>/<str:move>/", load_pages.load_move, name="load-move"),
    path("<str:slug>/", kiln_pages.one_kiln, name="one-kiln"),
    path("<str:slug>/record.pdf", sheet_pages.record_sheet, name="record-sheet"),
    path("<str:slug>/log.pdf", sheet_pages.log_page, name="log-page"),
    path("<str:slug>/name/<str:move>/", name_pages.name_move, name="kiln-name-move"),
    path("<str:slug>/offsets/", offset_pages.kiln_offsets, name="kiln-offsets"),
    path("<str:slug>/offsets/count/", offset_pages.count_firings, name="count-firings"),
    path("<str:slug>/offsets/<int:pk>/<str:move>/", offset_pages.count_reading, name="count-reading"),
    path("<str:slug>/parts/", kiln_pages.parts, name="parts"),
    path("<str:slug>/parts/<int:pk>/<str:move>/", kiln_pages.parts_move, name="parts-move"),
    path("<str:slug>/firings/new/", firing_pages.new_firing, name="new-firing"),
    path(FIRING, firing_pages.firing, name="firing"),
    path(f"{FIRING}change/", firing_pages.change_firing, name="change-firing"),
    path(f"{FIRING}cones/", firing_pages.cones, name="cones"),
    path(f"{FIRING}log/", firing_pages.take_in_log, name="take-in-log"),
    path(f"{FIRING}log/<int:pk>/<str:move>/", firing_pages.log_move, name="log-move"),
    path(f"{FIRING}boards/", loading_pages.boards_of_firing, name="boards-of-firing"),
    path(f"{FIRING}boards/<int:pk>/out/", loading_pages.board_out, name="board-out"),
    path(f"{FIRING}history/", firing_pages.history, name="firing-history"),
    path(f"{FIRING}<str:move>/", firing_pages.move, name="firing-move"),
]
