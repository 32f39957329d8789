"""One concept, one word: retired words are in no text the program can show, and in no public name."""

from __future__ import annotations

import argparse
import ast
import io
import re
import tokenize
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from dyeday.bench.looks.themes import DARK
from dyeday.bench.screens.help_screen import help_text
from dyeday.commands.usage import made_parser
from dyeday.paper.help_pages import PAGES, help_lines
from tests.fakes import ROOT

PACKAGE = ROOT / "dyeday"
PLACES = sorted(path.relative_to(PACKAGE).as_posix() for path in PACKAGE.iterdir()
                if (path.is_dir() or path.suffix == ".py") and not path.name.startswith("_"))  # fmt: skip
TEXTS_TO_SWEEP: set[str] = set()
"""packages whose texts still have retired words; this list only gets shorter"""
NAMES_TO_SWEEP: set[str] = set()
"""packages whose public names still have retired words; this list only gets shorter"""

PHRASES = {
    r"\bdoubts?\b": "flag, to check",
    r"\b(un)?str(ike[sn]?|iking|uck)\b": "undo, redo, void",
    r"\bhands off\b": "finish",
    r"\bguard(ed)?\b": "key lock",
    r"\bstor(y|ies)\b": "history",
    r"(?<!there )\b(is|are|was|were) no\b(?! (longer|more than|hotter))": "is not a …",
    r"\bleft as (it was|they were)\b": "cancelled, nothing saved",
    r"\banew\b": "again",
    r"\bof ours\b": "dyeday's",
    r"\btold\b(?! apart)": "reported, shown",
    r"\bhangs? on\b": "depends on; is plugged into",
    r"\bnobody\b": "say who or what is there",
    r"\bwhoever\b": "say who",
    r"\b(acknowledge[ds]?|acknowledging|acknowledg(e)?ment)\b": "silence",
    r"\bshelv(e|es|ed|ing)\b": "snooze",
    r"\bfor want of\b": "because there is no …",
    r"\b(has|have) no say\b": "does not count",
    r"\bwhat \w+ (has|have) of\b": "how much",
    r"\b(some|any|every)body\b": "who or what",
    r"\breckon(s|ed|ing)?\b": "compute; computed",
    r"\blaid to\b": "counts as",
    r"\bpass(es)?\b": "heat; reading; forward",
    r"\bshout(s|ed|ing)?\b": "the alarm line",
    r"\b(wants? a|calls? for) hands?\b": "needs attention",
    r"\bat (its|their) word\b": "literally, unchanged",
    r"\bwhatever went wrong\b": "what goes on without it",
    r"\bjump(s|ed)? the queue\b": "keeps its turn",
    r"\b(leaves?|takes?) it\b(?! (out|empty|with))": "Esc: cancel; Enter: accept",
}
"""what no text, docstring or comment may say, as a pattern, and what to say instead"""
SHOWN_PHRASES = {
    r"\d\+[12]\b": "the weekday: Sun 03:08",
    r"\bescape\b": "Esc",
    r"(?<!^)\breturn\b(?! to\b)": "Enter",
    r"\b(end-of-day page|day's end|day sheet)\b": "page of the day; timetable",
    r"\b(1 day in 10|one day in ten|9 days in 10)\b": "nine days in ten end by",
    r"\bhouse (is )?empty\b": "out of the house",
    r"\balarm stood\b": "alarm not answered",
    r"\bplanned for:": "aim",
    r"\bby the nameplate\b": "from the nameplate",
    r"\bnot begun\b": "not started",
    r"\b(is|are|was|were) not one\b": "is not a …",
    r"(?<!many )\bas before\b": "say how",
    r"\bit is [a-z]+ that\b": "say it without: … does",
    r"\btakes? no\b": "has no; does not accept",
    r"(?<!snooze an )\balarm for\b": "alarm since 14:05",
    r"\bno step has slack\b": "a sign on each row",
    r"\bnot yet: it waits\b": "what is not yet: no heat yet",
    r"\b(second )?pair of hands\b": "what help shortens",
    r"\b(\d+|…) x [a-z]": "3 skeins, 4 labels",
}
"""what no text that is shown may say either; in the code these words have meanings of their own"""
NAMES = {
    "anew", "doubt", "doubts", "guard", "nobody", "somebody", "story", "strike", "struck", "told", "unstrike",
    "whoever",
}  # fmt: skip
"""parts of names that are retired in the same way"""
SAY_NOTHING = {
    "AS_BEFORE", "Acts", "Again", "Alarming", "Edits", "Elsewhere", "Ending", "Found", "Gone", "Hours",
    "KeepTogether", "Keeper", "Kept", "Kitting", "Of", "Outlook", "Owed", "Picture", "Printed", "PrintedSheet",
    "Quiet", "Raised", "Reads", "Run", "RunEdge", "Serves", "Taken", "Thing", "Wanted", "Watching", "Wishes",
    "bring_back", "bring_over", "coming_over", "complain", "is_surely_open", "load_of_soak", "open_run",
    "pass_no", "put_away", "runs_of", "shout_line", "tell_taken", "the_layer", "went_over", "went_twice",
    "without_effect",
}  # fmt: skip
"""whole names that were tried and say nothing of what they stand for, or say heat in another word"""
STORED_NAMES = {"doubts"}
"""fields that are stored under their own names"""
STORED = {
    "acknowledge", "acknowledged", "doubts", "escape", "guard", "guard off", "guard on", "in-doubt", "pass", "return",
    "shelve", "shelved", "strike", "strikes", "struck", "told", "unstrike", "unstruck",
}  # fmt: skip
"""whole texts that are stored, in JSON, in a plan, an option, or a key's name to Textual"""
MAY_SAY = (
    "01:30+1",
    "09:30+1",
    "--pass",
    '"pass"',
    "'load' has pass or run",
)
"""what a person types, wherever a text quotes it"""


