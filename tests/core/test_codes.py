from buildlog.core.codes import LETTERS, as_meant


def test_a_code_is_read_whatever_stands_between_its_letters():
    assert as_meant("abcd-2345") == as_meant(" AB CD.23 45\n") == "ABCD2345"
    assert as_meant("") == ""


def test_no_two_letters_of_a_code_are_mistaken_for_each_other():
    assert not set("01IO") & set(LETTERS) and len(set(LETTERS)) == len(LETTERS) == 32
    assert all(as_meant(letter.lower()) == letter for letter in LETTERS)
