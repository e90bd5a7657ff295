"""The two renderings of a document: same words, no foreign markup, nothing that a terminal obeys."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.summary.document import Block, Form, Note, Sentence, escaped, markdown, plain_text


def sentences(*texts: str) -> tuple[Sentence, ...]:
    return tuple(Sentence(text=text) for text in texts)


NOTE = Note(
    title="Knee examination",
    banner=("FIRST – says most", "SECOND"),
    blocks=(
        Block(sentences=sentences("Who and when.", "How long.")),
        Block(heading="FOCUS", sentences=sentences("Knee.")),
        Block(
            heading="TO REPORT", sentences=sentences("One.", "Two is long enough to wrap."), form=Form.ITEMS
        ),
        Block(heading="OBSERVED", form=Form.GROUP),
        Block(heading="Knee", sentences=sentences("Calm.", "Cool."), form=Form.REGION),
        Block(heading="Hip", sentences=sentences("Free."), form=Form.REGION),
        Block(heading="NOT SEEN", sentences=sentences("Ankle.")),
        Block(heading="TIMES", sentences=sentences("a    1", "bb  22"), form=Form.ROWS),
        Block(heading="SCOPE", sentences=sentences("For tests.")),
        Block(sentences=sentences("Signature")),
    ),
)

PLAIN = """\
FIRST – says most
SECOND
Knee examination. Who
and when. How long.
FOCUS. Knee.

TO REPORT
- One.
- Two is long enough to
  wrap.

OBSERVED. Knee: Calm.
Cool.
Hip: Free.

NOT SEEN. Ankle.

TIMES
a    1
bb  22

SCOPE. For tests.

Signature
SECOND
FIRST – says most
"""

MARKDOWN = """\
**FIRST – says most**

**SECOND**

# Knee examination

Who and when. How long.

## FOCUS

Knee.

## TO REPORT

- One.
- Two is long enough to wrap.

## OBSERVED

**Knee:** Calm. Cool.

**Hip:** Free.

## NOT SEEN

Ankle.

## TIMES

```
a    1
bb  22
```

## SCOPE

For tests.

Signature

**SECOND**

**FIRST – says most**
"""


def test_plain_text_lays_out_every_form_of_block() -> None:
    assert plain_text(NOTE, 24) == PLAIN


def test_markdown_lays_out_every_form_of_block() -> None:
    assert markdown(NOTE) == MARKDOWN


def test_a_document_without_banner_begins_with_its_title() -> None:
    bare = Note(title="Bare", blocks=(Block(heading="A", sentences=sentences("b.")),))
    assert plain_text(bare) == "Bare\nA. b.\n"
    assert markdown(bare) == "# Bare\n\n## A\n\nb.\n"


def test_a_document_of_a_title_alone_is_that_title() -> None:
    assert plain_text(Note(title="Bare")) == "Bare\n"
    assert markdown(Note(title="Bare")) == "# Bare\n"


def test_a_group_without_regions_is_its_heading_alone() -> None:
    groups = tuple(Block(heading=each, form=Form.GROUP) for each in ("A", "B"))
    assert plain_text(Note(title="T", blocks=groups)) == "T\n\nA\n\nB\n"


def test_codes_and_words_longer_than_a_line_stay_whole() -> None:
    note = Note(title="T", blocks=(Block(sentences=sentences("see LAB-BED-03-02 for more")),))
    assert plain_text(note, 10).splitlines() == ["T. see", "LAB-BED-03-02", "for more"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("*a* _b_ `c`", r"\*a\* \_b\_ \`c\`"),
        ("# head", r"\# head"),
        ("[x](http://y) <b>", r"\[x\](http\://y) \<b\>"),
        ("![x](y)", r"\!\[x\](y)"),
        ("a | b ~~c~~ &amp; $x$ ^d ==e==", r"a \| b \~\~c\~\~ \&amp; \$x\$ \^d \=\=e\=\="),
        ("mail@example.org www.example.org WWW.x", r"mail\@example.org www\.example.org WWW\.x"),
        (":smile: at 14:05", r"\:smile: at 14:05"),
        ("- item", r"\- item"),
        ("+ item", r"\+ item"),
        ("1. item", r"1\. item"),
        ("12) item", r"12\) item"),
        ("---", r"\---"),
        ("2026-03-02", "2026-03-02"),
        ("10 mm, soft; not 3-4 (left)", "10 mm, soft; not 3-4 (left)"),
        ("back\\slash", r"back\\slash"),
        ("{x}", r"\{x\}"),
        ("two\n# lines", r"two \# lines"),
    ],
)
def test_free_text_is_escaped_where_it_could_be_markup_and_left_alone_elsewhere(
    text: str, expected: str
) -> None:
    assert escaped(text) == expected


def test_rows_cannot_close_the_block_that_holds_them() -> None:
    note = Note(
        title="T", blocks=(Block(heading="R", sentences=sentences("a ```` b", "```"), form=Form.ROWS),)
    )
    assert markdown(note) == "# T\n\n## R\n\n`````\na ```` b\n```\n`````\n"


HARD = st.text(
    st.sampled_from([*"\x1b\x07\x00\r\n\t\u202e\u200b\u2028 ab-*_`#[](){}<>|~&$^@!=+:.1)\\"]), min_size=1
)
UNSAFE = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b\u2028\u202e]")


@given(HARD, HARD, HARD, st.sampled_from(list(Form)))
def test_no_control_character_gets_through_and_both_renderings_hold_the_same_words(
    title: str, heading: str, text: str, form: Form
) -> None:
    note = Note(
        title=f"T {title}",
        banner=(f"B {title}",),
        blocks=(Block(heading=f"H {heading}", sentences=sentences(f"S {text}"), form=form),),
    )
    plain, marked = plain_text(note), markdown(note)
    assert not UNSAFE.search(plain)
    assert not UNSAFE.search(marked)
    assert letters(plain) == letters(marked)


def letters(text: str) -> str:
    """What is left when markup, punctuation and layout are gone."""
    return "".join(re.findall(r"[A-Za-z0-9\ufffd]", text))
