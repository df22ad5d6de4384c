"""Lines and ticks of a depth axis stand where the scale puts them. No outside source: drawing."""

import re

from post.depth_lines import WORDS, asked_lines, depth_ticks


def across(depth: float) -> float:
    return 100 + depth / 10


def test_ticks_stand_at_their_depths():
    text = depth_ticks(across, 100, 5200, 40, 200)
    shown = re.findall(r'<text x="([\d.]+)" y="216.0"[^>]*>([\d,]+)<', text)
    assert len(shown) > 3
    assert all(float(x) == across(float(depth.replace(",", ""))) for x, depth in shown)


def test_lines_stand_at_duty_and_required_depth():
    text = asked_lines(across, 3000, 1.5, 40, 200, 1000)
    assert re.findall(r'<line x1="([\d.]+)"', text) == ["400.0", "550.0"]
    assert "duty 3,000 m" in text
    assert "required (1.5 \u00d7 duty) 4,500 m" in text


def test_words_that_would_leave_the_sheet_stand_before_their_line_and_higher():
    roomy = asked_lines(across, 3000, 1.5, 40, 200, 550 + WORDS)
    tight = asked_lines(across, 3000, 1.5, 40, 200, 549 + WORDS)
    assert roomy.count('text-anchor="end"') == 1
    assert tight.count('text-anchor="end"') == 2
    heights = [float(y) for y in re.findall(r'<text [^>]*?y="([\d.-]+)"', tight)]
    assert heights[1] < heights[0] - 12
