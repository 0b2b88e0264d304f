"""Bad scenario files are refused with one clear sentence for every fault."""

from __future__ import annotations

from datetime import date

import pytest

from planner.scenario import MOST_BYTES, InvalidScenario, check_as_of, parse_scenario
from tests.planner.scenario_builders import SMALL, faults_of, spoilt, with_more

SENTENCES = {
    "a wrong date": (
        spoilt("at = 2026-03-01", 'at = "1 March"'),
        (
            'receipts[1].at is "1 March": write a date such as 2026-03-08 or a date and time such '
            "as 2026-03-08T09:30:00."
        ),
    ),
    "a day that no month has": (
        spoilt("as_of = 2026-03-08", "as_of = 2026-02-30"),
        "the file is not valid TOML: correct it at line 2, column 9 (invalid date or datetime).",
    ),
    "a year far off": (
        spoilt("expires_on = 2027-06-30", "expires_on = 2207-06-30"),
        "receipts[1].expires_on is 2207-06-30: give a year from 1990 to 2100.",
    ),
    "a negative volume": (
        spoilt("ml = [180]", "ml = [-180]"),
        "sessions[1].bottles[1].ml is -180: give 0 to 5000 mL.",
    ),
    "a volume that is no number": (
        spoilt("ml = [180]", 'ml = ["180"]'),
        'sessions[1].ml[1] is "180": list whole numbers only.',
    ),
    "volumes without brackets": (
        spoilt("ml = [180]", "ml = 180"),
        "sessions[1].ml is 180: write a list of whole numbers in brackets.",
    ),
    "a volume above the bottle's capacity": (
        spoilt("ml = [180]", "ml = [620]"),
        (
            "sessions[1].bottles[1].ml is 620: a bottle of K5 holds 500 mL; split the volume over "
            "the bottles that were used."
        ),
    ),
    "no volume": (
        spoilt("ml = [180]\n", ""),
        (
            "sessions[1].ml is missing: list the volume of each bottle, as ml = [480, 130] or as "
            "bottles."
        ),
    ),
    "no bottle": (
        spoilt("ml = [180]", "ml = []"),
        (
            "sessions[1].bottles is empty: list at least one bottle; a skipped session is not "
            "recorded at all."
        ),
    ),
    "an unknown item": (
        spoilt('item = "K5"', 'item = "K6"'),
        "receipts[1].item is K6: no such item; correct the code or add it (known: K5).",
    ),
    "an expiry before the receipt": (
        spoilt("expires_on = 2027-06-30", "expires_on = 2026-02-27"),
        (
            "receipts[1].expires_on is 2026-02-27: it lies before the receipt on 2026-03-01; check "
            "the use-by date."
        ),
    ),
    "a session after the last day": (
        spoilt("at = 2026-03-07T09:15:00", "at = 2026-03-09T09:15:00"),
        (
            "sessions[2].at is 2026-03-09: it lies after the day of the plan, 2026-03-08; correct "
            "it or plan for a later day."
        ),
    ),
    "an unknown key": (
        spoilt('lot = "A1"', 'lott = "A1"'),
        "receipts[1].lott is unknown: there is no such field (did you mean lot?).",
    ),
    "an unknown key at the top": (
        spoilt("format = 1", "format = 1\nas_off = 2026-03-08"),
        "as_off is unknown: there is no such field (did you mean as_of?).",
    ),
    "the ordered kit among the others": (
        spoilt('kit = "K5"', 'kit = "K5"\nother_kits = ["K5"]'),
        ("catheters[1].other_kits is K5: it is the kit that is ordered; name other kits only."),
    ),
    "an unknown other kit": (
        spoilt('kit = "K5"', 'kit = "K5"\nother_kits = ["K6"]'),
        (
            "catheters[1].other_kits.item is K6: no such item; correct the code or add it (known: "
            "K5)."
        ),
    ),
    "other kits without brackets": (
        spoilt('kit = "K5"', 'kit = "K5"\nother_kits = "K6"'),
        'catheters[1].other_kits is "K6": write a list of codes of kits in brackets.',
    ),
    "an other kit that is no text": (
        spoilt('kit = "K5"', 'kit = "K5"\nother_kits = [6]'),
        "catheters[1].other_kits[1] is 6: list codes of kits only.",
    ),
    "a key like none": (
        spoilt('id = "c"', 'id = "c"\nzzz = 1'),
        (
            "catheters[1].zzz is unknown: there is no such field; known: id, label, site, kit, "
            "other_kits, bottle, clinical_group, expected_ml_per_day, removed_on, regimens."
        ),
    ),
    "a syntax error": (
        spoilt("units = 30", "units = = 30"),
        "the file is not valid TOML: correct it at line 39, column 9 (invalid value).",
    ),
    "an unfinished file": (
        SMALL + 'description = "',
        "the file is not valid TOML: correct it at the end of the file (unterminated string).",
    ),
    "an offset": (
        spoilt("at = 2026-03-06T09:30:00", "at = 2026-03-06T09:30:00Z"),
        "sessions[1].at is 2026-03-06T09:30:00+00:00: write local time, without Z or an offset.",
    ),
    "a word nobody knows": (
        spoilt('stop = "ran-dry"', 'stop = "run-dry"'),
        (
            "sessions[2].stop is run-dry: use one of ran-dry, limit-reached, bottle-full, pain, "
            "no-further-bottle, not-said (did you mean ran-dry?)."
        ),
    ),
    "an unknown time zone": (
        spoilt("Europe/London", "Europe/Londn"),
        (
            "household.time_zone is Europe/Londn: use an IANA name such as Europe/London (did you "
            "mean Europe/London?)."
        ),
    ),
    "an unknown country": (
        spoilt("lead_business_days = 3", 'lead_business_days = 3\nholiday_country = "UK"'),
        "supplier.holiday_country is UK: use a two-letter country code such as GB.",
    ),
    "standing deliveries that no calendar knows": (
        spoilt(
            "lead_business_days = 3",
            'lead_business_days = 3\nstanding = { rrule = "TUESDAYS", starts_on = 2026-03-03 }',
        ),
        (
            "supplier.standing.rrule is TUESDAYS: write one recurrence rule such as "
            "FREQ=WEEKLY;BYDAY=MO,WE,FR."
        ),
    ),
    "an order whose steps say something else": (
        with_more(
            '[[orders]]\nplaced_at = 2026-03-05\nlines = [{ item = "K5", boxes = 1 }]\n'
            'steps = [{ kind = "confirmed", at = 2026-03-05 }]\n'
        ),
        "orders[1].status is placed: its steps lead to confirmed; correct one of them.",
    ),
    "a step that no order takes": (
        with_more(
            '[[orders]]\nplaced_at = 2026-03-05\nlines = [{ item = "K5", boxes = 1 }]\n'
            'steps = [{ kind = "xyz", at = 2026-03-05 }]\n'
        ),
        (
            "orders[1].steps[1].kind is xyz: use one of confirmed, placed, acknowledged, "
            "on-its-way, received-in-part, received, cancelled."
        ),
    ),
    "an unknown refill rule": (
        with_more('\n[settings]\nrefill_rule = "us-medicaid"\n'),
        "settings.refill_rule is us-medicaid: use one of us-medicare, or leave it out.",
    ),
    "a protection out of bounds": (
        with_more("\n[settings]\nprotection = 99\n"),
        "settings.protection is 99.0: give 0.5 to 0.999, for example 0.99.",
    ),
    "a protection that is no number": (
        with_more("\n[settings]\nprotection = nan\n"),
        "settings.protection is nan: give 0.5 to 0.999, for example 0.99.",
    ),
    "two frequencies": (
        spoilt("every_n_days = 1", "every_n_days = 1\nas_needed = true"),
        (
            "catheters[1].regimens[1].frequency is every_n_days and as_needed: write exactly one "
            "of every_n_days, weekdays, rrule, as_needed."
        ),
    ),
    "no frequency": (
        spoilt("every_n_days = 1\n", ""),
        (
            "catheters[1].regimens[1].frequency is missing: write exactly one of every_n_days, "
            "weekdays, rrule, as_needed."
        ),
    ),
    "a weekday nobody knows": (
        spoilt("every_n_days = 1", 'weekdays = ["MO", "XX"]'),
        "catheters[1].regimens[1].weekdays[2] is XX: use MO, TU, WE, TH, FR, SA, SU.",
    ),
    "a rule that is none": (
        spoilt("every_n_days = 1", 'rrule = "every other day"'),
        (
            "catheters[1].regimens[1].rrule is every other day: write one recurrence rule such as "
            "FREQ=WEEKLY;BYDAY=MO,WE,FR."
        ),
    ),
    "true for a number": (
        spoilt("units = 30", "units = true"),
        "receipts[1].units is true: write a whole number.",
    ),
    "a fraction for a whole number": (
        spoilt("units = 30", "units = 30.5"),
        "receipts[1].units is 30.5: write a whole number.",
    ),
    "a text on two lines": (
        spoilt('name = "Odile Marchmont"', 'name = "Odile\\nMarchmont"'),
        (
            "household.name is 'Odile\\nMarchmont': use plain text on one line, without control "
            "characters."
        ),
    ),
    "another format": (
        spoilt("format = 1", "format = 2"),
        "format is 2: this program reads format 1.",
    ),
    "two sessions with one id": (
        with_more('\n[[sessions]]\nid = "s1"\nat = 2026-03-08\nml = [10]\n'),
        "sessions and ledger.id is s1: it stands there 2 times; each must be different.",
    ),
    "an unknown catheter": (
        spoilt("ml = [180]", 'ml = [180]\ncatheter = "left"'),
        "sessions[1].catheter is left: no such catheter; correct the id (known: c).",
    ),
    "a receipt of an unknown order": (
        spoilt('lot = "A1"', 'lot = "A1"\norder = "o7"'),
        "receipts[1].order is o7: no such order; correct it or leave it out.",
    ),
    "a table where a list belongs": (
        SMALL.replace("[[receipts]]", "[receipts]"),
        "receipts is a table: write a list of tables, [[receipts]].",
    ),
    "a list where a table belongs": (
        SMALL.replace("[supplier]", "[[supplier]]"),
        "supplier is a list: write a table with its fields here.",
    ),
}


