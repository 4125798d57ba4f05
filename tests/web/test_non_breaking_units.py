"""A number and its unit stay on one line, and a day and its month."""

import re

import pytest

from app.web.rendering.non_breaking_units import non_breaking


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("<p>188.8 Ah, ± 3.1 Ah</p>", "<p>188.8~Ah, ±~3.1~Ah</p>"),
        ("25 ± 5 °C, 188,8 ± 4,5 Ah", "25~±~5~°C, 188,8~±~4,5~Ah"),
        ("1 Nov 2026 to 28. Mär 2027", "1~Nov~2026 to 28.~Mär~2027"),
        ("am 1. November 2026 und im May", "am 1.~November 2026 und im May"),
        ("<b>9,6</b> Ah im Jahr", "<b>9,6</b>~Ah im Jahr"),
        ("80 % of 12 Ahead, 5 Amps", "80~% of 12 Ahead, 5 Amps"),
        ('<input value="9 A" title="1 > 0, 8 V">', '<input value="9 A" title="1 > 0, 8 V">'),
        ("<pre>9 A</pre><textarea>5 V</textarea>", "<pre>9 A</pre><textarea>5 V</textarea>"),
    ],
)
def test_only_what_is_read_is_joined(written, shown):
    written = written.replace("1 > 0", "1 &gt; 0")
    assert non_breaking(written) == shown.replace("1 > 0", "1 &gt; 0").replace("~", "\u00a0")


@pytest.mark.parametrize("language", ["en", "de"])
def test_no_page_parts_a_number_from_its_unit(client, tested, language):
    for path in (f"/batteries/{tested.id}", "/discharges/1", "/"):
        page = client.get(path, headers={"Accept-Language": language}).text
        main = page[page.index("<main") : page.index("</main>")]
        read = re.sub(r"<(svg|script|pre|code)\b.*?</\1>|<[^>]*>", "", main, flags=re.DOTALL)
        assert "\u00a0Ah" in read, path
        assert re.findall(r"\d Ah\b", read) == [], path
