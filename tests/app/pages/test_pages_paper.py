"""Pages for paper: the chart of a span, an empty chart, the sheet for counting."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from sqlmodel import Session

from app.access import Role
from app.convert import write_household
from app.models import AccountRow
from app.services_accounts import add_member
from app.volume_plot import draw_volumes
from planner.household import Pause
from planner.ledger import Receipt, Reversal
from planner.sessions import BottleUse, LossReason, StopReason
from planner.sessions import Session as DrainSession
from tests.app.data_builders import KIT, make_household, make_sessions
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor, faults_of, forms_of, text_of

PAPER = "/h/home/paper"


def test_the_chart_shows_the_last_four_weeks(cara: Visitor) -> None:
    said = cara.see(f"{PAPER}/chart")
    assert "Thu 12 February 2026 to Wed 11 March 2026" in said
    assert "12 sessions, 4,020 mL together" in said
    assert "Sun 15 February 09:00 330 mL 330 mL" in said
    assert "12 bars, one for each day with a session, the lowest 320 and the highest 350." in said


def test_a_chosen_span_is_asked_for_by_post_and_kept(cara: Visitor) -> None:
    page = cara.send(f"{PAPER}/chart", {"first": "2026-03-03", "last": "2026-03-07"}, "first")
    said = text_of(page)
    assert page.status_code == 200
    assert "3 sessions, 1,020 mL together" in said
    assert "Tue 3 March" in said
    assert "Sun 1 March" not in said
    form = next(one for one in forms_of(page) if "first" in one.values)
    assert (form.method, form.values["first"]) == ("post", "2026-03-03")


@pytest.mark.parametrize(
    ("values", "fault"),
    [
        ({"first": ""}, "First day is empty. Give a day of the calendar"),
        ({"last": "yesterday"}, "Last day is yesterday. Give a day of the calendar"),
        ({"first": "2026-03-09", "last": "2026-03-08"}, "Last day is 2026-03-08. It must not be"),
        ({"first": "2026-03-12", "last": "2026-03-13"}, "First day is 2026-03-12. It lies in the"),
        ({"first": "2024-03-12"}, "Last day is 2026-03-11. A chart holds 366 days"),
    ],
)
def test_a_span_that_cannot_be_shown_is_named(
    values: dict[str, str], fault: str, cara: Visitor
) -> None:
    page = cara.send(f"{PAPER}/chart", values, "first")
    assert page.status_code == 422
    assert any(one.startswith(fault) for one in faults_of(page)), faults_of(page)
    for typed in values.values():
        assert typed in page.text


def test_days_and_volumes_follow_the_person_s_choice(cara: Visitor) -> None:
    cara.send("/display", {"date_style": "iso", "volume_unit": "fl-oz"}, "volume_unit")
    page = cara.get(f"{PAPER}/chart")
    said = text_of(page)
    assert "2026-02-15 09:00 11.2 fl oz 11.2 fl oz" in said  # 330 mL
    assert "fl oz on each day" in said
    assert "mL" not in said.split("Drainage chart")[1]
    assert "Bottle 1 (fl oz)" in cara.see(f"{PAPER}/blank")


def test_an_empty_span_says_so(cara: Visitor) -> None:
    page = cara.send(f"{PAPER}/chart", {"first": "2025-06-01", "last": "2025-06-30"}, "first")
    assert "No session is written down for these days." in text_of(page)
    assert "<svg" not in page.text


@pytest.fixture
def two(db: Session, people: dict[str, AccountRow], enter: Enter) -> Visitor:
    """Two catheters, a lost bottle, a pause, and one session taken back."""
    home = make_household(id="two")
    at = datetime(2026, 3, 10, 8, 30)
    left = DrainSession(
        id="left1",
        catheter_id="left",
        started_at=at,
        bottles=(
            BottleUse(volume_ml=500),
            BottleUse(volume_ml=0, loss=LossReason.VACUUM_LOST),
            BottleUse(volume_ml=120),
        ),
        stop_reason=StopReason.RAN_DRY,
    )
    slip = replace(left, id="slip", started_at=at + timedelta(minutes=5))
    home = replace(
        home,
        catheters=(*home.catheters, replace(home.catheters[0], id="left", label="left")),
        sessions=(*make_sessions(), left, slip),
        ledger=(
            *home.ledger,
            Receipt(id="r2", at=datetime(2026, 2, 2), item_code=KIT, units=5, lot="L2"),
            Reversal(id="back", at=at + timedelta(hours=1), reverses_id="slip"),
        ),
        pauses=(
            Pause(starts_on=date(2026, 2, 27), ends_on=date(2026, 3, 1)),
            Pause(starts_on=date(2025, 2, 27), ends_on=date(2025, 3, 1)),
        ),
    )
    write_household(db, home)
    add_member(db, people["cara"], "two", Role.CARER)
    db.commit()
    return enter("cara")


def test_catheters_losses_and_days_away_are_told_apart(two: Visitor) -> None:
    said = two.see("/h/two/paper/chart")
    assert "13 sessions, 4,640 mL together" in said  # the one taken back is left out
    assert "Tue 10 March 08:30 left 500 mL + 0 mL (lost) + 120 mL 620 mL No more fluid came" in said
    assert "mL on each day: left" in said
    assert "mL on each day: right" in said
    assert "Away from home: Fri 27 February 2026 to Sat 28 February 2026." in said
    assert "2025" not in said
    assert "Which" in two.see("/h/two/paper/blank")


def test_the_empty_chart_has_rows_to_write_in(cara: Visitor) -> None:
    page = cara.get(f"{PAPER}/blank")
    assert page.text.count("<tr>") == 22
    assert "Which" not in text_of(page)


def test_the_sheet_for_counting_names_lots_and_leaves_the_numbers_out(two: Visitor) -> None:
    said = two.see("/h/two/paper/count")
    assert "Printed on Wed 11 March 2026." in said
    assert "L1 Sun 31 January 2027" in said
    assert "L2 not noted" in said
    assert "Kit, half litre (kits)" in said
    assert "12" not in said.split("Kit, half litre")[1].split("Gloves")[0]


def test_everybody_of_the_household_may_print_and_nobody_else(enter: Enter) -> None:
    viewer = enter("vic")
    assert "On paper" in viewer.see(PAPER)
    assert "Drainage chart" in viewer.see(f"{PAPER}/chart")
    stranger = enter("stranger")
    for path in ("", "/chart", "/blank", "/count"):
        assert stranger.get(PAPER + path).status_code == 404


def test_the_bars_are_as_high_as_the_volumes() -> None:
    first = date(2026, 3, 1)
    volumes = {first: 200, first + timedelta(days=3): 400, first - timedelta(days=1): 900}
    plot = draw_volumes(volumes, first, first + timedelta(days=9), "mL")
    assert [tick.label for tick in plot.volumes] == ["0", "200", "400"]
    assert len(plot.bars) == 2  # the day before the span is left out
    low, high = plot.bars
    assert high.height == pytest.approx(2 * low.height)
    assert high.y == plot.top
    for bar in plot.bars:
        assert bar.y + bar.height == pytest.approx(plot.bottom)
        assert plot.left <= bar.x
        assert bar.x + bar.width <= plot.right
    assert high.x - low.x == pytest.approx(3 * (plot.right - plot.left) / 10, abs=0.1)
