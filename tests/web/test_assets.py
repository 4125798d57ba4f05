import gzip
import re

import pytest

from app.domain.entities.meter import MeterKind
from app.services.entities import discharges
from app.settings import STATIC
from app.web.rendering.assets import STYLE_SHEETS
from tests.builders import NOW, discharge_details
from tests.tools.build_chart_library import version_of, version_of_the_judge
from tests.web.conftest import soup

pytestmark = pytest.mark.any_database


def test_the_chart_library_comes_packed_and_is_kept_for_good(client, tested):
    page = soup(client.get(f"/batteries/{tested.id}"))
    # The page does not load it; its script does, for a chart that somebody wants.
    assert not page.select("script[src*=chart-library]")
    (address,) = [s["data-library"] for s in page.select("script[data-library]")]
    response = client.get(address)
    assert response.headers["content-encoding"] == "gzip"
    assert "immutable" in response.headers["cache-control"]
    assert b"plotly" in response.content[:2000].lower()
    plain = client.get(address, headers={"Accept-Encoding": "identity"})
    assert plain.content == response.content
    assert len(gzip.compress(plain.content[:100000], 6)) < 100000


def test_the_chart_library_is_the_one_whose_package_builds_the_figures():
    ours = version_of((STATIC / "chart-library.js").read_text("utf-8"))
    assert ours == version_of_the_judge()


def test_the_chart_library_lies_beside_its_licence():
    assert "Permission is hereby granted" in (STATIC / "chart-library.licence.txt").read_text()
    assert "MIT license" in (STATIC / "chart-library.js").read_text("utf-8")[:500]


def test_the_chart_library_is_small_enough_for_a_slow_telephone():
    # 4.8 MB, all that the library can draw, took twice as long until a chart stood.
    assert (STATIC / "chart-library.js").stat().st_size < 1_600_000


def test_files_with_their_hash_in_the_address_are_kept_for_good(client):
    page = soup(client.get("/"))
    address = page.select_one("link[rel=stylesheet]")["href"]
    assert "immutable" in client.get(address).headers["cache-control"]
    assert client.get("/static/frame.css").headers["cache-control"] == "no-cache"


def test_every_page_has_all_style_sheets_in_their_order_as_one_file(client, tested):
    sheets = [(STATIC / name).read_text() for name in STYLE_SHEETS]
    for path in ("/", f"/batteries/{tested.id}", "/shared/no"):
        (link,) = soup(client.get(path)).select("link[rel=stylesheet]")
        assert client.get(link["href"]).text == "".join(sheets)
    # The colours before what uses them; last what takes back on other screens.
    assert (STYLE_SHEETS[0], STYLE_SHEETS[-1]) == ("tokens.css", "screens.css")


def test_a_file_to_send_carries_the_rules_that_it_uses_in_the_same_order(client, store, battery):
    discharges.add_discharge(store, battery.id, discharge_details(), MeterKind.SHUNT, NOW)
    page = soup(client.get(f"/batteries/{battery.id}/file.html"))
    sheets = "".join((STATIC / name).read_text() for name in (*STYLE_SHEETS, "file.css"))
    used, wanted, at = page.style.text.replace(" ", ""), 0, 0
    for selectors, declared in rules_of(sheets):
        matching = [one for one in selectors if matches(page, one)]
        if not matching:
            continue
        wanted += 1
        body = "{" + re.sub(r"\s", "", declared).removesuffix(";") + "}"
        at = used.index(body, at)
        while not all(one.replace(" ", "") in head_at(used, at) for one in matching):
            at = used.index(body, at + 1)
    assert wanted > 60
    assert len(page.style.text) < len(sheets) / 3


def rules_of(sheets):
    """The rules as they are laid out, those within others too, with the selectors of each."""
    laid_out = re.sub(r"/\*.*?\*/", "", sheets, flags=re.DOTALL)
    for before, within in re.findall(r"^ *([^{}@;]+?) \{\n([^{}]*)\}", laid_out, re.MULTILINE):
        # A comma within quotes or brackets parts no selectors.
        parts = re.split(r',\s*(?=(?:[^"]*"[^"]*")*[^"]*$)(?![^()"]*\))', before)
        yield [part.strip() for part in parts], within


def matches(page, selector):
    """Whether something on the page is in its place, whatever its state."""
    plain = re.sub(r"::?[\w-]+(\(([^()]|\([^()]*\))*\))?|\[open\]", "", selector).strip()
    return bool(re.match(r"[\w.#*\[]", plain)) and bool(
        page.select(re.sub(r"> *(?=$|>)", "", plain))
    )


def head_at(style, at):
    """What stands before the braces of a rule."""
    return style[max(style.rfind("}", 0, at), style.rfind("{", 0, at)) + 1 : at]


def test_no_style_sheet_lies_about_unused():
    beside = {"file.css", "print.css"}  # of a file to send, and of reports
    assert {path.name for path in STATIC.glob("*.css")} == {*STYLE_SHEETS} | beside


def test_each_style_sheet_is_served_as_one_and_kept_for_good(client):
    for link in soup(client.get("/")).select("link[rel=stylesheet]"):
        answer = client.get(link["href"])
        assert answer.status_code == 200, link
        assert answer.headers["content-type"].startswith("text/css")
        assert "immutable" in answer.headers["cache-control"]


def test_no_page_or_file_of_ours_names_another_server(client, tested):
    # What a browser would fetch, or follow: an address with its host, with or without a scheme.
    elsewhere = re.compile(r"""(?:https?:|(?<=["'(=]))//(?!127\.0\.0\.1|www\.w3\.org/)[\w.-]+""")
    own = [path.name for kind in ("*.css", "*.js") for path in STATIC.glob(kind)]
    own.remove("chart-library.js")
    files = [f"/static/{name}" for name in own]
    for path in ("/", f"/batteries/{tested.id}", "/discharges/1", *files):
        answer = client.get(path)
        assert answer.status_code == 200, path
        assert elsewhere.findall(answer.text) == [], path
    for text in (
        'src="//cdn.example/x.js"',
        "url(https://cdn.example/x.css)",
        "'http://a.example'",
    ):
        assert elsewhere.search(text)
