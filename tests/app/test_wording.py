"""Plan facts in words: every code has a sentence, and none suggests draining otherwise."""

from __future__ import annotations

import re
import string
from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import pytest

from app import wording, wording_steps
from app.messages import CATALOGUE, ENGLISH, message
from planner.items import ItemKind
from planner.plan import make_plan
from planner.results import Fact, Plan, Reason, ReasonCode, Urgency
from planner.scenario import parse_scenario
from planner.supply import Contact
from tests.planner.scenario_builders import with_more

TODAY = date(2026, 3, 8)
NAMES = wording.Names(
    items={"K5": "500 mL kit", "B5": "500 mL bottle"},
    kinds={"K5": ItemKind.KIT, "B5": ItemKind.BOTTLE},
    supplier=Contact(name="Tarnbrook Home Supplies", phone="01632 960104"),
    care_team=Contact(name="the Larkfield nurses", phone="01632 960220"),
)

FACTS: dict[ReasonCode, dict[str, Fact]] = {
    ReasonCode.SHORT_BEFORE_DELIVERY: {"risk": 0.25, "order_on": date(2026, 3, 9)},
    ReasonCode.RISK_BEFORE_OPEN_DELIVERY: {"risk": 0.1, "usual_on": date(2026, 3, 10)},
    ReasonCode.ORDER_BY: {"order_by": date(2026, 3, 12)},
    ReasonCode.NOTHING_TO_ORDER: {},
    ReasonCode.DELIVERY_OVERDUE: {"order": "o3"},
    ReasonCode.LEANS_ON_STARTING_EXPECTATION: {
        "catheter": "left side",
        "sessions": 2,
        "record_weight": 0.4,
    },
    ReasonCode.THREE_DRY_SESSIONS: {"catheter": "left side"},
    ReasonCode.ABOVE_AUTHORIZED: {
        "item": "K5",
        "expected_units": 15.4,
        "authorized_units": 12,
        "per_days": 30,
    },
    ReasonCode.ORDER_CAPPED: {"item": "K5", "wanted_boxes": 3, "allowed_boxes": 1},
    ReasonCode.LAST_BOX_LEFT_FOR_LATER: {
        "item": "K5",
        "wanted_boxes": 3,
        "allowed_boxes": 2,
        "chance": 0.31,
    },
    ReasonCode.GOODS_COME_SHORT_DATED: {"item": "K5", "days": 20},
    ReasonCode.NO_ROOM_AT_HOME: {
        "item": "K5",
        "wanted_boxes": 3,
        "allowed_boxes": 2,
        "most_units": 40,
    },
    ReasonCode.PRESCRIPTION_ENDS: {
        "ends_on": date(2026, 3, 20),
        "order_by": date(2026, 3, 24),
    },
    ReasonCode.BELOW_MINIMUM_ORDER: {"boxes": 1, "minimum_boxes": 2},
    ReasonCode.EXPIRED_ON_SHELF: {"item": "K5", "units": 1},
    ReasonCode.EXPIRES_BEFORE_USE: {"item": "B5", "units": 4},
    ReasonCode.RECALLED_ON_SHELF: {"item": "K5", "units": 5},
    ReasonCode.WRONG_GOODS_HERE: {"what": "One litre bottle", "units": 5},
    ReasonCode.COUNT_DIFFERED: {
        "item": "K5",
        "on": date(2026, 3, 7),
        "recorded": 17,
        "counted": 15,
    },
    ReasonCode.SHELF_NEVER_COUNTED: {"item": "K5"},
    ReasonCode.RECORD_BELOW_ZERO: {"item": "K5", "units": 2},
    ReasonCode.AWAY: {"catheter": "left side", "home_on": date(2026, 3, 20)},
    ReasonCode.NOT_IN_USE: {"catheter": "left side"},
    ReasonCode.REFILL_WINDOW_CONFLICT: {
        "order_by": date(2026, 3, 12),
        "arrival": date(2026, 3, 17),
        "earliest_contact": date(2026, 3, 15),
        "earliest_delivery": date(2026, 4, 4),
    },
    ReasonCode.RISK_IS_UPPER_BOUND: {},
}


