"""Every page that links lead to from the demo, on a phone: within its width, with one title, every box named."""

from __future__ import annotations

import re
from urllib.parse import urljoin, urlsplit

import pytest

from tests.studio.test_browser import browser, visit
from wareboard.book import keeping
from wareboard.studio.today import now

__all__ = ["browser", "visit"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PHONE = (390, 844)
FILES = re.compile(r"\.(pdf|zip|csv|svg|png|jpg|toml|ics|glb|stl|json)$|/backup/$")
# Of pages alike but for a code or a number two are enough.
ALIKE = re.compile(r"\d+|(?<=/forms/)[^/]+|(?<=/blends/new/)[^/]+")
LOOK = """() => {
  const said = document.body.innerText, of = sel => [...document.querySelectorAll(sel)];
  const named = el => el.labels?.length || el.getAttribute('aria-label') || el.getAttribute('aria-labelledby');
  const room = el => el.closest('.table-room, .strip, .drawing, pre, textarea, .blend-rows, .side-by-side, .run-chart');
  return {
    over: document.documentElement.scrollWidth - innerWidth,
    titles: of('h1').length,
    nameless: of('input:not([type=hidden]), select, textarea').filter(el => !named(el)).length,
    gaps: said.match(/\\bnan\\b|undefined|\\{\\{|\\{%/g) || [],
    cut: of('main button, main .button, main h1, main h2, main h3, main td, main dd').filter(el => !room(el)
      && el.getBoundingClientRect().width && el.getBoundingClientRect().right > innerWidth + 1)
      .map(el => el.outerHTML.slice(0, 90)),
    links: of('a[href]').map(a => a.getAttribute('href')),
  };
}"""


def test_every_page_is_whole_and_within_a_phone(visit, demo_text: str) -> None:  # type: ignore[no-untyped-def]
    keeping.new_commission(demo_text, "Demo", why="Begun", who="", when=now())
    page = visit("/", size=PHONE)
    todo, seen, often, wrong = ["/"], {"/"}, dict[str, int](), []
    titles: dict[str, str] = {}
    while todo:
        here = todo.pop(0)
        status = page.goto(here).status
        found = page.evaluate(LOOK)
        links = found.pop("links")
        if status != 200 or found != {"over": 0, "titles": 1, "nameless": 0, "gaps": [], "cut": []}:
            wrong.append((here, status, found))
        titles.setdefault(page.title(), here)
        for link in links:
            there = urljoin(here, link).split("#")[0]
            kind = ALIKE.sub("*", urlsplit(there).path)
            if there in seen or FILES.search(urlsplit(there).path) or urlsplit(there).netloc or often.get(kind, 0) > 1:
                continue
            seen.add(there)
            often[kind] = often.get(kind, 0) + 1
            todo.append(there)
    assert wrong == []
    assert len(seen) > 60
    assert "Wareboard · Wareboard" not in titles
