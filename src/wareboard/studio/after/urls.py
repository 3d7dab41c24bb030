"""Where each page of the finished pieces stands."""

from __future__ import annotations

from django.urls import path

from wareboard.studio.after import (
    claim_pages,
    clay_pages,
    invoice_pages,
    match_pages,
    packing_pages,
    piece_pages,
    portfolio_pages,
    reorder_pages,
    trace_pages,
    went_pages,
)

urlpatterns = [
    path("", piece_pages.overview, name="pieces"),
    path("find/", piece_pages.find, name="find-piece"),
    path("clay/", clay_pages.lots, name="clay-lots"),
    path("clay/<int:pk>/", clay_pages.lot, name="clay-lot"),
    path("clay/<int:pk>/<str:move>/", clay_pages.lot_move, name="clay-lot-move"),
    path("trace/<str:kind>/<str:key>/", trace_pages.trace, name="trace-all"),
    path("trace/<str:kind>/<str:key>/pieces.csv", trace_pages.trace_csv, name="trace-csv"),
    path("claims/", claim_pages.claims, name="claims"),
    path("claims/<int:pk>/", claim_pages.claim, name="claim"),
    path("claims/<int:pk>/<str:move>/", claim_pages.claim_move, name="claim-move"),
    path("<str:code>/", piece_pages.of_commission, name="pieces-of"),
    path("<str:code>/new/", piece_pages.new_piece, name="new-piece"),
    path("<str:code>/match/", match_pages.match, name="match"),
    path("<str:code>/packing/", packing_pages.packing, name="packing"),
    path("<str:code>/packing.pdf", packing_pages.packing_paper, name="packing-paper"),
    path("<str:code>/delivery-note.pdf", packing_pages.delivery_note, name="delivery-note"),
    path("<str:code>/care-card.pdf", packing_pages.care_card, name="care-card"),
    path("<str:code>/invoices/", invoice_pages.invoices, name="invoices"),
    path("<str:code>/invoices/<int:number>/", invoice_pages.invoice, name="invoice"),
    path("<str:code>/invoices/<int:number>/invoice.pdf", invoice_pages.invoice_paper, name="invoice-paper"),
    path("<str:code>/portfolio/", portfolio_pages.portfolio, name="portfolio"),
    path("<str:code>/how-it-went/", went_pages.how_it_went, name="how-it-went"),
    path("<str:code>/how-it-went.pdf", went_pages.how_it_went_paper, name="how-it-went-paper"),
    path("<str:code>/again/", reorder_pages.again, name="order-again"),
    path("<str:code>/as-made/", reorder_pages.made_as, name="made-as"),
    path("<str:code>/delivered/", piece_pages.delivered, name="pieces-delivered"),
    path("<str:code>/<int:number>/", piece_pages.piece, name="piece"),
    path("<str:code>/<int:number>/change/", piece_pages.change_piece, name="change-piece"),
    path("<str:code>/<int:number>/photo/", piece_pages.photo, name="piece-photo"),
    path("<str:code>/<int:number>/photo/<int:pk>/<str:move>/", piece_pages.photo_move, name="piece-photo-move"),
    path("<str:code>/<int:number>/claim/", claim_pages.new_claim, name="new-claim"),
    path("<str:code>/<int:number>/<str:move>/", piece_pages.piece_move, name="piece-move"),
]
