"""The card: one tagged sheet of A4, every number with unit and origin, words told and not obeyed."""

import io
import re
from datetime import UTC, datetime
from html.parser import HTMLParser

import pytest
import sample_figures as figures
from pypdf import PdfReader
from sample_card import card, number

from ringwright.refusal import Refusal
from ringwright.report.card import Row, Source, Statement
from ringwright.report.card_html import card_html
from ringwright.report.card_pdf import card_pdf
from ringwright.report.card_view import card_view
from ringwright.report.number import UNITS, Number, Origin, written
from ringwright.report.terminal import terminal_card

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
HOSTILE = '<script>alert("x")</script> #panic("y") #read("/etc/hostname") *bold* {{ 7 * 7 }}'


def plain(text):
    return re.sub(r"\s+", " ", text.replace("\u202f", " "))


@pytest.fixture(scope="module")
def pdf():
    return PdfReader(io.BytesIO(card_pdf(card(), made_at=NOON)))


class Page(HTMLParser):
    def __init__(self, page):
        super().__init__()
        self.tags, self.rows, self.words = [], [], []
        self.hidden = False
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.hidden = tag == "style"
        if tag == "tr":
            self.rows.append([])
        if tag == "span" and "data-origin" in dict(attrs) and self.rows:
            self.rows[-1].append(dict(attrs)["data-origin"])

    def handle_endtag(self, tag):
        self.hidden = self.hidden and tag != "style"

    def handle_data(self, data):
        if not self.hidden:
            self.words.append(data)


class TestPdf:
    def test_is_one_sheet_of_a4(self, pdf):
        assert len(pdf.pages) == 1
        width, height = (float(v) / 72 * 25.4 for v in pdf.pages[0].mediabox[2:])
        assert (width, height) == pytest.approx((210, 297), abs=0.1)

    def test_is_tagged_and_names_its_language_and_title(self, pdf):
        root = pdf.trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"]
        assert root["/Lang"].startswith("en")
        assert pdf.metadata.title == "Setting card F1, AV30K"

    def test_its_fonts_are_those_of_the_package(self, pdf):
        names = {str(f.get_object()["/BaseFont"]) for f in pdf.pages[0]["/Resources"]["/Font"].values()}
        assert names
        assert all("Sofia" in name for name in names)

    def test_carries_every_written_value(self, pdf):
        text = plain(pdf.pages[0].extract_text())
        for value in card().values():
            assert plain(value.words if isinstance(value, Statement) else written(value)) in text

    def test_carries_caution_sources_and_sheet_number(self, pdf):
        text = plain(pdf.pages[0].extract_text())
        for words in ("Stop and lock out", "Invented author (1999)", "sheet 1 of 1", "not met: the balloon folds"):
            assert words in text

    def test_is_the_same_bytes_each_time(self):
        assert card_pdf(card(), made_at=NOON) == card_pdf(card(), made_at=NOON)

    def test_tells_hostile_words_and_does_not_obey_them(self):
        made = card_pdf(card(mill=HOSTILE, checks=[HOSTILE], cautions=[HOSTILE]), made_at=NOON)
        text = plain(PdfReader(io.BytesIO(made)).pages[0].extract_text())
        assert text.count('#panic("y")') == 3
        assert text.count("{{ 7 * 7 }}") == 3

    def test_more_words_make_it_smaller_and_it_says_so(self):
        sources = [*card().sources, *(Source(key=f"more {k}", words="an invented source " * 8) for k in range(24))]
        reader = PdfReader(io.BytesIO(card_pdf(card(sources=sources), made_at=NOON)))
        assert len(reader.pages) == 1
        assert "Set smaller to stay on one sheet" in plain(reader.pages[0].extract_text())

    def test_letters_beyond_latin_are_set_or_refused_in_a_sentence(self):
        text = PdfReader(io.BytesIO(card_pdf(card(mill="Прядильная"), made_at=NOON))).pages[0].extract_text()
        assert "Прядильная" in text
        with pytest.raises(Refusal, match=r"written with '纺'.*Latin"):
            card_pdf(card(mill="纺纱厂"), made_at=NOON)

    def test_needs_no_date_and_drops_characters_without_shape(self):
        made = card_pdf(card(mill="Alder\u200b\x00 Vale", checks=["\u202eeslaf"]))
        assert "Alder Vale" in plain(PdfReader(io.BytesIO(made)).pages[0].extract_text())

    def test_the_usual_card_is_not_set_smaller(self, pdf):
        assert "Set smaller" not in pdf.pages[0].extract_text()


