"""Pages, forms, downloads and the JSON interface.

A request passes `security.middleware` (who asks, and may they), waits for its turn where it looks
at a page (`page_turns`), then a route. A route reads its form (forms), calls one use case
(services) and puts what comes back into a frozen page dataclass beside it, which `rendering` shows
with its template. Every page is made anew at each visit; what it is computed from is kept
(`services.record_state`), and so is a chart that was drawn (`rendering.drawn_charts`). Errors
become statuses in `rendering.error_pages` alone. A refusal names the field or row, the value and
the allowed range, keeps what was typed and stores nothing.

Addresses: use url_for in templates and `path_to` elsewhere. Both keep the prefix of the example;
the framework's own request.url_for does not. A request is judged by `app.web.request`, never by an
address that is made from its Host header.
"""
