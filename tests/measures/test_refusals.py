"""What is not understood is refused with the first word that is not known, and with what would do instead."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from tests.measures.head import refusal

_LIVER = "type cm, such as 10; 105 mm; or 7 cm midsternal"
_DIAPHRAGM = "type cm, such as 4.5; 45 mm; or levels breathed out/in, such as 3/8 cm"
_BOWEL = "type sounds a minute, such as 12; 15 in 60 s; or none in 5 min"
_JOINT = "type degrees, such as 60; 10-120 short of neutral; 5-0-130 past it"
_FEET = "type sites felt of 3, such as 3/3; or answers, y right, n wrong: yyn yyy yny"
_COMA = "type E4 V5 M6 or 4 5 6; nt for a part not testable"
_REFLEX = "type mm and direction, such as 0; 1.5 in; 2 out; or 1 in 0.5 up"
_COVER = "type none, in, out, up or down; or in and up"
_NEAR = "type cm, such as 6; break/recovery, such as 6/9; or nose"
_MURMUR = "type 1/6 to 6/6, such as 2/6, 3 or iii; thrill or no thrill"
_VENOUS = "type cm above the sternal angle: 3; 3 at 45; 2 below; or 4 cm along 45"
_GOITRE = "type 0, 1 or 2: 0 none, 1 felt, 2 seen with the neck not extended"
_HEIGHT = "type cm, such as 172; 1.72 m; or 5 ft 8 in"
_WEIGHT = "type the unit as well, such as 70 kg; 154 lb; or 11 st 4 lb"
_PRESSURE = "type systolic/diastolic, such as 118/76; or 118/76 sitting right arm"
_GAS = "type air; 2 L; or 28 %; then nasal, mask, venturi or reservoir"
_AFFERENT = "type 0, I to V (Bell), or 1+ to 4+"


@pytest.mark.parametrize(
    ("kind", "typed", "word", "accepted"),
    [
        ("liver-span", "large", "large", _LIVER),
        ("liver-span", "10 cm axillary", "axillary", _LIVER),
        ("liver-span", "10 in the mid-axillary line", "mid-axillary", _LIVER),
        ("diaphragm-excursion", "moves", "moves", _DIAPHRAGM),
        ("diaphragm-excursion", "3/8 in", "in", _DIAPHRAGM),
        ("bowel-sounds", "gurgling", "gurgling", _BOWEL),
        ("bowel-sounds", "12 in 3 hours", "hours", _BOWEL),
        ("bowel-sounds", "none heard today", "today", _BOWEL),
        ("joint-range", "stiff", "stiff", _JOINT),
        ("joint-range", "10 up to 120", "up", _JOINT),
        ("monofilament", "everywhere", "everywhere", _FEET),
        ("monofilament", "felt everywhere", "everywhere", _FEET),
        ("monofilament", "yyn maybe yny", "maybe", _FEET),
        ("coma-scale", "awake", "awake", _COMA),
        ("coma-scale", "eyes 4 verbal 5 motor 6", "eyes", _COMA),
        ("coma-scale", "E4 Vt M6 today", "today", _COMA),
        ("corneal-reflex", "off", "off", _REFLEX),
        ("corneal-reflex", "1.5 sideways", "sideways", _REFLEX),
        ("corneal-reflex", "1 in 0.5 high", "high", _REFLEX),
        ("cover-movement", "jumps", "jumps", _COVER),
        ("cover-movement", "in and sideways", "sideways", _COVER),
        ("cover-movement", "no shift", "shift", _COVER),
        ("convergence", "close", "close", _NEAR),
        ("convergence", "to the chin", "chin", _NEAR),
        ("convergence", "6/9 feet", "feet", _NEAR),
        ("murmur-grade", "loud", "loud", _MURMUR),
        ("murmur-grade", "2/6 systolic", "systolic", _MURMUR),
        ("murmur-grade", "3/6 with a click", "click", _MURMUR),
        ("venous-pressure", "raised", "raised", _VENOUS),
        ("venous-pressure", "3 cm above the clavicle", "clavicle", _VENOUS),
        ("venous-pressure", "3 at 45 sitting", "sitting", _VENOUS),
        ("goitre-grade", "large", "large", _GOITRE),
        ("goitre-grade", "grade big", "big", _GOITRE),
        ("goitre-grade", "1 nodular", "nodular", _GOITRE),
        ("body-height", "tall", "tall", _HEIGHT),
        ("body-height", "172 cms", "cms", _HEIGHT),
        ("body-height", "5 ft 8 thumbs", "thumbs", _HEIGHT),
        ("body-weight", "heavy", "heavy", _WEIGHT),
        ("body-weight", "70 kilos", "kilos", _WEIGHT),
        ("body-weight", "11 st 4 oz", "oz", _WEIGHT),
        ("afferent-defect", "slight", "slight", _AFFERENT),
        ("afferent-defect", "grade vi", "vi", _AFFERENT),
        ("afferent-defect", "grade iv of v", "of", _AFFERENT),
        ("blood-pressure", "high", "high", _PRESSURE),
        ("systolic-pressure", "128 kPa", "kpa", "type the pressure in mmHg, such as 128"),
        ("breathing-gas", "helium", "helium", _GAS),
        (
            "oxygen-saturation",
            "94 ear",
            "ear",
            "type whole per cent, such as 97; air or oxygen is recorded apart",
        ),
    ],
)
def test_the_first_unknown_word_is_named_with_what_would_do(
    kind: str, typed: str, word: str, accepted: str
) -> None:
    assert refusal(kind, typed) == f"unknown word '{word}'; {accepted}"


@pytest.mark.parametrize(
    ("kind", "typed", "accepted"),
    [
        ("liver-span", "cm", _LIVER),
        ("liver-span", "in the mid clavicular line", _LIVER),
        ("diaphragm-excursion", "3 8 cm", _DIAPHRAGM),
        ("bowel-sounds", "none", _BOWEL),
        ("bowel-sounds", "no sounds heard", _BOWEL),
        ("joint-range", "10 to 20 to 30 to 40 degrees", _JOINT),
        ("monofilament", "yyn yyy", _FEET),
        ("monofilament", "yn yyy yyy", _FEET),
        ("monofilament", "3 sites felt", _FEET),
        ("coma-scale", "E4 V5", _COMA),
        ("coma-scale", "ecv5", _COMA),
        ("coma-scale", "e4 vtm6 5", _COMA),
        ("corneal-reflex", "1.5", _REFLEX),
        ("corneal-reflex", "1 in 2 out", _REFLEX),
        ("cover-movement", "in and out", _COVER),
        ("cover-movement", "movement", _COVER),
        ("convergence", "6/9/12 cm", _NEAR),
        ("convergence", "the nose", _NEAR),
        ("murmur-grade", "thrill", _MURMUR),
        ("murmur-grade", "iv of vi of vi", _MURMUR),
        ("venous-pressure", "below", _VENOUS),
        ("venous-pressure", "above the sternal angle", _VENOUS),
        ("goitre-grade", "none", _GOITRE),
        ("goitre-grade", "grade 7", _GOITRE),
        ("body-height", "8 in 5 ft", _HEIGHT),
        ("body-height", "10", _HEIGHT),
        ("body-weight", "70", _WEIGHT),
        ("body-weight", "4 lb 11 st", _WEIGHT),
        ("afferent-defect", "5+", _AFFERENT),
    ],
)
def test_where_each_word_is_known_only_what_would_do_is_said(kind: str, typed: str, accepted: str) -> None:
    assert refusal(kind, typed) == accepted


@pytest.mark.parametrize("kind", sorted(catalogue.KINDS))
def test_every_kind_names_a_word_that_none_knows_and_says_what_would_do(kind: str) -> None:
    said = refusal(kind, "zzyzx")

    assert said.startswith("unknown word 'zzyzx'; ")
    assert "; type " in said
    assert len(said) <= 120


@given(st.sampled_from(sorted(catalogue.KINDS)), st.text(alphabet="qxz", min_size=6, max_size=30))
def test_a_refusal_stays_one_short_line_however_long_the_word_is(kind: str, word: str) -> None:
    said = refusal(kind, word)

    assert (f"'{word}'" in said) == (len(word) <= 20)
    assert len(said) <= 120
    assert "\n" not in said
