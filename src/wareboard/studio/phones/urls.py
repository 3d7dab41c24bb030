"""Where the pages about phones and people stand, and the ways in."""

from __future__ import annotations

from django.urls import path

from wareboard.studio.phones import phone_pages, sign_in_pages

urlpatterns = [
    path("sign-in/", sign_in_pages.sign_in, name="sign-in"),
    path("sign-out/", sign_in_pages.sign_out, name="sign-out"),
    path("own-password/", sign_in_pages.own_password, name="own-password"),
    path("join/<str:code>/", sign_in_pages.join, name="join"),
    path("trust/", phone_pages.trust, name="trust"),
    path("trust/wareboard-workshop.crt", phone_pages.trust_certificate, name="trust-certificate"),
    path("phones/", phone_pages.phones, name="phones"),
    path("phones/add/", phone_pages.add_person, name="add-person"),
    path("phones/ask-here/", phone_pages.ask_here, name="ask-here"),
    path("phones/people/<int:pk>/", phone_pages.change_person, name="change-person"),
    path("phones/people/<int:pk>/invite/", phone_pages.invite, name="invite"),
    path("phones/<int:pk>/sign-out/", phone_pages.sign_out_phone, name="sign-out-phone"),
]
