"""Who may ask what, and how much at once.

tests/web/SECURITY.md names the tests that attack each door.

`middleware` stands before all routes of an application, the example too: it adds the headers, logs,
and asks the door of its application who may ask what. `owners_door` is that of the owner's pages.
It asks `requester` who asks: somebody at the machine itself, a device that signed in, or a
stranger. The scope then says whether the owner asks (`OWNER`) and by which sign-in (`SECRET`).
Every path is closed to strangers except those in `OPEN_PATHS`, /health, /sign-in, and the feed of a
run with its own token, which takes 2 MB at once. `network_door` is that of the application on the
network, which has nothing of the owner's: it refuses foreign names and writes from elsewhere
(`cross_site`). `unread` refuses before anything is read.
`login_throttle` slows attempts, and locks nobody out. `body_timeout` hangs up on slow senders;
app/server/header_timeout.py does so before there is a request. `access_log` writes one line a
request, without secrets.

`posted_pages`: A page that answers a form is kept, and the browser of the owner is sent on to it
(303): going back finds it, with its status. A program that does not ask for text/html gets the page
at once. A page that is shown once sets Cache-Control itself and is not kept.

`heavy_work`: Photos, long tables and received files take up to 200 MB each. An endpoint says
@heavy() or @heavy(when); two run at a time and the others wait on the event loop, not in one of the
forty threads that answer everything else. After a minute a waiting request gets 503 with
Retry-After. Exports and restores take long but little memory, so they do not wait there.

Decisions: `Origin` alone would do in browsers of today; SameSite, Sec-Fetch-Site and a token in
each form stand behind it, because ASVS asks for one, it costs no line in any template
(`CsrfFields`), and it does not depend on a proxy that leaves headers alone. At the machine itself
there is neither sign-in nor token: Origin, Sec-Fetch-Site and the host name are checked. script-src
is 'self'. Styles keep 'unsafe-inline', because the chart library writes a style element whose
content changes with its version (hashes were tried). A file to send carries a policy of its own, by
which it may load nothing.
"""