@pytest.mark.parametrize("what", list(SENTENCES))
def test_a_fault_is_one_sentence_with_place_value_and_fix(what: str) -> None:
    text, sentence = SENTENCES[what]
    assert sentence in faults_of(text)


def test_the_small_file_itself_is_good() -> None:
    assert faults_of(SMALL) == []


def test_all_faults_are_reported_together_in_the_order_of_the_file() -> None:
    text = spoilt("lead_business_days = 3", "lead_business_days = -3")
    text = text.replace("units = 30", 'units = "30"').replace("ml = [210]", "ml = [-1]")
    assert faults_of(text) == [
        "supplier.lead_business_days is -3: give 0 to 60 business days.",
        "sessions[2].bottles[1].ml is -1: give 0 to 5000 mL.",
        'receipts[1].units is "30": write a whole number.',
    ]


def test_what_is_no_table_at_all_gives_one_fault() -> None:
    assert len(faults_of(SMALL.replace("[supplier]", "[[supplier]]"))) == 1


def test_a_reversal_of_nothing_is_named_where_the_file_has_it() -> None:
    text = with_more('\n[[reversals]]\nat = 2026-03-08\nreverses = "s9"\n')
    assert faults_of(text) == [
        "reversals[1].reverses is s9: no such session or entry; correct the id."
    ]


