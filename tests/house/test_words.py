"""The files speak of hoses, not of the desk they were written at nor of where packages come from."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# A bracket in each keeps this file from finding itself.
WORDS = re.compile(
    r"\b(TOD[O]|FIXM[E]|XX[X]|HAC[K])\b"
    r"|(?i:(?<!scope=[\"'])\bsess[i]ons?\b"
    r"|\bissue[ ]#?\d|\bGH-\d|\bfix(es)? #\d"
    r"|\.\./share[d]|/wor[k]/|/tm[p]/"
    r"|\blanguage [m]odel|\bchat ?[b]ot|\bAI[ -](generated|assisted|written)"
    r"|\bsub-?agent[s]?\b|\bbrief\.m[d]"
    r"|pypi\.or[g]|pythonhoste[d]|registry\.np[m])"
)


def texts(names):
    for name in names:
        content = (ROOT / name).read_bytes()
        if b"\0" not in content:
            yield name, content.decode("utf-8")


def strange(text):
    return [match[0] for match in WORDS.finditer(text)]


def test_the_files_speak_of_the_project_alone(tracked):
    assert {name: found for name, text in texts(tracked) if (found := [*strange(text), *strange(name)])} == {}


@pytest.mark.parametrize(
    "words",
    [
        "as said in issue" + " #12",
        "see ../" + "shared/a.md",
        "TO" + "DO: later",
        "this sess" + "ion",
        "/wo" + "rk/main",
    ],
)
def test_a_strange_word_is_seen(words):
    assert strange(words)


@pytest.mark.parametrize(
    "words",
    ["an issue of fuel", "obsession", 'fixture(scope="session")', "shared unit", "hacksaw", "workshop/drill"],
)
def test_words_of_the_trade_are_not(words):
    assert not strange(words)
