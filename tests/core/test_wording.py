"""Sentences are kept as templates and values, and said in a language when they are shown."""

import pytest

from buildlog.core.wording import Count, Sentence, Sentences, counted, listed, percent_below, person_hours

GERMAN = {
    "{what} at {code}.": "{what} bei {code}.",
    "{number} fault": "{number} Fehler",
    "{number} faults": "{number} Fehler",
    "Nothing": "Nichts",
}


def in_german(template):
    return GERMAN[template]


def counted_in_polish(one, many, number):
    """Polish has a form of its own for 2, 3 and 4 (CLDR, Language Plural Rules: one, few, many)."""
    forms = ("{number} błąd", "{number} błędy", "{number} błędów")
    return forms[0 if number == 1 else 1 if number in (2, 3, 4) else 2]


def test_a_sentence_in_a_sentence_is_said_in_the_same_language():
    sentence = Sentence("{what} at {code}.", what=Sentence("Nothing"), code="R1-1")
    assert sentence.said(in_german, counted_in_polish) == "Nichts bei R1-1."
    assert str(sentence) == "Nothing at R1-1."


@pytest.mark.parametrize(("number", "words"), [(1, "1 błąd"), (3, "3 błędy"), (1200, "1,200 błędów")])
def test_a_count_follows_the_plural_rules_of_its_language(number, words):
    faults = Count(number, "{number} fault", "{number} faults")
    assert Sentence("{faults}", faults=faults).said(str, counted_in_polish) == words


@pytest.mark.parametrize(("number", "words"), [(0, "0 faults"), (1, "1 fault"), (2, "2 faults")])
def test_a_count_in_english(number, words):
    assert str(Count(number, "{number} fault", "{number} faults")) == words
    assert str(Sentence("{n}", n=Count(number, "{number} fault", "{number} faults"))) == words


def test_braces_in_a_text_without_values_stay():
    assert str(Sentence("Write {code}.")) == "Write {code}."


def test_several_sentences_follow_one_another():
    both = Sentences((Sentence("Nothing"), Sentence("{what} at {code}.", what="x", code=1)), " – ")
    assert str(both) == "Nothing – x at 1."
    assert both.said(in_german, counted_in_polish) == "Nichts – x bei 1."
    assert str(Sentence("({all})", all=both)) == "(Nothing – x at 1.)"


def test_counts_hours_and_shares():
    assert (counted(0, "pixel"), counted(1, "pixel"), counted(1000, "pixel")) == ("0 pixels", "1 pixel", "1,000 pixels")
    assert person_hours(2.0) == "2 person-hours" and person_hours(2.01) == "3 person-hours"
    assert (percent_below(0.8999), percent_below(0.29), percent_below(1.0)) == (89, 29, 100)


@pytest.mark.parametrize(
    ("words", "text"), [([], ""), (["a"], "a"), (["a", "b"], "a or b"), (["a", "b", "c"], "a, b or c")]
)
def test_words_in_a_row(words, text):
    assert listed(words, "or") == text
