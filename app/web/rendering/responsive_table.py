"""Tables whose rows become cards on a telephone, by the style sheet alone."""

import re

from markupsafe import Markup

_HEADS = re.compile(r'<th scope="col"[^>]*>(.*?)</th>', re.DOTALL)
_ROW = re.compile(r"<tr\b([^>]*)>(.*?)</tr>", re.DOTALL)
_CELL = re.compile(r"<t([hd])\b([^>]*)>")
_TAGS = re.compile(r"<[^>]+>")
_SPAN = re.compile(r'colspan="(\d+)"')


def stacked(table: Markup) -> Markup:
    """The table of a template with the heading of its column at every cell, where a card shows
    it; and with the roles of a table spelled out, because some browsers forget them for what is
    not laid out as one.
    """
    head, end, body = str(table).partition("</thead>")
    names = [_TAGS.sub("", text).strip() for text in _HEADS.findall(head)]
    head = head.replace("<tr>", '<tr role="row">').replace("<th ", '<th role="columnheader" ')
    opened = _table_opened(head).replace("<thead>", '<thead role="rowgroup">')
    rows = _ROW.sub(lambda row: _row(row, names), body)
    return Markup(opened + end + rows.replace("<tbody>", '<tbody role="rowgroup">'))  # noqa: S704


def _table_opened(head: str) -> str:
    if 'class="' in head.partition(">")[0]:
        return head.replace('<table class="', '<table role="table" class="stacked ', 1)
    return head.replace("<table", '<table role="table" class="stacked"', 1)


def _row(row: re.Match[str], names: list[str]) -> str:
    at = 0

    def cell(found: re.Match[str]) -> str:
        nonlocal at
        kind, given = found.groups()
        span = _SPAN.search(given)
        name, at = names[at], at + (int(span[1]) if span else 1)
        if kind == "h":
            return f'<th role="rowheader"{given}>'
        said = "" if span or not name else f' data-head="{name}"'
        return f'<td role="cell"{said}{given}>'

    return f'<tr role="row"{row[1]}>{_CELL.sub(cell, row[2])}</tr>'