def test_one_fault_is_not_reported_twice_in_other_words() -> None:
    assert len(faults_of(spoilt("capacity_ml = 500", 'capacity_ml = "500"'))) == 1


def test_a_shared_fault_of_many_households_is_reported_once() -> None:
    many = SMALL.replace("[household]", "[[households]]").replace(
        "units_per_box = 10", "units_per_box = 0"
    )
    many += '\n[[households]]\nid = "hw-2"\nname = "Second"\ntime_zone = "UTC"\n'
    assert faults_of(many).count("items[1].units_per_box is 0: give 1 to 500 units.") == 1


def test_a_household_among_many_is_named_by_its_place() -> None:
    text = """
format = 1
as_of = 2026-03-08
supplier = { name = "S", lead_business_days = 1 }
items = [{ code = "K", name = "kit", kind = "kit", capacity_ml = 500 }]
"""
    for name, kit in (("A", "K"), ("B", "L")):
        text += f"""
[[households]]
id = "a"
name = "{name}"
time_zone = "UTC"
[[households.catheters]]
id = "c"
label = "c"
site = "chest"
kit = "{kit}"
regimens = [{{ starts_on = 2026-01-01, every_n_days = 1 }}]
"""
    (sentence,) = faults_of(text)
    assert sentence == (
        "households[2].catheters[1].kit is L: no such item; correct the code or add it (known: K)."
    )
    (sentence,) = faults_of(text.replace('kit = "L"', 'kit = "K"'))
    assert sentence == "households[2].id is a: each household needs its own id."


def test_a_file_without_household_says_how_to_write_one() -> None:
    assert faults_of("format = 1\nas_of = 2026-03-08\n") == [
        "household is missing: describe one in [household], or many in [[households]]."
    ]


def test_an_empty_file_names_all_that_is_missing() -> None:
    assert [sentence.split(" is ")[0] for sentence in faults_of("")] == [
        "format",
        "as_of",
        "household",
    ]


def test_a_file_that_is_too_large_is_not_read() -> None:
    assert faults_of(b"#" * (MOST_BYTES + 1)) == [
        "the file is too large: split it into files of at most 20,000,000 bytes."
    ]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"\xff\xfe\x00", "the file is not UTF-8 text: save it as plain UTF-8 text."),
        (
            b"a = " + b"[" * 5000,
            "the file is nested too deeply: write plain tables and lists.",
        ),
    ],
)
def test_bytes_that_are_no_file_of_ours_are_refused(content: bytes, sentence: str) -> None:
    assert faults_of(content) == [sentence]


def test_a_number_of_thousands_of_digits_is_refused() -> None:
    (sentence,) = faults_of(f"format = {'9' * 5000}")
    assert sentence.startswith("the file is not valid TOML: correct the number")


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm() -> None:
    assert faults_of(b"\xef\xbb\xbf" + SMALL.replace("\n", "\r\n").encode()) == []


def test_the_error_names_the_file_before_each_sentence() -> None:
    with pytest.raises(InvalidScenario) as caught:
        parse_scenario(spoilt("ml = [180]", "ml = [-1]"), "home.toml")
    assert str(caught.value) == ("home.toml: sessions[1].bottles[1].ml is -1: give 0 to 5000 mL.")


def test_a_day_of_the_plan_before_the_last_record_is_refused() -> None:
    file = parse_scenario(SMALL)
    check_as_of(file, date(2026, 3, 7))
    with pytest.raises(InvalidScenario) as caught:
        check_as_of(file, date(2026, 3, 6))
    assert [fault.sentence for fault in caught.value.faults] == [
        (
            "sessions[2].at is 2026-03-07: it lies after the day of the plan, 2026-03-06; correct "
            "it or plan for a later day."
        )
    ]