def said(code: ReasonCode, **changes: Fact) -> str:
    reason = Reason(code=code, facts={**FACTS[code], **changes})
    return wording.reason_text(reason, NAMES, today=TODAY)


@cache
def plan_with(units: int) -> Plan:
    text = with_more(f'\n[[counts]]\nat = 2026-03-08\nitem = "K5"\nunits = {units}\n')
    (home,) = parse_scenario(text).households
    return make_plan(home, TODAY)


def every_sentence(plan: Plan) -> tuple[str, ...]:
    return (
        wording.headline(plan),
        wording.lasts_text(plan),
        wording.sure_text(plan),
        wording.delivery_text(plan),
        wording.delivery_risk_text(plan),
        *wording_steps.next_steps(plan, NAMES),
        *wording.reason_texts(plan, NAMES),
    )


@pytest.mark.parametrize("code", list(ReasonCode))
def test_every_reason_has_whole_sentences(code: ReasonCode) -> None:
    text = said(code)
    assert text.endswith(".")
    assert text[0].isupper() or text[0].isdigit()
    assert not re.search(r"[{}]|None", text)


def test_sentences_agree_with_their_number() -> None:
    assert said(ReasonCode.EXPIRED_ON_SHELF) == (
        "500 mL kit: 1 kit is past its use-by date. Do not use it. It is not counted."
    )
    assert said(ReasonCode.EXPIRED_ON_SHELF, units=3) == (
        "500 mL kit: 3 kits are past their use-by date. Do not use them. They are not counted."
    )


def test_dates_chances_and_contacts_are_put_into_words() -> None:
    assert said(ReasonCode.RISK_BEFORE_OPEN_DELIVERY) == (
        "Supplies may run out before the delivery due on Tue 10 March. The chance is about 1 in 10."
    )
    assert "Tarnbrook Home Supplies (01632 960104)" in said(ReasonCode.RECALLED_ON_SHELF)
    assert "the Larkfield nurses (01632 960220)" in said(ReasonCode.ABOVE_AUTHORIZED)


def test_an_open_end_and_an_empty_record_have_their_own_sentence() -> None:
    assert "not known yet" in said(ReasonCode.AWAY, home_on=None)
    assert said(ReasonCode.LEANS_ON_STARTING_EXPECTATION, sessions=0).startswith("No session")


@pytest.mark.parametrize(
    ("chance", "text"),
    [
        (0.0, "less than 1 in 1,000"),
        (0.00099, "less than 1 in 1,000"),
        (0.001, "about 1 in 1,000"),
        (0.0101, "about 1 in 100"),
        (0.05, "about 1 in 20"),
        (0.1, "about 1 in 10"),
        (0.34, "about 1 in 3"),
        (0.5, "about 1 in 2"),
        (0.56, "about 6 in 10"),
        (0.94, "about 9 in 10"),
        (0.96, "more than 9 in 10"),
        (0.991, "more than 99 in 100"),
        (1.0, "more than 99 in 100"),
    ],
)
def test_a_chance_is_said_as_odds(chance: float, text: str) -> None:
    assert wording.chance_text(chance) == text


def test_the_odds_said_are_never_far_from_the_chance() -> None:
    for step in range(1, 550):
        chance = step / 1000
        odds = int(wording.chance_text(chance).rpartition(" ")[2].replace(",", ""))
        assert 0.75 <= chance * odds <= 1.34, chance


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.995, "almost certain"),
        (0.90, "very likely"),
        (0.66, "likely"),
        (0.5, "about as likely as not"),
        (0.2, "not likely"),
        (0.05, "very unlikely"),
        (0.001, "extremely unlikely"),
    ],
)
def test_a_chance_has_words_beside_it(chance: float, words: str) -> None:
    # Bounds: IPCC guidance note on uncertainties, 2010, table 1 (from memory).
    assert wording.likelihood_text(chance) == words


def test_the_risk_before_a_delivery_is_said_in_numbers_and_words() -> None:
    plan = plan_with(20)
    risky = replace(plan, next_delivery=replace(plan.next_delivery, risk=0.05))
    assert wording.delivery_risk_text(risky) == (
        "The chance of running out before then is about 1 in 20 (very unlikely)."
    )


