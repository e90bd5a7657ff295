"""What the catalogue says of acuity at distance and near, and of the better eye."""

from checklist.measures.reading import TELLS
from checklist.measures.spec import PRACTICE, Computation, Kind, Option, told

_SCHOOL = "AAP, Pediatrics 2016;137:e20153597, from memory"
_NURSERY = "Cotter, Optom Vis Sci 2015;92:6, summary read; AAP 2016 from memory"
_TWO_LINES = "AAP, Pediatrics 2003;111:902, from memory; limit made for children"
_ICD = "ICD-11 9D90, quoted second hand"
_WHO_NEAR = "WHO fact sheet, quoted second hand"
_TELLS = TELLS[1:]

_CHART = (
    Option(
        "chart_distance", 20, "distance that the fractions of the chart start with", PRACTICE, lowest=0.25
    ),
    Option(
        "lines",
        (200, 100, 70, 50, 40, 30, 25, 20, 15, 13, 10),
        "what the fractions of the chart end with, such as 60, 36, 24, 18, 12, 9, 6, 5 on a chart of 6 m, or"
        " 200, 160, 125, 100, 80, 63, 50, 40, 32, 25, 20, 16, 12.5, 10 on a chart with even steps",
        "usual chart of 11 lines: common practice, no source",
        lowest=0.1,
    ),
    Option(
        "letters_per_line",
        0,
        "0 where a letter has no size of its own; 5 on a chart of five letters and even steps of 0.1 logMAR",
        "DICOM PS3.17 RR.2.3: letters have no defined value on traditional charts",
        highest=10,
    ),
)

_SCREENING = (
    Option(
        "age",
        "adult",
        "whose screening line decides",
        choices=("adult", "36-to-47-months", "48-to-59-months", "60-months-and-over"),
    ),
    Option("line_adult", 30, "reported when worse than 20 over this, adults", PRACTICE, lowest=1),
    Option("line_36_months", 50, "the same, 36 to 47 months", _NURSERY, lowest=1),
    Option("line_48_months", 40, "the same, 48 to 59 months", _NURSERY, lowest=1),
    Option(
        "line_60_months",
        32,
        "the same, 60 months and over; up to 71 months 40 in Cotter 2015",
        _SCHOOL,
        lowest=1,
    ),
    told("tell", "report", "an eye worse than the line", choices=_TELLS),
    told("tell_no_letter", "report", "an eye that reads no letter", choices=_TELLS),
    Option("lines_between_eyes", 2, "reported when the eyes are this many lines apart", _TWO_LINES, lowest=1),
)

_DISTANCE = Kind(
    id="distance-acuity",
    module="vision",
    title="Acuity at distance",
    accepts="20/25-2 cc; 6/9; 0.8; 0.3 logmar; 10/200; cf 2 ft; hm; lp; nlp",
    classes=(
        "in-range",
        "worse-than-screening",
        "worse-than-6-12",
        "worse-than-6-60",
        "worse-than-3-60",
        "no-letter",
        "counting-fingers",
        "hand-motion",
        "light-perception",
        "no-light-perception",
        "without-correction",
        "with-correction",
        "pinhole",
    ),
    together=(
        "same-line",
        "one-line-apart",
        "two-lines-apart",
        "apart",
        "right-worse",
        "left-worse",
        "not-counted",
    ),
    options=(
        *_CHART,
        *_SCREENING,
        Option(
            "low_vision",
            "none",
            "by which convention fingers and hand motion get a logMAR; they have none of their own",
            "published conventions differ, so that none is taken",
            choices=("none", "freiburg-2006", "freiburg-2009", "bach", "holladay", "survey"),
        ),
        Option("likely_best", 2.0, "asked about when better than this decimal acuity", PRACTICE, lowest=1),
    ),
)

_NEAR = Kind(
    id="near-acuity",
    module="near_vision",
    title="Acuity near",
    accepts="N6; 0.8 M; 20/40; J2; N8 at 33 cm cc; none",
    classes=(
        "in-range",
        "worse-than-limit",
        "no-print",
        "other-distance",
        "unsized",
        "without-correction",
        "with-correction",
    ),
    options=(
        Option(
            "card_distance_cm", 40, "distance that the card is made for, cm", PRACTICE, lowest=10, highest=100
        ),
        Option(
            "limit_m", 0.8, "reported when only larger print is read, M units (N6 counts as 0.8 M)", _WHO_NEAR
        ),
        Option(
            "limit_distance_cm", 40, "distance that the limit is for, cm", _WHO_NEAR, lowest=10, highest=100
        ),
        told("tell", "report", "it", choices=_TELLS),
        Option("likely_low", 25, "asked about when nearer, cm", PRACTICE),
        Option("likely_high", 67, "asked about when farther, cm", PRACTICE),
    ),
    rising=(("likely_low", "likely_high"),),
)

KINDS: tuple[Kind, ...] = (_DISTANCE, _NEAR)

_BETTER = Computation(
    id="better-eye",
    module="better_eye",
    title="Acuity of the better eye",
    needs=("acuity",),
    reads={"acuity": ("distance-acuity",)},
    classes=(
        "impairment-none",
        "impairment-mild",
        "impairment-moderate",
        "impairment-severe",
        "blindness",
        "no-category",
        "right-better",
        "left-better",
        "alike",
        "incomplete",
    ),
    options=(
        Option("site", "", "site of the step that is as usually corrected; empty where there is but one"),
        Option("mild_below", 0.5, "decimal acuity, 6/12 or 20/40", _ICD, highest=2),
        Option(
            "moderate_below",
            0.2857,
            "decimal acuity: 20/70, which is printed as equal to 6/18; 0.3333 is 6/18 exactly",
            f"{_ICD}; printed as equal in ICD-10 2010, H54",
            highest=2,
        ),
        Option("severe_below", 0.1, "decimal acuity, 6/60 or 20/200", _ICD, highest=2),
        Option("blindness_below", 0.05, "decimal acuity, 3/60 or 20/400", _ICD, highest=2),
        told("tell_mild", "note", "mild impairment", choices=_TELLS),
        told("tell", "report", "worse impairment", choices=_TELLS),
    ),
    rising=(("blindness_below", "severe_below", "moderate_below", "mild_below"),),
)

COMPUTATIONS: tuple[Computation, ...] = (_BETTER,)
