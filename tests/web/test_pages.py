"""What all pages share: the list of sites, papers, security, errors, templates."""

from pathlib import Path

import html5lib
import pytest

from app.web.render import TEMPLATES

TEMPLATE_NAMES = sorted(path.name for path in (Path(__file__).parents[2] / "templates").rglob("*.html"))
PAGES = [
    "/", "/about", "/bearing", "/bearing?place=54.57,-3.13&date=2027-09-18&bearing=268", "/sites/new", "/sites/merrowmere-boathouse",
    "/sites/ternevag-quay", "/sites/sandpiper-bay", "/sites/quinta-da-alvorinha", "/sites/merrowmere-boathouse/ground", "/sites/merrowmere-boathouse/terrain",
    "/sites/merrowmere-boathouse/new-setup", "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty",
    "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/2027-09-18",
    "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/year/2027",
    "/sites/merrowmere-boathouse/new-feature?role=water", "/sites/merrowmere-boathouse/features/water-merrowmere",
    "/sites/merrowmere-boathouse/features/survey-skyline-from-the-jetty", "/sites/nowhere",
]  # fmt: skip


def test_each_site_is_listed_with_its_next_good_window(client):
    listed = {one.kept.slug: one.coming for one in client.get("/").context["sites"]}
    assert set(listed) == {"merrowmere-boathouse", "quinta-da-alvorinha", "sandpiper-bay", "ternevag-quay"}
    for coming in listed.values():
        assert coming.window.minutes >= 5 and coming.window.best_fit >= 0.25


@pytest.mark.parametrize("address", PAGES)
def test_markup_is_well_formed_with_ids_of_their_own(client, address):
    page = client.get(address)
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(page.text)
    assert [error for error in parser.errors if error[1] != "unexpected-end-tag-treated-as"] == []
    ids = [element.get("id") for element in html5lib.parse(page.text, namespaceHTMLElements=False).iter() if element.get("id")]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("address", PAGES)
def test_pages_keep_to_the_content_policy(client, address):
    """No inline script, style or handler, and nothing asked of another host."""
    page = client.get(address)
    tree = html5lib.parse(page.text, namespaceHTMLElements=False)
    for element in tree.iter():
        if not isinstance(element.tag, str):
            continue
        names = {name for name in element.attrib if isinstance(name, str)}
        assert "style" not in names and not any(name.startswith("on") for name in names)
        assert element.tag != "script" or element.get("src") or element.get("type") == "application/json"
        assert element.tag != "style"
    policy = page.headers["content-security-policy"]
    assert "default-src 'self'" in policy and "unsafe" not in policy
    assert page.headers["referrer-policy"] == "same-origin"
    assert page.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("name", TEMPLATE_NAMES)
def test_every_template_compiles(name):
    assert TEMPLATES.env.get_template(name)


def test_no_template_trusts_text_as_markup():
    folder = Path(__file__).parents[2] / "templates"
    assert not [path.name for path in folder.rglob("*.html") if "|safe" in path.read_text().replace(" ", "")]


def test_a_paper_is_kept_and_an_unknown_one_refused(client):
    answer = client.post("/papers", data={"paper": "glare"}, headers={"referer": "http://testserver/about?x=1"}, follow_redirects=False)
    assert answer.status_code == 303 and answer.headers["location"] == "/about?x=1"
    assert 'class="paper-glare"' in client.get("/").text
    assert client.post("/papers", data={"paper": "newsprint"}).status_code == 422


@pytest.mark.parametrize("headers,status", [
    ({}, 303),
    ({"origin": "http://testserver"}, 303),
    ({"sec-fetch-site": "same-origin"}, 303),
    ({"sec-fetch-site": "cross-site", "origin": "http://testserver"}, 403),
    ({"sec-fetch-site": "same-site"}, 403),
    ({"origin": "https://elsewhere.invalid"}, 403),
    ({"origin": "null"}, 403),
])
def test_changes_from_foreign_pages_are_refused(client, headers, status):
    assert client.post("/papers", data={"paper": "glare"}, headers=headers, follow_redirects=False).status_code == status


@pytest.mark.parametrize("host,status", [("localhost:8421", 200), ("127.0.0.1", 200), ("rebound.invalid", 421), ("", 421)])
def test_only_own_host_names_are_answered(client, host, status):
    assert client.get("/about", headers={"host": host}).status_code == status


def test_too_large_a_body_is_refused_before_it_is_read(client):
    answer = client.post("/papers", content=b"x", headers={"content-length": "99000000"})
    assert answer.status_code == 413 and "24 MB" in answer.text


def test_what_was_typed_comes_back_with_an_error_page(client):
    page = client.post("/papers", data={"paper": "a paper of my own"})
    assert "a paper of my own" in page.text
    assert dict(page.context["typed"]) == {"paper": "a paper of my own"}


def test_markup_typed_by_a_user_stays_text(client):
    page = client.get("/bearing", params={"place": "<script>alert(1)</script>", "date": "", "bearing": "1"})
    assert "<script>alert" not in page.text and "&lt;script&gt;" in page.text