def texts_of(path: Path) -> Iterator[tuple[int, str]]:
    """Yield every text of a module with its line: no docstrings, and what is put into an f-string as …"""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    passed: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            passed.add(id(node.value))
        if isinstance(node, ast.JoinedStr):
            passed |= {id(part) for part in node.values}
            yield node.lineno, "".join(str(p.value) if isinstance(p, ast.Constant) else "…" for p in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in passed:
            yield node.lineno, node.value


def remarks_of(path: Path) -> Iterator[tuple[int, str]]:
    """Yield every docstring and comment of a module with its line, without what stands in backquotes."""
    source = path.read_text(encoding="utf-8")
    found = [
        (node.lineno, node.value.value)
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
    ]
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    found += [(token.start[0], token.string) for token in tokens if token.type == tokenize.COMMENT]
    yield from ((line, " ".join(re.sub("`[^`]*`", "", text).split())) for line, text in found)


def names_of(path: Path) -> Iterator[tuple[int, str]]:
    """Yield the name of the module and of all it defines but locals: functions, classes, fields, parameters."""
    yield 1, path.stem
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)):
            yield node.lineno, node.name
        elif isinstance(node, ast.arg):
            yield node.lineno, node.arg
        if isinstance(node, (ast.Module, ast.ClassDef)):
            for one in node.body:
                targets = getattr(one, "targets", None) or [getattr(one, "target", None)]
                yield from ((one.lineno, target.id) for target in targets if isinstance(target, ast.Name))


def found_in(text: str, phrases: Mapping[str, str] = PHRASES | SHOWN_PHRASES) -> list[str]:
    if text.strip() in STORED or re.fullmatch(r"[\w.:/-]*_[\w.:/-]*|[a-z_]+\.[\w.:]+|\w?,?escape(,\w)*", text):
        return []
    for typed in MAY_SAY:
        text = text.replace(typed, "")
    return [f"say {better}" for pattern, better in phrases.items() if re.search(pattern, text, re.IGNORECASE)]


def modules_of(place: str) -> list[Path]:
    path = PACKAGE / place
    return sorted(path.rglob("*.py")) if path.is_dir() else [path]


@pytest.mark.parametrize("place", [place for place in PLACES if place not in TEXTS_TO_SWEEP])
def test_no_text_has_a_retired_word(place: str) -> None:
    """Screens, messages, sheets and help are all texts in the code."""
    wrong = [
        f"{path.relative_to(ROOT)}:{line}: {text!r}: {better}"
        for path in modules_of(place)
        for line, text in texts_of(path)
        for better in found_in(text)
    ]
    assert wrong == []


@pytest.mark.parametrize("place", PLACES)
def test_no_docstring_or_comment_has_a_retired_phrase(place: str) -> None:
    """Who reads the code learns the same words."""
    wrong = [
        f"{path.relative_to(ROOT)}:{line}: {text!r}: {better}"
        for path in modules_of(place)
        for line, text in remarks_of(path)
        for better in found_in(text, PHRASES)
    ]
    assert wrong == []


@pytest.mark.parametrize("place", [place for place in PLACES if place not in NAMES_TO_SWEEP])
def test_no_public_name_has_a_retired_word(place: str) -> None:
    """The words of the code are those of the screen."""
    wrong = [
        f"{path.relative_to(ROOT)}:{line}: {name}"
        for path in modules_of(place)
        for line, name in names_of(path)
        if not name.startswith("_")
        and name not in STORED_NAMES
        and (name in SAY_NOTHING or NAMES & {part.lower() for part in re.findall(r"[A-Z]?[a-z]+|[A-Z]+", name)})
    ]
    assert wrong == []


