"""Words of a case stay words on every page: no markup, no template and no script comes of them."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pandas as pd
from markupsafe import escape

from post.bond_sheet import render_sheet
from post.interactive import json_block
from post.report import render_report
from post.summary import summarise
from solve.answer import Answer
from tests.fuzz import words
from tests.fuzz.trial import check_page
from tests.post.test_report import folder  # noqa: F401

# what must come out as it went in, once what escapes it is undone
TELLING = [
    f"</script><{words.TAG} {words.MARK}=1>",
    f"'\"><{words.TAG}>",
    f"</style></title><{words.TAG}>",
    "{{1234567*7}} {% raw %}",
    "]]><!-- --> \\u003c/script> \\",
    "<script>alert(1)</script>",
]


def hostile(answer: Answer, word: str) -> Answer:
    """Put a word into every text that a case may hold."""
    case = answer.case
    cards = {
        name: card.model_copy(
            update={
                "description": word,
                "source": word,
                "strengths": {
                    key: value.model_copy(update={"source": word, "direction": word})
                    for key, value in card.strengths.items()
                },
            }
        )
        for name, card in case.materials.items()
    }
    changed = case.model_copy(update={"title": word, "note": word, "materials": cards})
    return replace(answer, case=changed)


def test_report_and_bond_sheet_hold_words_as_words(
    answers: tuple[Answer, Answer],
    table: pd.DataFrame,
    folder: Path,  # noqa: F811
) -> None:
    word = " ".join(TELLING)
    answer, companion = (hostile(each, word) for each in answers)
    summary = summarise(answer, companion, "test")
    report = render_report(answer, table, summary, folder, companion=companion)
    sheet = render_sheet(answer.case)
    for page in (report, sheet):
        check_page(page)
        # it is there, escaped: a page that leaves it out would pass for nothing
        assert escape(word) in page
    # the data for scripts parse, whatever stands in them
    blocks = re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', report, re.DOTALL)
    assert blocks and all(json.loads(block) is not None for block in blocks)


def test_data_blocks_keep_words_that_would_end_a_script() -> None:
    for word in TELLING:
        block = json_block("told", {word: [word]})
        check_page(str(block))
        inside = re.fullmatch(r"<script[^>]*>(.*)</script>", str(block), re.DOTALL)
        assert inside and "<" not in inside[1]
        assert json.loads(inside[1]) == {word: [word]}
