"""Texts and values that inputs are broken with."""

from __future__ import annotations

from typing import Any

SUM = "8641969"  # what a template that runs {{1234567*7}} would show
TAG = "hostile-tag"  # an element that no page of ours has
MARK = "onhostile"  # an attribute that no page of ours has

# texts that some page might take for markup, a template, a formula or a path
HOSTILE = (
    f"<{TAG} {MARK}=1>",
    f'"><{TAG} {MARK}="x">',
    f"' {MARK}='x",
    f'" {MARK}="x',
    f"</script><{TAG}>",
    f"</style><{TAG}>",
    f"</title></head><{TAG}>",
    f"--><{TAG}><!--",
    f"]]><{TAG}>",
    f"</svg></text><{TAG}>",
    "<script>alert(1)</script>",
    "&lt;b&gt; &amp;amp; &#60;i&#62;",
    "{{1234567*7}}",
    "{% for x in range(10**9) %}x{% endfor %}",
    "${1234567*7} #{1234567*7} <%= 1234567*7 %>",
    "{0.__class__} {title!r} %s %n %(x)s",
    "$x$ and $\\frac{1}{0}$",
    "costs $5 or $6_a^b",
    "$\\undefined{$",
    "$(touch escaped) `touch escaped` ; touch escaped |",
    "../../escaped",
    "/etc/passwd",
    "..",
    "a/b",
    "C:\\x\\y",
    "=cmd|' /C calc'!A0",
    "x" * 200,
    "x" * 5_000,
    "long " * 39,
    "\u202etxet\u202c",
    "\u00e9\u0301 \u4e2d \U0001f600 \u200b \ufeff",
    "a\nb",
    "a\tb",
    "\u2028",
    "\x85",
    "\x07",
    "\x00",
    "",
    " ",
    "null",
    "~",
    "yes",
)

NAMES = (
    *("../../x", "..", ".", "/", "a/b", "CON", "-x", "--help", "x" * 61, "x" * 62, "a b", "a;b"),
    *("__class__", "name", "value", "*", "epoxy-paste", "titanium-6al-4v", "carbon-epoxy-im"),
    *("pressure", "time", "studies", "escaped\n", "\u00e9", "{{1234567*7}}", f"<{TAG}>", "0", ""),
)

NUMBERS: tuple[Any, ...] = (
    *(0, 1, -1, 2, 3, 5000, 10**6, 10**9, 10**18, -(10**9), 10**5000),
    *(0.0, -0.0, 1.5, 1e-300, 1e300, -1e300, 5e-324, 0.4999, 0.49999),
    *(float("nan"), float("inf"), -float("inf"), True, False, None),
)

UNITS = (
    *("mm", "m", "km", "in", "MPa", "GPa", "psi", "degC", "K", "degF", "deg", "rad", "%", "ppm"),
    *("/K", "1/degF", "kJ/m^2", "kg/m^3", "min", "h", "N", "", "furlong", "mm**2", "m^-1", "1e9"),
    *("mm mm", "(mm)", "mm; import os", "__import__('os')", "lambda: 0", "\u00b5m", "\u00b0C"),
)

AMOUNTS = (
    *("0", "-0", "1", "-1", "1e-5", "1e5", "1e-300", "1e300", "1e999", "1e-999", "nan", "inf"),
    *("-inf", "1/3", "1/0", "0/0", "9" * 50, "1_000", "1,5", "1.5.2", "0x10", "+-1", "\u0661", "."),
)

QUANTITIES = (
    *("0.02 mm", "10 mm", "5 m", "0.005 mm", "500 mm", "50 m", "1 mm", "5 mm", "0 mm", "6 m"),
    *("0.001 MPa", "200 MPa", "11000 m", "1 m", "-100 degC", "300 degC", "0.1 MPa", "2000 GPa"),
    *("30 %", "0 %", "0.01 %", "-1e-4 /K", "1e-3 /K", "1e9 mm", "-5 mm"),
)

# texts that stand in a YAML file as they are
YAML_SCALARS = (
    "!!python/object/apply:os.system ['touch escaped']",
    "!!python/name:os.system",
    "!!python/object/new:os.system [touch escaped]",
    "!!binary aGVsbG8=",
    "!!set {a, b}",
    "!!omap [a: 1]",
    "!!int x",
    "!!float nan",
    "!!timestamp 2001-99-99",
    "!!null ''",
    "!local {a: 1}",
    "&a [*a]",
    "*undefined",
    "&a {<<: *a}",
    "2001-01-01",
    "2001-01-01T25:61:61",
    "0o7",
    "0x1F",
    "1_000",
    "190:20:30",
    "=",
    "<<",
    ".nan",
    "-.INF",
    "[[[[[[[[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]]]]]]]",
    "{a: {b: {c: {d: {e: {f: {g: {h: {i: {j: {k: {l: {m: {n: 1}}}}}}}}}}}}}}",
    "? [a, b] : c",
    "|\n    x",
    ">-\n    x\n",
    "'",
    '"\\ud800"',
    '"\\x00"',
    '"\\u202e"',
    "%TAG ! tag:x,2000:",
    "@x",
    "`x`",
    "- - - - 1",
    "9" * 5000,
    "1e400",
    "1e-400",
)

TOKENS = (
    *(
        "{",
        "}",
        "[",
        "]",
        ":",
        ",",
        "-",
        "\n",
        "  ",
        "'",
        '"',
        "#",
        "&a ",
        "*a",
        "!",
        "!!int ",
        "|",
    ),
    *(">", "?", "%", "@", "`", "~", "null", "true", ".nan", "1e5", "{}", "[]", "\u00e9", "<<: "),
    *("---\n", "...\n", "\t", "=", " mm", " K", "/0", "^", "\u2028", "\x85", "\ufeff", "\x7f"),
    *("\x00", "\x1b[31m", "\r", "\r\n", "\\", "\U0001f600", "%%", "$x$"),
)