def test_no_test_says_a_retired_phrase() -> None:
    """In its name, a docstring or a comment; time passes there, and dye strikes."""
    phrases = {
        pattern: better for pattern, better in PHRASES.items() if "pass" not in pattern and "str(" not in pattern
    }
    paths = sorted(path for path in (ROOT / "tests").rglob("*.py") if path != Path(__file__))
    names = [(path, line, name) for path in paths for line, name in names_of(path) if name.startswith("test_")]
    said = [(path, line, name.replace("_", " ")) for path, line, name in names]
    said += [(path, line, text) for path in paths for line, text in remarks_of(path)]
    assert len(names) > 2000
    assert [(path.name, line, better) for path, line, text in said for better in found_in(text, phrases)] == []


@pytest.mark.parametrize(
    "page",
    [
        "README.md",
        "examples/first-day.md",
        "DEVELOPERS.md",
        "tests/faults/TABLE.md",
        "tests/speed/README.md",
    ],
)
def test_no_page_has_a_retired_word(page: str) -> None:
    """Prose as the screens; what a page quotes of them changes with them."""
    text = re.sub(r"^```.*?^```", "", (ROOT / page).read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)
    prose = re.sub(r"`[^`\n]*`", "", text)
    assert [(line, better) for line in prose.split("\n") for better in found_in(line)] == []


def helps() -> Iterator[tuple[str, str]]:
    """Yield what help shows, put together from several texts: pages, usages, keys with their names."""
    for topic in PAGES:
        yield topic, "\n".join(help_lines(topic))
    made, _ = made_parser()
    yield "usage", made.format_help()
    for action in made._actions:
        if isinstance(action, argparse._SubParsersAction):
            yield from ((name, parser.format_help()) for name, parser in action.choices.items())
    for width in (80, 140):
        yield "keys", help_text(width, DARK).plain


def page_texts() -> Iterator[tuple[str, str]]:
    """Yield what the page for phones shows: the words between its tags, and the texts in its script."""
    page = (PACKAGE / "watch/page.html").read_text(encoding="utf-8")
    script = (PACKAGE / "watch/page.js").read_text(encoding="utf-8")
    yield "page.html", re.sub(r"<style.*?</style>|<script.*?</script>|<[^>]*>", "\n", page, flags=re.DOTALL)
    yield "page.js", "\n".join(re.findall(r'"((?:[^"\\\n]|\\.)*)"', re.sub("//.*", "", script)))


def example_texts() -> Iterator[tuple[str, str]]:
    """Yield what is to be read in an example of a plan: its comments, and names in quotation marks."""
    for path in sorted((ROOT / "examples").glob("*.toml")):
        yield path.name, "\n".join(re.findall(r'#.*|"[^"]*"', path.read_text(encoding="utf-8")))


def test_no_help_page_or_example_as_it_is_shown_has_a_retired_word() -> None:
    """Words that are put together, and those that are not in Python, are read too."""
    shown = [*helps(), *page_texts(), *example_texts()]
    assert {"plan", "mark", "keys", "page.js", "heavy-day.toml"} <= {where for where, _ in shown}
    assert [
        (where, line, better) for where, text in shown for line in text.split("\n") for better in found_in(line)
    ] == []


def test_the_check_finds_what_it_looks_for(tmp_path: Path) -> None:
    """A retired word in an f-string, a docstring, a class or a parameter is found; a stored key and code are not."""
    module = tmp_path / "struck_out.py"
    module.write_text(
        '"""This story is told of `nobody`."""  # anew\n'
        "class Doubt:\n"
        "    def raise_for(self, doubts, n):\n"
        "        return {'strike': f'{n} is no batch', 'at': '01:30+1', 'end': '03:08+1'}\n",
        encoding="utf-8",
    )
    found = sorted(better for _, text in texts_of(module) for better in found_in(text))
    assert found == ["say is not a …", "say the weekday: Sun 03:08"]
    assert [found_in(text, PHRASES) for _, text in remarks_of(module)] == [
        ["say history", "say reported, shown"],
        ["say again"],
    ]
    assert {"struck_out", "Doubt", "doubts"} <= {name for _, name in names_of(module)}


def test_every_picture_has_a_text_of_its_own_that_says_what_is_seen() -> None:
    """For those who do not see it, the text is the picture: more than the name of a screen."""
    texts = re.findall(r"!\[([^\]]*)\]", (ROOT / "README.md").read_text(encoding="utf-8"))
    assert len(texts) > 5
    assert [text for text in texts if len(text.split()) < 9 or texts.count(text) > 1] == []
