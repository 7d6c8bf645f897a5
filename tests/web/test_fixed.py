"""Scripts and sheets: compressed once, kept by browsers; a page without the others."""

import gzip
import re

import brotli
import pytest

from lightplan.web.app import create_app

BROWSER = {"Accept-Encoding": "gzip, deflate, br, zstd"}  # as Chromium sends it
SUITES = "/_dash-component-suites/"
UNVERSIONED = f"{SUITES}dash/dcc/async-graph.js"  # as Dash asks for it


@pytest.fixture(scope="module")
def client(app):
    return app.server.test_client()


@pytest.fixture(scope="module")
def sources(client):
    """Whatever the page has a browser ask for at an address with a version."""
    html = client.get("/").text
    found = re.findall(r'(?:src|href|content)="(/[^"]+)"', html)
    assert any("lightplan.js" in source for source in found)
    assert any("plotly" in source for source in found)
    return found


def test_what_has_a_version_in_its_address_is_kept_for_a_year(client, sources):
    # RFC 9111, 5.2.2.1 and 5.2.2.9; RFC 8246, 2: not even asked about again.
    for source in sources:
        with client.get(source, headers=BROWSER) as response:
            assert response.status_code == 200, source
            kept = set(response.headers["Cache-Control"].split(", "))
        assert kept == {"public", "max-age=31536000", "immutable"}, source


@pytest.fixture
def compressions(monkeypatch):
    """What was compressed, by whomever, into Brotli's format."""
    done, compressor = [], brotli.Compressor

    def counted(*arguments, **options):
        done.append(arguments)
        return compressor(*arguments, **options)

    monkeypatch.setattr(brotli, "Compressor", counted)  # brotli.compress uses it too
    return done


@pytest.mark.parametrize("path", [UNVERSIONED, "/assets/lightplan.css"])
def test_a_file_is_compressed_once_and_not_at_all_for_a_304(
    path, example_file, compressions
):
    client = create_app(str(example_file)).server.test_client()
    tags = set()
    for _ in range(3):
        with client.get(path, headers=BROWSER) as response:
            assert response.headers["Content-Encoding"] == "br"
            assert response.headers["Cache-Control"] == "no-cache"
            tags.add(response.headers["ETag"])
    (tag,) = tags
    with client.get(path, headers={**BROWSER, "If-None-Match": tag}) as again:
        assert (again.status_code, again.data) == (304, b"")
        # RFC 9110, 15.4.5: those of the 200 that a cache goes by.
        assert again.headers["ETag"] == tag
        assert again.headers["Cache-Control"] == "no-cache"
        assert "Accept-Encoding" in again.headers["Vary"]
    assert len(compressions) == 1


def test_a_file_is_the_same_however_it_is_sent(client):
    # RFC 9110, 12.5.3: by quality, of which 0 is "not acceptable".
    def sent(accepted):
        with client.get(UNVERSIONED, headers={"Accept-Encoding": accepted}) as response:
            return response.headers.get("Content-Encoding"), response.data

    (plain, text), (by_brotli, short), (by_gzip, other) = map(
        sent, ("identity", "br", "br;q=0, gzip")
    )
    assert (plain, by_brotli, by_gzip) == (None, "br", "gzip")
    assert text == brotli.decompress(short) == gzip.decompress(other)


def test_a_page_carries_no_other_pages(client):
    # Its HTML, its layout, its callbacks; once they were 620 kB, most of it the
    # other pages' components.
    parts = ("/", "/_dash-layout", "/_dash-dependencies")
    sizes = [len(client.get(part).data) for part in parts]
    assert sizes[0] < 20_000
    assert sum(sizes) < 140_000
