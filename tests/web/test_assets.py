import gzip

from tests.web.conftest import soup


def test_the_chart_library_comes_from_the_installed_package_packed_and_kept(client, tested):
    page = soup(client.get(f"/batteries/{tested.id}"))
    (address,) = [s["src"] for s in page.select("script[src]") if "chart-library" in s["src"]]
    response = client.get(address)
    assert response.headers["content-encoding"] == "gzip"
    assert "immutable" in response.headers["cache-control"]
    assert b"plotly" in response.content[:2000].lower()
    plain = client.get(address, headers={"Accept-Encoding": "identity"})
    assert plain.content == response.content
    assert len(gzip.compress(plain.content[:100000], 6)) < 100000


def test_files_with_their_hash_in_the_address_are_kept_for_good(client):
    page = soup(client.get("/"))
    address = page.select_one("link[rel=stylesheet]")["href"]
    assert "immutable" in client.get(address).headers["cache-control"]
    assert client.get("/static/fadeline.css").headers["cache-control"] == "no-cache"


def test_no_page_or_file_of_ours_names_another_server(client, tested):
    for path in ("/", f"/batteries/{tested.id}", "/discharges/1", "/static/chart.js"):
        text = client.get(path).text.replace("http://127.0.0.1", "").replace("www.w3.org", "")
        assert "//" not in text.replace("// ", "").replace("http://www", "") or "http" not in text
