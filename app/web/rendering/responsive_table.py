"""Tables whose rows become cards on a telephone, by the style sheet alone."""

import re

from markupsafe import Markup

_HEADS = re.compile(r'<th scope="col"[^>]*>(.*?)</th>', re.DOTALL)
# With the line ends that templates leave between rows and cells, where nobody sees them.
_ROW = re.compile(r"\s*<tr\b([^>]*)>(.*?)\s*</tr>", re.DOTALL)
_CELL = re.compile(r"\s*<t([hd])\b([^>]*)>")
_CELL_END = re.compile(r"\s+(?=</t[hd]>)")
_TAGS = re.compile(r"<[^>]+>")
_SPAN = re.compile(r'colspan="(\d+)"')


def stacked(table: Markup, named: bool = True) -> Markup:
    """The table of a template with the heading of its column at every cell, where a card shows
    it, unless it is not named; and with the roles of a table spelled out, because some browsers
    forget them for what is not laid out as one.
    """
    head, end, body = str(table).partition("</thead>")
    names = [_TAGS.sub("", text).strip() if named else "" for text in _HEADS.findall(head)]
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

    cells = _CELL.sub(cell, _CELL_END.sub("", row[2]))
    return f'\n<tr role="row"{row[1]}>{cells}</tr>'
