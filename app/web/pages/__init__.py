"""One module a noun: its routes, and the frozen dataclass that each template gets.

Templates run with StrictUndefined, and tests/web/test_pages.py checks that each field of a page
dataclass is used. A page is closed to everybody but the owner unless its path is in `OPEN_PATHS`
(`security.owners_door`), and it is made anew each time unless its route calls `keep`.

`example` opens the invented scenario below /example: a second application with a store of its own,
behind the same `SecurityMiddleware`, which sees the whole address. So a shared link of the example
is not open to other devices. A test follows its links and fails for one that leaves it.

Everybody can use a page (WCAG 2.2 AA): tests/browser/every_page.py lists every page in every state
that looks different, an empty list and a refusal too. Each is looked at by axe-core, at four
widths, in every look, with targets of 44 px, an empty console and no request to elsewhere. On the
page of a running test only [data-told] speaks by itself; a countdown must not.
"""