def test_days_show_their_year_only_when_it_is_another() -> None:
    assert wording.day_text(date(2026, 4, 14), today=TODAY) == "Tue 14 April"
    assert wording.day_text(date(2027, 1, 1), today=TODAY) == "Fri 1 January 2027"


def test_numbers_have_their_plural() -> None:
    assert [wording.days_text(n) for n in (0, 1, 2)] == ["0 days", "1 day", "2 days"]
    assert wording.units_text(1, ItemKind.BOTTLE) == "1 loose bottle"
    assert wording.joined(["a", "b", "c"]) == "a, b and c"


def test_the_last_covered_day_is_the_day_before_the_run_out() -> None:
    plan = plan_with(20)
    assert plan.run_out.expected_on is not None
    last = wording.day_text(plan.run_out.expected_on - timedelta(days=1), today=TODAY)
    assert wording.lasts_text(plan) == f"They will probably last through {last}."
    assert wording.headline(plan) == f"Supplies for {plan.run_out.expected_days} days"


def test_what_is_very_unlikely_is_not_said_like_a_shelf_that_runs_short() -> None:
    missed = Reason.because(ReasonCode.SHORT_BEFORE_DELIVERY, risk=1 / 75, order_on=TODAY)
    assert wording.reason_text(missed, NAMES, today=TODAY) == (
        "Supplies will very likely last until an order placed now comes. The chance that they "
        "run out first is about 1 in 75. That is more than your plan accepts."
    )
    day = {"usual_on": date(2026, 3, 10)}
    waiting = Reason.because(ReasonCode.RISK_BEFORE_OPEN_DELIVERY, risk=0.05, **day)
    said = wording.reason_text(waiting, NAMES, today=TODAY)
    assert said.startswith("Supplies will very likely last until the delivery due on Tue 10 March.")
    plan = replace(plan_with(30), reasons=(waiting,))
    assert plan.urgency is not Urgency.SHORT
    assert wording_steps.call_texts(plan, NAMES) == (
        "Call Tarnbrook Home Supplies (01632 960104) and ask when the order will come.",
    )


def test_an_empty_shelf_is_said_plainly() -> None:
    plan = plan_with(0)
    days = plan.run_out.expected_days
    assert days is not None
    expected = "Not enough supplies for a session today" if days == 0 else "No kits at home"
    assert wording.headline(plan) == expected


def test_no_kit_at_home_before_the_first_session_is_not_called_days_of_supply() -> None:
    plan = plan_with(0)
    last = replace(plan.run_out, expected_on=TODAY + timedelta(days=5))
    shelf = replace(plan.shelves[0], run_out=last)
    later = replace(plan, run_out=last, shelves=(shelf,))
    assert wording.headline(later) == "No kits at home"
    assert wording.lasts_text(later) == (
        "The next session will probably be on Fri 13 March. There is no kit for it yet."
    )
    assert wording.sure_text(later).startswith("It may be as early as ")
    stocked = replace(later, shelves=(replace(shelf, usable_kits=3),))
    assert wording.headline(stocked) == "Supplies for 5 days"


def test_short_means_calling_by_name_and_keeping_to_the_plan() -> None:
    plan = plan_with(1)
    assert plan.urgency is Urgency.SHORT
    assert wording_steps.next_steps(plan, NAMES)[:3] == (
        (
            "Call Tarnbrook Home Supplies (01632 960104) on Mon 9 March, as soon as they open, and "
            "ask for express delivery."
        ),
        "Tell the Larkfield nurses (01632 960220) that supplies may run short.",
        "Keep to your drain plan.",
    )


def test_a_supplier_that_is_open_is_called_today() -> None:
    plan = plan_with(1)
    weekday = replace(plan, order=replace(plan.order, order_by_on=plan.as_of))
    assert wording_steps.call_texts(weekday, NAMES)[0] == (
        "Call Tarnbrook Home Supplies (01632 960104) today and ask for express delivery."
    )


def test_without_contacts_the_role_is_named() -> None:
    first, second, _ = wording_steps.call_texts(plan_with(1), wording.Names())
    assert first.startswith("Call your supplier on Mon 9 March")
    assert second == "Tell your care team that supplies may run short."


