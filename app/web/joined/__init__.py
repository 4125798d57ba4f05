"""A phone that joins a running test: it sees this one test, notes into it, and ends it.

`invitation` is the owner's side: the button that shows a code, and the buttons that end phones.
The rest is served on the network alone (app/server/network_application.py), never among the
owner's pages. `arrival` takes a code; `run_pages` are the pages of a run, made by the functions of
`pages.runs` and `pages.run_questions`. Only what stands in its list exists for a phone: no feed's
word, no other run, no page of the owner. `phone_guard` keeps every route of it and looks, at each
request, whether the phone is (still) in this very test.

Decisions: A code is used up by a form and not by opening its address, because previews and camera
apps fetch addresses; a script sends the form as soon as somebody sees the page. The phone's cookie
is bound to the path of its run and lasts longer than any test; it is SameSite=Lax, so that the
address opens from a bookmark or a message too, while every write is checked by Origin,
Sec-Fetch-Site and the token of its form. It hangs on no network address: a phone that slept or
moved goes on. A session is over with the test, also where the test is given up; whoever takes that
up again lets the phones join again, as with a feed. It survives a restart, and the phone's page
works again once the network is opened at the same address and port.
"""
