"""Where each page stands."""

from __future__ import annotations

from django.urls import include, path

from wareboard.studio import (
    commission_pages,
    editing,
    failures,
    form_patterns,
    form_round,
    from_drawing,
    from_photograph,
    history,
    lists,
    looks,
    outline_into,
    sheet_pages,
    starting,
    workshop_pages,
)
from wareboard.studio.prototypes import approval_pages, art_pages, tile_pages

urlpatterns = [
    path("", lists.commissions, name="commissions"),
    path("put-away/", lists.those_put_away, name="those-put-away"),
    path("glance/<str:code>/", lists.glance, name="glance"),
    path("start/", starting.four_numbers, name="four-numbers"),
    path("start/from-a-photograph/", from_photograph.from_photograph, name="from-a-photograph"),
    path("start/from-a-drawing/", from_drawing.from_a_drawing, name="from-a-drawing"),
    path("start/from-a-file/", starting.from_a_file, name="from-a-file"),
    path("look/", looks.choose_look, name="choose-look"),
    path("", include("wareboard.studio.phones.urls")),
    path("bench/", include("wareboard.studio.bench.urls")),
    path("kilns/", include("wareboard.studio.kilns.urls")),
    path("glazes/", include("wareboard.studio.glazes.urls")),
    path("learned/", include("wareboard.studio.learned.urls")),
    path("pieces/", include("wareboard.studio.after.urls")),
    path("workshop/", workshop_pages.workshop, name="workshop"),
    path("workshop/text/", workshop_pages.workshop_text, name="workshop-text"),
    path("workshop/history/", workshop_pages.workshop_history, name="workshop-history"),
    path("workshop/history/<str:move>/", workshop_pages.workshop_move, name="workshop-move"),
    path("workshop/backup/", workshop_pages.download_backup, name="download-backup"),
    path("commissions/<str:code>/", commission_pages.answers, name="answers"),
    path("commissions/<str:code>/edit/", editing.edit, name="edit"),
    path("commissions/<str:code>/text/", editing.edit_text, name="edit-text"),
    path("commissions/<str:code>/history/", history.history, name="history"),
    path("commissions/<str:code>/history/<int:number>/", history.one_version, name="one-version"),
    path("commissions/<str:code>/history/<str:move>/", history.move, name="move"),
    path("commissions/<str:code>/brief.toml", history.export, name="export"),
    path("commissions/<str:code>/calendar.ics", commission_pages.calendar_file, name="calendar-file"),
    path("tiles/", tile_pages.tiles, name="colour-tiles"),
    path("tiles/<int:pk>/<str:move>/", tile_pages.tile_move, name="colour-tile-move"),
    path("commissions/<str:code>/art/<str:kind>/", art_pages.art, name="art"),
    path("commissions/<str:code>/art/<str:kind>/worked/", art_pages.worked_out, name="art-worked"),
    path("commissions/<str:code>/art/<str:kind>/sheet.pdf", art_pages.art_sheet, name="art-sheet"),
    path("commissions/<str:code>/approval/", approval_pages.approval, name="approval"),
    path("commissions/<str:code>/sheets/", sheet_pages.sheets, name="sheets"),
    path("commissions/<str:code>/sheets/all.zip", sheet_pages.all_sheets, name="all-sheets"),
    path("commissions/<str:code>/sheets/<path:name>", sheet_pages.one_sheet, name="one-sheet"),
    path("prints/<int:pk>/<str:move>/", form_patterns.measured_move, name="print-measured"),
    path("commissions/<str:code>/forms/<str:form>/patterns/", form_patterns.patterns, name="form-patterns"),
    path(
        "commissions/<str:code>/forms/<str:form>/patterns/print.pdf",
        form_patterns.patterns_pdf,
        name="form-patterns-pdf",
    ),
    path(
        "commissions/<str:code>/forms/<str:form>/patterns/gauge.pdf",
        form_patterns.gauge_sheet_pdf,
        name="form-gauge-pdf",
    ),
    path(
        "commissions/<str:code>/forms/<str:form>/patterns/<str:name>.svg",
        form_patterns.pattern_svg,
        name="form-pattern-svg",
    ),
    path("commissions/<str:code>/forms/<str:form>/round/", form_round.in_the_round, name="form-round"),
    path("commissions/<str:code>/forms/<str:form>/round/picture.svg", form_round.picture, name="form-picture"),
    path("commissions/<str:code>/forms/<str:form>/outline/", outline_into.form_outline, name="form-outline"),
    path("commissions/<str:code>/forms/<str:form>/<str:stage>.<str:kind>", form_round.solid_file, name="form-solid"),
    path("commissions/<str:code>/<str:page>/", commission_pages.section, name="section"),
]
handler404 = failures.not_found
handler500 = failures.broke