def test_a_calm_plan_asks_for_no_call() -> None:
    plan = plan_with(30)
    assert plan.urgency is not Urgency.SHORT
    assert wording_steps.call_texts(plan, NAMES) == ()


@pytest.mark.parametrize("urgency", list(Urgency))
def test_every_urgency_has_a_heading_and_a_name(urgency: Urgency) -> None:
    assert wording.urgency_text(urgency)
    assert wording.urgency_name(urgency)


def test_a_resting_household_needs_nothing() -> None:
    plan = plan_with(20)
    unused = replace(plan.run_out, expected_on=None, cautious_on=None)
    assert wording.headline(replace(plan, urgency=Urgency.RESTING, run_out=unused)) == (
        "No supplies are being used now"
    )


# Safety and plainness, over the whole catalogue.

_MAY_SAY_DRAIN = ("caution", "keep-to-plan", "three-dry-sessions")


def test_no_sentence_but_the_cautions_speaks_of_draining() -> None:
    for code, pattern in ENGLISH.items():
        for text in (pattern,) if isinstance(pattern, str) else pattern:
            if code not in _MAY_SAY_DRAIN:
                assert not re.search(r"\bdrain", text, re.IGNORECASE), code


def test_no_sentence_suggests_waiting_or_saving() -> None:
    forbidden = r"\b(skip|stretch|save|spare|wait|delay|less often|more often|postpone)\b"
    for code, pattern in ENGLISH.items():
        for text in (pattern,) if isinstance(pattern, str) else pattern:
            assert not re.search(forbidden, text, re.IGNORECASE), code


def test_the_standing_caution_is_word_for_word() -> None:
    assert wording.STANDING_CAUTION == (
        "This tool counts supplies. It does not tell you when or how much to drain. "
        "Follow your own plan."
    )


def test_sentences_are_short() -> None:
    # Common practice, no source: at most twenty-five words keeps a sentence plain.
    for units in (0, 1, 8, 20, 30):
        for text in every_sentence(plan_with(units)):
            for sentence in re.split(r"(?<=[.?]) ", text):
                assert len(sentence.split()) <= 25, sentence


def syllables(word: str) -> int:
    groups = len(re.findall(r"[aeiouy]+", word.lower()))
    silent = word.lower().endswith("e") and not word.lower().endswith(("le", "ee"))
    return max(groups - silent, 1)


def reading_grade(text: str) -> float:
    """Flesch-Kincaid grade of a text.

    Source: Kincaid JP et al., Naval Technical Training Command, Research Branch Report 8-75,
    1975 (formula from memory); syllables are counted by vowel groups.
    """
    words = re.findall(r"[A-Za-z]+", text)
    sentences = max(len(re.findall(r"[.?]", text)), 1)
    per_word = sum(map(syllables, words)) / len(words)
    return 0.39 * len(words) / sentences + 11.8 * per_word - 15.59


def test_the_reading_grade_check_tells_plain_from_hard() -> None:
    assert reading_grade("Call your nurse today. Keep to your plan.") < 4
    hard = "Notwithstanding considerable uncertainty, replenishment quantities need revision."
    assert reading_grade(hard) > 15


@pytest.mark.parametrize("units", [0, 1, 8, 20, 30])
def test_what_patients_read_stays_at_grade_six(units: int) -> None:
    plan = plan_with(units)
    text = " ".join(one.rstrip(".") + "." for one in every_sentence(plan))
    assert reading_grade(text) <= 6.5


def test_every_language_fills_the_same_gaps_as_english() -> None:
    for language, table in CATALOGUE.items():
        for code, pattern in table.items():
            assert gaps(pattern) <= gaps(ENGLISH[code]), (language, code)


def gaps(pattern: str | tuple[str, str]) -> set[str]:
    texts = (pattern,) if isinstance(pattern, str) else pattern
    parsed = (part for text in texts for part in string.Formatter().parse(text))
    return {name for _, name, _, _ in parsed if name}


def test_a_second_language_needs_only_a_table(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(CATALOGUE, "de", {"days": ("{count} Tag", "{count} Tage")})
    assert wording.days_text(3, "de") == "3 Tage"
    assert wording.urgency_name(Urgency.STEADY, "de") == "Enough for now"
    with pytest.raises(KeyError):
        message("no-such-code")
