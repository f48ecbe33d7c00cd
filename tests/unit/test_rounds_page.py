"""The page of the rounds kept: each listed, one taken back with a name and a reason, nothing lost."""

from __future__ import annotations

import re
from urllib.parse import urlencode

import pytest
from asking import OWN, Pages

from ringwright.store import open_store
from ringwright.verbs import centring as verbs
from ringwright.verbs.app import open_mill
from ringwright.web.server import make_app

FORM = OWN | {"content-type": "application/x-www-form-urlencoded"}


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A server whose store holds two rounds of F1."""
    folder, mill = tmp_path_factory.mktemp("rounds") / "store", open_mill("demo")
    for day, offset in (("2026-05-04", "0.8"), ("2026-06-04", "0.3")):
        asked = verbs.AskedCentring(text=f"spindle,part,dx (mm),dy (mm)\n3,ring,{offset},0\n", keep=str(folder),
                                    when=day, by="a fitter", note="<i>after the doff")  # fmt: skip
        verbs.centring_of(mill, "demo", ("F1", ""), asked)
    made = Pages("demo")
    made.app.state.work.background.close()
    made.app = make_app("demo", store=str(folder))
    yield made, folder
    made.app.state.work.background.close()


def back(pages, **fields):
    return pages.ask("POST", "/rounds/back", urlencode(fields).encode(), FORM)


def test_a_round_is_taken_back_with_a_reason_and_stays_on_the_page(kept):
    pages, folder = kept
    page = pages.get("/rounds")
    assert page.text.index("Round 2: centring of F1") < page.text.index("Round 1: centring of F1")
    assert "&lt;i&gt;after the doff" in page.text
    assert page.text.count("Judge it") == 1  # the last round of a frame is what its page judges
    for fields, wrong in (({"note": "", "by": "R. Ode"}, "note"), ({"note": "the wrong frame", "by": " "}, "by")):
        bad = back(pages, number="2", **fields)
        assert bad.status == 422
        told = re.search(rf'id="e-{wrong}-2" role="alert">([^<]*)', bad.text)
        assert told
        assert "empty" in told[1]
        assert all(f'value="{text}"' in bad.text for text in fields.values() if text.strip())
        assert bad.text.count('role="alert"') == 1
    assert "is not a round" not in page.text
    done = back(pages, number="2", note="the wrong frame", by="R. Ode")
    assert (done.status, done.headers["location"]) == (303, "/rounds?back=2")
    page = pages.get("/rounds?back=2")
    assert "It stays in the store, marked." in page.words
    assert "by R. Ode: the wrong frame" in page.words
    with open_store(folder) as store:
        assert [one.number for one in store.rounds("Alder Vale Spinning")] == [1]
    again = back(pages, number="2", note="the wrong frame", by="R. Ode")
    assert again.status == 422
    assert 'The round is "2"; it must be the number of a round that stands. These stand: 1.' in again.words
    for number in ("", "x", "999999999999999999999", "1; DROP"):
        assert back(pages, number=number, note="why", by="me").status == 422


def test_the_demos_rounds_are_shown_and_nothing_can_be_taken_back_there():
    pages = Pages("demo")
    page = pages.get("/rounds")
    assert "Round 3: centring of F3" in page.words
    assert "Take it back" not in page.text
    assert back(pages, number="1", note="x", by="y").status == 303
    pages.app.state.work.background.close()


def test_a_page_of_another_site_takes_nothing_back(kept):
    pages, _ = kept
    headers = FORM | {"origin": "http://evil.example", "sec-fetch-site": "cross-site"}
    assert pages.ask("POST", "/rounds/back", b"number=1&note=x&by=y", headers).status == 403