class TestHtml:
    def test_needs_nothing_beside_it(self):
        page = Page(card_html(card()))
        assert not [tag for tag, _ in page.tags if tag in {"script", "link", "img", "iframe"}]
        assert not [a for _, a in page.tags if "src" in a or "href" in a]
        addresses = set(re.findall(r"https?://[^\"' <)]+", card_html(card())))
        assert addresses == {"http://www.w3.org/2000/svg"}

    def test_every_row_of_numbers_names_its_origin(self):
        rows = Page(card_html(card())).rows
        shown = len(card().settings) + len(card().wheels) + len(card().readings)
        assert [len(row) for row in rows[:shown]] == [1] * shown
        assert rows[0] == ["computed"]
        assert rows[2] == ["measured"]

    def test_hostile_words_are_escaped(self):
        page = card_html(card(mill=HOSTILE, checks=[HOSTILE], frame=HOSTILE, block=[(HOSTILE, HOSTILE)]))
        assert "<script" not in page
        assert "{{ 7 * 7 }}" in "".join(Page(page).words)
        assert page.count("&lt;script&gt;") >= 5

    def test_is_the_same_bytes_each_time(self):
        assert card_html(card()) == card_html(card())

    def test_carries_the_same_values_as_the_pdf(self):
        text = plain("".join(Page(card_html(card())).words))
        for row in card().settings:
            assert plain(row.value.words if isinstance(row.value, Statement) else written(row.value)) in text


class TestOrigins:
    def test_every_value_has_an_origin_and_a_unit_or_a_name_that_says_what_it_is(self):
        for value in card().values():
            assert isinstance(value.origin, Origin)
        unitless = [
            row.name for row in card().settings if isinstance(row.value, Number) and not UNITS[row.value.unit][2]
        ]
        assert all("coefficient" in name for name in unitless)

    def test_a_source_that_is_not_listed_is_refused(self):
        with pytest.raises(ValueError, match="list of sources lacks nowhere"):
            card(settings=[Row(name="Delivery", value=number(0.3, "m/min", source="nowhere"))])

    def test_a_card_without_its_five_settings_is_refused(self):
        with pytest.raises(ValueError, match="five"):
            card(big=card().big[:4])

    def test_numbers_point_to_their_source_in_the_list(self):
        view = card_view(card())
        assert view["rows"][1]["source"] == "1"
        assert view["sources"][0]["number"] == "1"


class TestTerminal:
    @pytest.mark.parametrize("width", [60, 80, 100, 200])
    def test_keeps_between_80_and_100_columns(self, width):
        lines = terminal_card(card(), width=width).splitlines()
        assert max(len(line) for line in lines) <= min(max(width, 80), 100)

    def test_holds_no_control_codes(self):
        hostile = terminal_card(card(mill="\x1b[31mred\x07", checks=["\x1b]0;title\x07"]))
        assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f]", hostile)

    def test_tells_plan_limits_chart_and_caution(self):
        text = terminal_card(card())
        for words in ("16 000 rpm", "46 teeth", "1.3 mm (0.9 to 1.6)", "//////", "░", "Stop and lock out", "assumed"):
            assert words in text

    def test_draws_the_setting_that_passes_the_limit_above_it(self):
        text = terminal_card(card(tension=figures.tension(b=figures.course("B", 1.9))))
        assert "/o" in text
